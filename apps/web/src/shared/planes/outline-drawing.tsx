/**
 * An outline drawn so that how the wall was seen shows without colour: line pattern along the wall, hatching beside what
 * nobody saw, and a mark of its own on each handle. The key of the patterns is drawn by the same code.
 */
import { memo, useId, type ReactNode } from 'react';
import type { OutlineVertex, PlaneOutline, VertexClass } from '@ebbline/imaging';
import { toPixel, type PixelPoint, type PlaneFrame } from './plane-frame.ts';
import styles from './planes.module.css';

/** Dashes in pixels of the screen. */
export const dashes: Readonly<Record<VertexClass, readonly number[] | undefined>> = {
  seen: undefined,
  weak: [9, 5],
  inferred: [2, 4],
  shadow: [2, 4],
  cut: [12, 4, 2, 4],
};
export const classWords: Readonly<Record<VertexClass, string>> = {
  seen: 'wall seen',
  weak: 'faint',
  inferred: 'drawn by guess',
  shadow: 'in shadow, drawn by guess',
  cut: 'past the edge of the picture, drawn by guess',
};
const hatched = (seenAs: VertexClass): boolean => seenAs === 'shadow' || seenAs === 'cut';

interface Run {
  readonly seenAs: VertexClass;
  readonly points: readonly PixelPoint[];
}

const between = (a: PixelPoint, b: PixelPoint): PixelPoint => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });

/** Stretches of one class, each from half way to the vertex before to half way to the vertex after. */
export function runsOf(vertices: readonly OutlineVertex[], frame: PlaneFrame): readonly Run[] {
  const count = vertices.length;
  const at = vertices.map((one) => toPixel(frame, one));
  const point = (index: number): PixelPoint => at[((index % count) + count) % count] ?? { x: 0, y: 0 };
  const classAt = (index: number): VertexClass => vertices[index % count]?.seenAs ?? 'seen';
  const first = vertices.findIndex((one, index) => one.seenAs !== classAt(index + count - 1));
  if (first < 0) return count === 0 ? [] : [{ seenAs: classAt(0), points: [...at, point(0)] }];
  const runs: Run[] = [];
  for (let from = first; from < first + count;) {
    const seenAs = classAt(from);
    let to = from;
    while (to + 1 < first + count && classAt(to + 1) === seenAs) to += 1;
    const points = [between(point(from - 1), point(from))];
    for (let index = from; index <= to; index += 1) points.push(point(index));
    points.push(between(point(to), point(to + 1)));
    runs.push({ seenAs, points });
    from = to + 1;
  }
  return runs;
}

const pathOf = (points: readonly PixelPoint[]): string =>
  points.map(({ x, y }, index) => `${index === 0 ? 'M' : 'L'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');

function Hatch({ id, unitsPerPx }: { readonly id: string; readonly unitsPerPx: number }): ReactNode {
  const step = 6 * unitsPerPx;
  return (
    <pattern id={id} width={step} height={step} patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
      <path d={`M0 0V${step}`} stroke="var(--well-line)" strokeWidth={1.4 * unitsPerPx} />
    </pattern>
  );
}

interface DrawingProps {
  readonly outline: PlaneOutline;
  readonly frame: PlaneFrame;
  readonly unitsPerPx: number;
  /** Thin and without patterns: an outline that is only there to be compared with. */
  readonly faintly?: boolean;
}

export const OutlineDrawing = memo(function OutlineDrawing({
  outline,
  frame,
  unitsPerPx,
  faintly,
}: DrawingProps): ReactNode {
  const id = useId();
  const around = outline.vertices.map((one) => toPixel(frame, one));
  if (around.length === 0) return null;
  if (faintly === true) {
    return (
      <path
        d={`${pathOf(around)}Z`}
        fill="none"
        stroke="var(--well-ink)"
        strokeWidth={unitsPerPx}
        opacity={0.75}
      />
    );
  }
  const runs = runsOf(outline.vertices, frame);
  return (
    <g fill="none" strokeLinejoin="round">
      <defs>
        <Hatch id={id} unitsPerPx={unitsPerPx} />
      </defs>
      {runs.map((run, index) =>
        hatched(run.seenAs) ? (
          <path key={index} d={pathOf(run.points)} stroke={`url(#${id})`} strokeWidth={18 * unitsPerPx} />
        ) : null,
      )}
      <path d={`${pathOf(around)}Z`} stroke="var(--well)" strokeWidth={4.5 * unitsPerPx} opacity={0.7} />
      {runs.map((run, index) => (
        <path
          key={index}
          d={pathOf(run.points)}
          stroke="var(--well-line)"
          strokeWidth={2 * unitsPerPx}
          strokeDasharray={dashes[run.seenAs]?.map((one) => one * unitsPerPx).join(' ')}
        />
      ))}
    </g>
  );
});

