/**
 * Points on a picture, placed by a tap or by keys: the ends of a known length, the ends of an ellipse, "the bladder is
 * here". Works before the scale is known, so it speaks in pixels of the picture.
 *
 * Keyboard  arrows move the ring by a fiftieth of the picture, with Shift by a tenth; Enter or Space puts a point there
 */
import { useState, type KeyboardEvent, type MouseEvent, type ReactNode } from 'react';
import type { GreyPlane } from '@ebbline/imaging';
import type { PixelPoint, PlaneFrame } from './plane-frame.ts';
import { pixelUnder, PlaneStage, wholeView } from './plane-stage.tsx';
import styles from './planes.module.css';

export interface PlacedLine {
  readonly from: PixelPoint;
  readonly to: PixelPoint;
  readonly words: string;
}

/** A measured line with bars at its ends and its length beside it. */
function Line({ line, unitsPerPx }: { readonly line: PlacedLine; readonly unitsPerPx: number }): ReactNode {
  const { from, to, words } = line;
  const length = Math.hypot(to.x - from.x, to.y - from.y) || 1;
  const bar = {
    x: (-(to.y - from.y) / length) * 7 * unitsPerPx,
    y: ((to.x - from.x) / length) * 7 * unitsPerPx,
  };
  const d = `M${from.x} ${from.y}L${to.x} ${to.y}M${from.x - bar.x} ${from.y - bar.y}l${2 * bar.x} ${2 * bar.y}M${to.x - bar.x} ${to.y - bar.y}l${2 * bar.x} ${2 * bar.y}`;
  return (
    <>
      <path d={d} stroke="var(--well)" strokeWidth={5 * unitsPerPx} opacity={0.7} />
      <path d={d} stroke="var(--well-line)" strokeWidth={2 * unitsPerPx} />
      <text
        x={(from.x + to.x) / 2 + 8 * unitsPerPx}
        y={(from.y + to.y) / 2}
        fontSize={14 * unitsPerPx}
        strokeWidth={4 * unitsPerPx}
      >
        {words}
      </text>
    </>
  );
}

export function PointPicker({
  plane,
  frame,
  name,
  ask,
  points,
  lines = [],
  onPoint,
  children,
}: {
  readonly plane: GreyPlane;
  readonly frame?: PlaneFrame | undefined;
  readonly name: string;
  /** What the next point is: "one end of the known length". */
  readonly ask: string;
  /** Points placed so far. */
  readonly points: readonly PixelPoint[];
  readonly lines?: readonly PlacedLine[];
  readonly onPoint: (point: PixelPoint) => void;
  /** Drawn beneath, such as an outline or the sector. */
  readonly children?: (unitsPerPx: number) => ReactNode;
}): ReactNode {
  const [mark, setMark] = useState<PixelPoint>({ x: plane.width / 2, y: plane.height / 2 });
  const percent = (part: number, whole: number): number => Math.round((100 * part) / whole);
  const onKeyDown = (event: KeyboardEvent): void => {
    const step = plane.width / (event.shiftKey ? 10 : 50);
    const ways: Readonly<Record<string, readonly [number, number]>> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, -step],
      ArrowDown: [0, step],
    };
    const way = ways[event.key];
    if (way) {
      event.preventDefault();
      setMark({
        x: Math.min(plane.width - 1, Math.max(0, mark.x + way[0])),
        y: Math.min(plane.height - 1, Math.max(0, mark.y + way[1])),
      });
    } else if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault();
      onPoint(mark);
    }
  };
  const onClick = (event: MouseEvent<HTMLButtonElement>): void => {
    const point = pixelUnder(event, event.currentTarget.getBoundingClientRect(), wholeView(plane));
    setMark(point);
    onPoint(point);
  };
  return (
    <div className={styles['picker']}>
      <PlaneStage plane={plane} frame={frame} name={`${name}, ultrasound picture`}>
        {(unitsPerPx) => (
          <>
            {children?.(unitsPerPx)}
            <g fill="none">
              {lines.map((line) => (
                <Line key={line.words} line={line} unitsPerPx={unitsPerPx} />
              ))}
              {points.map((point) => (
                <circle
                  key={`${point.x} ${point.y}`}
                  cx={point.x}
                  cy={point.y}
                  r={5 * unitsPerPx}
                  fill="var(--well-line)"
                  stroke="var(--well)"
                  strokeWidth={unitsPerPx}
                />
              ))}
            </g>
            <g className={styles['mark']} fill="none">
              <circle
                cx={mark.x}
                cy={mark.y}
                r={12 * unitsPerPx}
                stroke="var(--well)"
                strokeWidth={5 * unitsPerPx}
              />
              <circle
                cx={mark.x}
                cy={mark.y}
                r={12 * unitsPerPx}
                stroke="var(--well-line)"
                strokeWidth={2 * unitsPerPx}
              />
              <circle cx={mark.x} cy={mark.y} r={1.5 * unitsPerPx} fill="var(--well-line)" />
            </g>
          </>
        )}
      </PlaneStage>
      <button
        type="button"
        data-picker=""
        className={styles['surface']}
        aria-label={`${ask}. Arrow keys move the ring, Enter puts a point there. Ring ${percent(mark.x, plane.width)} percent across, ${percent(mark.y, plane.height)} percent down.`}
        onKeyDown={onKeyDown}
        onClick={onClick}
      />
    </div>
  );
}
