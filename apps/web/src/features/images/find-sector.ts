/**
 * The fan of the beams, read off pictures that do not state it: straight edges fitted to the outermost bright pixels,
 * their meeting point as the apex, and the bright range between.
 *
 * Units     pixels of the picture, x across and y down; angles in the picture as it is shown when a pixel is square
 * Domain    one fan on dark ground; writing beside it is left out as far as it lies off the edges
 * Errors    images/sector-unclear
 * Source    geometry of two lines; limits made here (S-imaging-by-hand)
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { GreyPlane } from '@ebbline/imaging';
import type { PixelPoint } from '../../shared/planes/plane-frame.ts';

export interface SectorPx {
  readonly apexPx: PixelPoint;
  readonly halfAngleDeg: number;
  readonly rMinPx: number;
  readonly rMaxPx: number;
}

/** Black in a picture that was packed with losses is not quite 0. */
const darkest = 8;
const leastRows = 12;
/** Root mean square distance of edge pixels from their line above which it is no straight edge, pixels. */
const mostRmsPx = 4;
const unclear = refuse('images/sector-unclear', {
  asked: 'The fan of the beams',
  found: 'a picture whose fan can not be told',
  allowed: 'two straight edges on dark ground, or three points on the edges',
  todo: 'Tap three points: the upper end of the left edge, its lower end, the lower end of the right edge.',
});

interface Line {
  /** x = at + slope · y. */
  readonly at: number;
  readonly slope: number;
  readonly rmsPx: number;
}

function fitLine(points: readonly PixelPoint[]): Line | undefined {
  let kept = points;
  let line: Line | undefined;
  for (let round = 0; round < 3; round += 1) {
    if (kept.length < leastRows) return undefined;
    const middleY = kept.reduce((sum, one) => sum + one.y, 0) / kept.length;
    const middleX = kept.reduce((sum, one) => sum + one.x, 0) / kept.length;
    let across = 0;
    let along = 0;
    for (const { x, y } of kept) {
      across += (y - middleY) * (x - middleX);
      along += (y - middleY) ** 2;
    }
    const slope = across / along;
    const at = middleX - slope * middleY;
    const off = (one: PixelPoint): number => one.x - at - slope * one.y;
    const rmsPx = Math.sqrt(kept.reduce((sum, one) => sum + off(one) ** 2, 0) / kept.length);
    line = { at, slope, rmsPx };
    kept = points.filter((one) => Math.abs(off(one)) <= Math.max(2, 1.5 * rmsPx));
  }
  return line;
}

const cellPx = 4;
/** Share of a cell that is bright for the cell to belong to the fan. */
const cellShare = 0.25;

/**
 * The largest connected bright part: writing, bars and rulers beside the fan are parts of their own. Looked for in cells,
 * so that the dark between speckles does not part the fan.
 */
function largestPart(lit: Uint8Array, width: number, height: number): Uint8Array {
  const across = Math.ceil(width / cellPx);
  const down = Math.ceil(height / cellPx);
  const counts = new Uint16Array(across * down);
  for (let at = 0; at < lit.length; at += 1) {
    if (lit[at] !== 1) continue;
    const cell = Math.floor(at / width / cellPx) * across + Math.floor((at % width) / cellPx);
    counts[cell] = (counts[cell] ?? 0) + 1;
  }
  const isLit = (cell: number): boolean => (counts[cell] ?? 0) >= cellShare * cellPx * cellPx;
  const labels = new Int32Array(across * down);
  let best = 0;
  let bestSize = 0;
  for (let start = 0, label = 0; start < labels.length; start += 1) {
    if (labels[start] !== 0 || !isLit(start)) continue;
    label += 1;
    labels[start] = label;
    const queue = [start];
    for (let next = 0; next < queue.length; next += 1) {
      const cell = queue[next] ?? 0;
      const column = cell % across;
      const around = [
        column > 0 ? cell - 1 : -1,
        column < across - 1 ? cell + 1 : -1,
        cell - across,
        cell + across,
      ];
      for (const other of around) {
        if (other < 0 || other >= labels.length || labels[other] !== 0 || !isLit(other)) continue;
        labels[other] = label;
        queue.push(other);
      }
    }
    if (queue.length > bestSize) [best, bestSize] = [label, queue.length];
  }
  return lit.map((one, at) => {
    const cell = Math.floor(at / width / cellPx) * across + Math.floor((at % width) / cellPx);
    return one === 1 && best > 0 && labels[cell] === best ? 1 : 0;
  });
}

