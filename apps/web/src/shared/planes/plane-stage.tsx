/**
 * A plane's picture with room to draw on it: the grey bytes on a canvas and, over them, an SVG in pixels of the picture.
 * What is drawn asks for `unitsPerPx`, so that lines and handles keep their size on the screen whatever the picture's.
 */
import { useEffect, useLayoutEffect, useRef, useState, type ReactNode, type RefObject } from 'react';
import type { GreyPlane } from '@ebbline/imaging';
import { toPixel, type PixelPoint, type PlaneFrame } from './plane-frame.ts';
import styles from './planes.module.css';

export function paint(canvas: HTMLCanvasElement | null, plane: GreyPlane): void {
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

/** The part of a picture that is shown, in its pixels; of the picture's own proportions. */
export interface View {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export const wholeView = (plane: GreyPlane): View => ({
  x: -0.5,
  y: -0.5,
  width: plane.width,
  height: plane.height,
});

/** The view that shows these points with room about them; never beyond the picture. */
export function viewAround(plane: GreyPlane, points: readonly PixelPoint[]): View {
  const whole = wholeView(plane);
  if (points.length === 0) return whole;
  const xs = points.map((one) => one.x);
  const ys = points.map((one) => one.y);
  const [left, right] = [Math.min(...xs), Math.max(...xs)];
  const [top, bottom] = [Math.min(...ys), Math.max(...ys)];
  const share = Math.min(1, 1.3 * Math.max((right - left) / whole.width, (bottom - top) / whole.height));
  const width = share * whole.width;
  const height = share * whole.height;
  const within = (middle: number, size: number, from: number, all: number): number =>
    Math.min(from + all - size, Math.max(from, middle - size / 2));
  return {
    x: within((left + right) / 2, width, whole.x, whole.width),
    y: within((top + bottom) / 2, height, whole.y, whole.height),
    width,
    height,
  };
}

/** Where an element over the stage stands, for a pixel of the picture. */
export const placeOn = (
  view: View,
  { x, y }: PixelPoint,
): { readonly left: string; readonly top: string } => ({
  left: `${(100 * (x - view.x)) / view.width}%`,
  top: `${(100 * (y - view.y)) / view.height}%`,
});

/** Where a finger or a mouse is, in pixels of the picture. `box`: where the stage lies on the screen. */
export function pixelUnder(
  event: { readonly clientX: number; readonly clientY: number },
  box: DOMRect,
  view: View,
): PixelPoint {
  return {
    x: view.x + ((event.clientX - box.left) / box.width) * view.width,
    y: view.y + ((event.clientY - box.top) / box.height) * view.height,
  };
}

/** The depth in millimetres at the left edge: alternate blocks of 10 mm. */
function DepthEdge({
  plane,
  frame,
  view,
  unitsPerPx,
}: {
  readonly plane: GreyPlane;
  readonly frame: PlaneFrame;
  readonly view: View;
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
              x={view.x + unitsPerPx}
              y={top}
              width={width}
              height={bottom - top}
              fill={block % 2 === 0 ? 'var(--well-ink)' : 'var(--well)'}
              stroke="var(--well-ink)"
              strokeWidth={unitsPerPx}
            />
            {(block + 1) % every === 0 ? (
              <text
                x={view.x + 12 * unitsPerPx}
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
  view = wholeView(plane),
  over,
  children,
}: {
  readonly plane: GreyPlane;
  /** Missing while the scale is not known: no depth is shown then. */
  readonly frame?: PlaneFrame | undefined;
  /** What the picture is, for those who listen; a small one is named by what stands beside it. */
  readonly name?: string;
  readonly small?: boolean;
  /** Shown part; the whole picture when it is left out. */
  readonly view?: View;
  /** Elements that take fingers, placed with `placeOn`: an SVG shape can't keep a finger from scrolling the page. */
  readonly over?: ReactNode;
  readonly children?: (unitsPerPx: number) => ReactNode;
}): ReactNode {
  const stage = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const unitsPerPx = useUnitsPerPx(stage, view.width, view.width / (small === true ? 90 : 640));
  useEffect(() => paint(canvas.current, plane), [plane]);
  return (
    <div ref={stage} className={styles['stage']} style={{ aspectRatio: `${plane.width} / ${plane.height}` }}>
      <canvas
        ref={canvas}
        width={plane.width}
        height={plane.height}
        style={{
          inlineSize: `${(100 * plane.width) / view.width}%`,
          blockSize: `${(100 * plane.height) / view.height}%`,
          left: `${(-100 * (view.x + 0.5)) / view.width}%`,
          top: `${(-100 * (view.y + 0.5)) / view.height}%`,
        }}
        {...(name === undefined ? { 'aria-hidden': true } : { role: 'img', 'aria-label': name })}
      />
      <svg
        viewBox={`${view.x} ${view.y} ${view.width} ${view.height}`}
        preserveAspectRatio="none"
        aria-hidden={small === true ? true : undefined}
      >
        {frame && small !== true ? (
          <DepthEdge plane={plane} frame={frame} view={view} unitsPerPx={unitsPerPx} />
        ) : null}
        {children?.(unitsPerPx)}
      </svg>
      {over}
    </div>
  );
}
