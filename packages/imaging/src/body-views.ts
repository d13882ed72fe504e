/**
 * A body drawn flat from three sides, for paper and for screens without a graphics card: its silhouette and which
 * part of the near surface nobody saw.
 *
 * Frame     h to the right, v downwards, mm from the body's middle.
 *           front: seen from the front of the person, head up, the picture's right at the right
 *           side:  seen from the picture's right, head at the left, front up
 *           feet:  seen from the feet, front up, the picture's right at the right (as a transverse picture)
 * Error     the silhouette is that of a body which every ray from its middle leaves once; hidden parts to 2 mm
 */
import type { Body } from './body.ts';

export const flatViews = ['front', 'side', 'feet'] as const;
export type FlatViewName = (typeof flatViews)[number];

export interface FlatView {
  /** h, v pairs in mm, closed. */
  readonly silhouetteMm: Float64Array;
  /** Rows of the hidden part: h from, h to, v of the upper edge; each `rowMm` high. */
  readonly hiddenRows: readonly { readonly fromMm: number; readonly toMm: number; readonly topMm: number }[];
  readonly rowMm: number;
}

const rowMm = 2;
const spokes = 144;

/** [axis, sign] of what runs right, down and towards the viewer. */
type Axis = readonly [axis: 0 | 1 | 2, sign: 1 | -1];
const axes: Readonly<Record<FlatViewName, readonly [right: Axis, down: Axis, near: Axis]>> = {
  front: [
    [0, 1],
    [1, -1],
    [2, -1],
  ],
  side: [
    [1, -1],
    [2, 1],
    [0, 1],
  ],
  feet: [
    [0, 1],
    [2, 1],
    [1, -1],
  ],
};

export function flatView(body: Body, name: FlatViewName): FlatView {
  const [right, down, near] = axes[name];
  const along = (vertex: number, [axis, sign]: Axis): number =>
    sign * ((body.verticesMm[3 * vertex + axis] as number) - body.centreMm[axis]);
  const count = body.hidden.length;
  const h = new Float64Array(count);
  const v = new Float64Array(count);
  const toViewer = new Float64Array(count);
  for (let vertex = 0; vertex < count; vertex += 1) {
    h[vertex] = along(vertex, right);
    v[vertex] = along(vertex, down);
    toViewer[vertex] = along(vertex, near);
  }
  return { silhouetteMm: silhouette(h, v), hiddenRows: hiddenRows(body, h, v, toViewer), rowMm };
}

/** The furthest corner in each of many directions around the middle. */
function silhouette(h: Float64Array, v: Float64Array): Float64Array {
  const far = new Int32Array(spokes).fill(-1);
  const reach = new Float64Array(spokes);
  for (let vertex = 0; vertex < h.length; vertex += 1) {
    const radius = Math.hypot(h[vertex] as number, v[vertex] as number);
    const turn = Math.atan2(v[vertex] as number, h[vertex] as number) / (2 * Math.PI) + 0.5;
    const spoke = Math.min(spokes - 1, Math.floor(turn * spokes));
    if (radius <= (reach[spoke] as number)) continue;
    reach[spoke] = radius;
    far[spoke] = vertex;
  }
  const out: number[] = [];
  for (const vertex of far) if (vertex >= 0) out.push(h[vertex] as number, v[vertex] as number);
  return Float64Array.from(out);
}

function hiddenRows(
  body: Body,
  h: Float64Array,
  v: Float64Array,
  toViewer: Float64Array,
): FlatView['hiddenRows'] {
  const cells = new Set<number>();
  const columns = 4096;
  const mark = (x: number, y: number): void => {
    cells.add((Math.floor(y / rowMm) + columns / 2) * columns + Math.floor(x / rowMm) + columns / 2);
  };
  for (let face = 0; face < body.triangles.length; face += 3) {
    const a = body.triangles[face] as number;
    const b = body.triangles[face + 1] as number;
    const c = body.triangles[face + 2] as number;
    const guessed =
      ((body.hidden[a] as number) + (body.hidden[b] as number) + (body.hidden[c] as number)) / 3;
    const middle = ((toViewer[a] as number) + (toViewer[b] as number) + (toViewer[c] as number)) / 3;
    // Of a body that every ray from the middle leaves once, the near half lies before the middle.
    if (guessed < 0.5 || middle <= 0) continue;
    for (const [p, q] of [
      [a, b],
      [b, c],
      [c, a],
    ] as const) {
      mark(h[p] as number, v[p] as number);
      mark(((h[p] as number) + (h[q] as number)) / 2, ((v[p] as number) + (v[q] as number)) / 2);
    }
    mark(
      ((h[a] as number) + (h[b] as number) + (h[c] as number)) / 3,
      ((v[a] as number) + (v[b] as number) + (v[c] as number)) / 3,
    );
  }
  const rows: { fromMm: number; toMm: number; topMm: number }[] = [];
  for (const cell of [...cells].sort((one, other) => one - other)) {
    const topMm = (Math.floor(cell / columns) - columns / 2) * rowMm;
    const fromMm = ((cell % columns) - columns / 2) * rowMm;
    const last = rows.at(-1);
    if (last && last.topMm === topMm && last.toMm === fromMm) last.toMm = fromMm + rowMm;
    else rows.push({ fromMm, toMm: fromMm + rowMm, topMm });
  }
  return rows;
}