/** The mark of a handle: filled square seen, open square faint, open circle by guess, open diamond past the edge. */
export function HandleMark({
  at,
  seenAs,
  byHand,
  unitsPerPx,
}: {
  readonly at: PixelPoint;
  readonly seenAs: VertexClass;
  readonly byHand: boolean;
  readonly unitsPerPx: number;
}): ReactNode {
  const half = 4.5 * unitsPerPx;
  const drawn = {
    fill: seenAs === 'seen' ? 'var(--well-line)' : 'var(--well)',
    stroke: seenAs === 'seen' ? 'var(--well)' : 'var(--well-line)',
    strokeWidth: (seenAs === 'seen' ? 1 : 2) * unitsPerPx,
  };
  const box = { x: at.x - half, y: at.y - half, width: 2 * half, height: 2 * half };
  return (
    <>
      {seenAs === 'seen' || seenAs === 'weak' ? (
        <rect {...box} {...drawn} />
      ) : seenAs === 'cut' ? (
        <rect {...box} {...drawn} transform={`rotate(45 ${at.x} ${at.y})`} />
      ) : (
        <circle cx={at.x} cy={at.y} r={half} {...drawn} />
      )}
      {byHand ? (
        <circle
          cx={at.x}
          cy={at.y}
          r={1.6 * unitsPerPx}
          fill={seenAs === 'seen' ? 'var(--well)' : 'var(--well-line)'}
        />
      ) : null}
    </>
  );
}

const keyFrame: PlaneFrame = {
  mmPerPx: { x: 1, y: 1 },
  apexPx: { x: 0, y: 0 },
  sector: { halfAngleDeg: 45, rMinMm: 0, rMaxMm: 100 },
};
const keyLines: readonly (readonly [VertexClass, boolean, string])[] = [
  ['seen', false, classWords.seen],
  ['weak', false, classWords.weak],
  ['inferred', false, classWords.inferred],
  ['shadow', false, 'in shadow, by guess'],
  ['cut', false, 'past the edge, by guess'],
  ['seen', true, 'moved by hand'],
];

/** What the patterns mean. `compared`: the thin line of the other outline is in the picture too. */
export const OutlineKey = memo(function OutlineKey({
  compared,
}: {
  readonly compared?: string | undefined;
}): ReactNode {
  const id = useId();
  return (
    <ul className={styles['lines']} aria-label="Key to the outline">
      {keyLines.map(([seenAs, byHand, words]) => (
        <li key={words}>
          <svg viewBox="0 0 52 20" aria-hidden="true">
            <defs>
              <Hatch id={`${id}${seenAs}`} unitsPerPx={1} />
            </defs>
            {hatched(seenAs) ? <path d="M0 10H52" stroke={`url(#${id}${seenAs})`} strokeWidth={18} /> : null}
            <path
              d={pathOf([toPixel(keyFrame, { sMm: 0, dMm: 10 }), toPixel(keyFrame, { sMm: 52, dMm: 10 })])}
              stroke="var(--well-line)"
              strokeWidth={2}
              strokeDasharray={dashes[seenAs]?.join(' ')}
            />
            <HandleMark at={{ x: 26, y: 10 }} seenAs={seenAs} byHand={byHand} unitsPerPx={1} />
          </svg>
          {words}
        </li>
      ))}
      {compared === undefined ? null : (
        <li>
          <svg viewBox="0 0 52 20" aria-hidden="true">
            <path d="M0 10H52" stroke="var(--well-ink)" strokeWidth={1} />
          </svg>
          {compared}
        </li>
      )}
    </ul>
  );
});