/** @param planes pictures of one size; what is bright in any of them counts */
export function findSector(planes: readonly GreyPlane[]): SectorPx | Refusal {
  const [first] = planes;
  if (!first) return unclear;
  const { width, height } = first;
  const bright = new Uint8Array(width * height);
  for (const { grey } of planes)
    for (let at = 0; at < bright.length; at += 1) if ((grey[at] ?? 0) > darkest) bright[at] = 1;
  const lit = largestPart(bright, width, height);
  const left: PixelPoint[] = [];
  const right: PixelPoint[] = [];
  let widest = 0;
  let widestAt = 0;
  for (let y = 0; y < height; y += 1) {
    const row = lit.subarray(y * width, (y + 1) * width);
    const from = row.indexOf(1);
    if (from < 0) continue;
    const to = row.lastIndexOf(1);
    left.push({ x: from, y });
    right.push({ x: to, y });
    if (to - from > widest) [widest, widestAt] = [to - from, y];
  }
  const top = left[0]?.y ?? 0;
  // The straight part: below the near arc, above where the far arc begins.
  const straight = (one: PixelPoint): boolean =>
    one.y >= top + 0.2 * (widestAt - top) && one.y <= top + 0.9 * (widestAt - top);
  const [l, r] = [fitLine(left.filter(straight)), fitLine(right.filter(straight))];
  if (!l || !r || l.slope > -0.05 || r.slope < 0.05 || Math.max(l.rmsPx, r.rmsPx) > mostRmsPx) return unclear;
  const apexY = (r.at - l.at) / (l.slope - r.slope);
  const apexPx = { x: l.at + l.slope * apexY, y: apexY };
  const halfAngleDeg = (Math.atan((r.slope - l.slope) / 2) * 180) / Math.PI;
  const bins = new Uint32Array(Math.ceil(Math.hypot(width, height)) + Math.ceil(Math.abs(apexY)) + 2);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      if (
        lit[y * width + x] !== 1 ||
        Math.abs(x - apexPx.x) > (y - apexPx.y) * Math.tan((halfAngleDeg * Math.PI) / 180)
      )
        continue;
      const range = Math.round(Math.hypot(x - apexPx.x, y - apexPx.y));
      bins[range] = (bins[range] ?? 0) + 1;
    }
  }
  const most = bins.reduce((a, b) => Math.max(a, b), 0);
  const rMaxPx = bins.findLastIndex((one) => one > 0.2 * most);
  const rMinPx = Math.max(
    0,
    bins.findIndex((one) => one > 0),
  );
  if (!(halfAngleDeg > 5 && halfAngleDeg < 85 && rMaxPx > rMinPx + 40)) return unclear;
  return { apexPx, halfAngleDeg, rMinPx, rMaxPx };
}

/** The fan from three points of its edges: upper and lower end of the left edge, lower end of the right edge. */
export function sectorThrough(upper: PixelPoint, lower: PixelPoint, right: PixelPoint): SectorPx | Refusal {
  const slope = (lower.x - upper.x) / (lower.y - upper.y);
  const middle = (lower.x + right.x) / 2;
  const apexPx = { x: middle, y: upper.y + (middle - upper.x) / slope };
  const halfAngleDeg = (Math.atan(-slope) * 180) / Math.PI;
  const rMinPx = Math.hypot(upper.x - apexPx.x, upper.y - apexPx.y);
  const rMaxPx = Math.hypot(lower.x - apexPx.x, lower.y - apexPx.y);
  if (!(halfAngleDeg > 5 && halfAngleDeg < 85 && rMaxPx > rMinPx + 40 && right.x > lower.x)) return unclear;
  return { apexPx, halfAngleDeg, rMinPx, rMaxPx };
}
