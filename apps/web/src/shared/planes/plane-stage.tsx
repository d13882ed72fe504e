/**
 * A plane's picture with room to draw on it: the grey bytes on a canvas and, over them, an SVG in pixels of the picture.
 * What is drawn asks for `unitsPerPx`, so that lines and handles keep their size on the screen whatever the picture's.
 */
import { useEffect, useLayoutEffect, useRef, useState, type ReactNode, type RefObject } from 'react';
import type { GreyPlane } from '@ebbline/imaging';
import { toPixel, type PixelPoint, type PlaneFrame } from './plane-frame.ts';
import styles from './planes.module.css';

function paint(canvas: HTMLCanvasElement | null, plane: GreyPlane): void {
  const context = canvas?.getContext('2d');
  if (!context) return;
  const picture = context.createImageData(plane.width, plane.height);
  const words = new Uint32Array(picture.data.buffer);
  // Opaque grey: one word a pixel, the same whatever the order of bytes.
  for (let index = 0; index < words.length; index += 1) {
    words[index] = 0xff000000 | ((plane.grey[index] as number) * 0x010101);
  }
  context.putImageData(picture, 0, 0);
}

/** Picture units for one pixel of the screen. */
export function useUnitsPerPx(
  stage: RefObject<HTMLElement | null>,
  pictureWidth: number,
  first: number,
): number {
  const [units, setUnits] = useState(first);
  useLayoutEffect(() => {
    const element = stage.current;
    if (!element) return;
    const measure = (): void => {
      const { width } = element.getBoundingClientRect();
      if (width > 0) setUnits(pictureWidth / width);
    };
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(element);
    return () => watch.disconnect();
  }, [stage, pictureWidth]);
  return units;
}

/** Where a finger or a mouse is, in pixels of the picture. */
export function pixelUnder(
  event: { readonly clientX: number; readonly clientY: number },
  over: Element,
  plane: GreyPlane,
): PixelPoint {
  const box = over.getBoundingClientRect();
  return {
    x: ((event.clientX - box.left) / box.width) * plane.width - 0.5,
    y: ((event.clientY - box.top) / box.height) * plane.height - 0.5,
  };
}

/** The depth in millimetres at the left edge: alternate blocks of 10 mm. */
function DepthEdge({
  plane,
  frame,
  unitsPerPx,
}: {
  readonly plane: GreyPlane;
  readonly frame: PlaneFrame;
  readonly unitsPerPx: number;
}): ReactNode {
  const width = 7 * unitsPerPx;
  const deepestMm = (plane.height - frame.apexPx.y) * frame.mmPerPx.y;
  const blocks = Array.from(
    { length: Math.max(0, Math.min(40, Math.floor(deepestMm / 10))) },
    (_, index) => index,
  );
  const every = (10 / frame.mmPerPx.y) * 2 > 16 * unitsPerPx ? 2 : 4;
  return (
    <g>
      {blocks.map((block) => {
        const top = toPixel(frame, { sMm: 0, dMm: block * 10 }).y;
        const bottom = toPixel(frame, { sMm: 0, dMm: (block + 1) * 10 }).y;
        return (
          <g key={block}>
            <rect
              x={unitsPerPx}
              y={top}
              width={width}
              height={bottom - top}
              fill={block % 2 === 0 ? 'var(--well-ink)' : 'var(--well)'}
              stroke="var(--well-ink)"
              strokeWidth={unitsPerPx}
            />
            {(block + 1) % every === 0 ? (
              <text
                x={12 * unitsPerPx}
                y={bottom + 4 * unitsPerPx}
                fontSize={12 * unitsPerPx}
                strokeWidth={3 * unitsPerPx}
              >
                {(block + 1) * 10}
                {block + 1 === every ? ' mm' : ''}
              </text>
            ) : null}
          </g>
        );
      })}
    </g>
  );
}

export function PlaneStage({
  plane,
  frame,
  name,
  small,
  children,
}: {
  readonly plane: GreyPlane;
  /** Missing while the scale is not known: no depth is shown then. */
  readonly frame?: PlaneFrame | undefined;
  /** What the picture is, for those who listen; a small one is named by what stands beside it. */
  readonly name?: string;
  readonly small?: boolean;
  readonly children?: (unitsPerPx: number) => ReactNode;
}): ReactNode {
  const stage = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const unitsPerPx = useUnitsPerPx(stage, plane.width, plane.width / (small === true ? 90 : 640));
  useEffect(() => paint(canvas.current, plane), [plane]);
  return (
    <div ref={stage} className={styles['stage']} style={{ aspectRatio: `${plane.width} / ${plane.height}` }}>
      <canvas
        ref={canvas}
        width={plane.width}
        height={plane.height}
        {...(name === undefined ? { 'aria-hidden': true } : { role: 'img', 'aria-label': name })}
      />
      <svg
        viewBox={`-0.5 -0.5 ${plane.width} ${plane.height}`}
        preserveAspectRatio="none"
        aria-hidden={small === true ? true : undefined}
      >
        {frame && small !== true ? <DepthEdge plane={plane} frame={frame} unitsPerPx={unitsPerPx} /> : null}
        {children?.(unitsPerPx)}
      </svg>
    </div>
  );
}
