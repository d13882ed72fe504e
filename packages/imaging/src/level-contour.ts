/**
 * Where a scalar field passes a level, to a fraction of a pixel, and what that encloses.
 *
 * A cell stands between four neighbouring pixels. The contour crosses an edge of it where a straight line between the
 * two values meets the level, and runs straight between two crossings. Crossings of one pixel row are found once, as
 * the ends of stretches above the level; between two rows only cells with a crossing are looked at.
 *
 * Frame     x to the right, y down; pixel centres; top-left pixel centre = 0, 0. The field ends at x = width − 1 and
 *           y = height − 1: a region that goes on there ends at that line
 * Units     pixels, px², px³
 * Turning   what is above the level lies to the right hand of the way, seen on the screen: Σ (x0·y1 − x1·y0) > 0
 *           around a region above, < 0 around a hole in it
 * Saddle    where two opposite corners are above and two below, the corners above are parted
 * Domain    width and height whole and at least 2; values beside a contour finite; a value equal to the level is below
 * Errors    imaging/field-size, imaging/field-not-finite
 * Cost      one comparison a pixel; memory by the number of crossings alone
 * Source    marching squares with linear edges; areas and moments by Green's theorem, closed forms (S-geometry-closed-form)
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';

/** Row by row, one value a pixel. */
export type ScalarField = Float32Array | Float64Array;

export interface LevelContour {
  /** [x0, y0, x1, y1, …], px; a closed one does not repeat its first point. */
  readonly points: Float64Array;
  /** False when it begins and ends at the border of the field. */
  readonly closed: boolean;
}

/** Integrals over everything above the level, holes taken off. */
export interface LevelMoments {
  /** ∫ dA. */
  readonly areaPx2: number;
  /** ∫ x dA. */
  readonly momentXPx3: number;
  /** ∫ y dA. */
  readonly momentYPx3: number;
  /** ∫ |x − aboutColumn| dA: with the column of the probe axis, what one plane adds to a rotational fan. */
  readonly absoluteMomentPx3: number;
}

export interface LevelContours {
  readonly contours: readonly LevelContour[];
  readonly moments: LevelMoments;
}

/** All crossings with their successors: crossing i is at x[i], y[i], and the way goes on to next[i]; −1 = border. */
interface Crossings {
  count: number;
  x: Float64Array;
  y: Float64Array;
  next: Int32Array;
}

const firstRoom = 2048;

/** Where between two values the level lies, 0 to 1. Adding 0 · to makes an infinite value no number on either side. */
const shareOfEdge = (from: number, to: number, level: number): number =>
  (level - from + 0 * to) / (to - from);

function withRoom(crossings: Crossings, more: number): void {
  const needed = crossings.count + more;
  if (needed <= crossings.next.length) return;
  const room = Math.max(needed, 2 * crossings.next.length);
  const x = new Float64Array(room);
  const y = new Float64Array(room);
  const next = new Int32Array(room);
  x.set(crossings.x);
  y.set(crossings.y);
  next.set(crossings.next);
  crossings.x = x;
  crossings.y = y;
  crossings.next = next;
}

/**
 * Finds where a row passes the level: for each crossing the pixel right of it into `columns`, closed by `width`.
 * Its crossings get consecutive numbers from `crossings.count` on.
 */
function scanRow(
  field: ScalarField,
  row: number,
  width: number,
  level: number,
  columns: Int32Array,
  crossings: Crossings,
): void {
  const start = row * width;
  const end = start + width;
  let found = 0;
  let at = start;
  let above = (field[at] as number) > level;
  for (;;) {
    // The bare loops are where the time goes: one comparison a pixel and nothing else.
    at += 1;
    if (above) while (at < end && (field[at] as number) > level) at += 1;
    else while (at < end && !((field[at] as number) > level)) at += 1;
    if (at >= end) break;
    above = !above;
    columns[found] = at - start;
    found += 1;
  }
  columns[found] = width;
  withRoom(crossings, found);
  const { x, y, next } = crossings;
  const first = crossings.count;
  for (let index = 0; index < found; index += 1) {
    const right = columns[index] as number;
    const before = field[start + right - 1] as number;
    x[first + index] = right - 1 + shareOfEdge(before, field[start + right] as number, level);
    y[first + index] = row;
    next[first + index] = -1;
  }
  crossings.count = first + found;
}

// Edges of a cell: top, right, bottom, left. Ways through it by which corners are above: bits upper left 1, upper right
// 2, lower left 4, lower right 8. Each way is from · 4 + to; −1 = none.
const top = 0;
const right = 1;
const bottom = 2;
const left = 3;
const way = (from: number, to: number): number => from * 4 + to;
const firstWay = Int8Array.of(
  -1,
  way(top, left),
  way(right, top),
  way(right, left),
  way(left, bottom),
  way(top, bottom),
  way(right, top),
  way(right, bottom),
  way(bottom, right),
  way(top, left),
  way(bottom, top),
  way(bottom, left),
  way(left, right),
  way(top, right),
  way(left, top),
  -1,
);
/** The second way of the two saddles. */
const secondWay = new Int8Array(16).fill(-1);
secondWay[6] = way(left, bottom);
secondWay[9] = way(bottom, right);

/** Every crossing of the level and where the way goes on from it. */
function findCrossings(field: ScalarField, width: number, height: number, level: number): Crossings {
  const crossings: Crossings = {
    count: 0,
    x: new Float64Array(firstRoom),
    y: new Float64Array(firstRoom),
    next: new Int32Array(firstRoom),
  };
  let upper = new Int32Array(width + 1);
  let lower = new Int32Array(width + 1);
  const edge = new Int32Array(4);
  let upperFirst = 0;
  scanRow(field, 0, width, level, upper, crossings);
  for (let row = 0; row + 1 < height; row += 1) {
    const lowerFirst = crossings.count;
    scanRow(field, row + 1, width, level, lower, crossings);
    withRoom(crossings, width);
    const { x, y, next } = crossings;
    const start = row * width;
    const below = start + width;
    let upperLeft = (field[start] as number) > level ? 1 : 0;
    let lowerLeft = (field[below] as number) > level ? 1 : 0;
    let upperAt = 0;
    let lowerAt = 0;
    let column = 0;
    let used = crossings.count;
    edge[left] = -1;
    if (upperLeft !== lowerLeft) {
      const value = field[start] as number;
      x[used] = 0;
      y[used] = row + shareOfEdge(value, field[below] as number, level);
      next[used] = -1;
      edge[left] = used;
      used += 1;
    }
    for (;;) {
      const upperNext = upper[upperAt] as number;
      const lowerNext = lower[lowerAt] as number;
      // Both rows alike here: nothing crosses until one of them changes.
      if (upperLeft === lowerLeft) column = Math.min(upperNext, lowerNext) - 1;
      if (column >= width - 1) break;
      let upperRight = upperLeft;
      let lowerRight = lowerLeft;
      if (upperNext === column + 1) {
        upperRight = 1 - upperLeft;
        edge[top] = upperFirst + upperAt;
        upperAt += 1;
      }
      if (lowerNext === column + 1) {
        lowerRight = 1 - lowerLeft;
        edge[bottom] = lowerFirst + lowerAt;
        lowerAt += 1;
      }
      if (upperRight !== lowerRight) {
        const value = field[start + column + 1] as number;
        x[used] = column + 1;
        y[used] = row + shareOfEdge(value, field[below + column + 1] as number, level);
        next[used] = -1;
        edge[right] = used;
        used += 1;
      }
      const corners = upperLeft + 2 * upperRight + 4 * lowerLeft + 8 * lowerRight;
      const one = firstWay[corners] as number;
      next[edge[one >> 2] as number] = edge[one & 3] as number;
      const other = secondWay[corners] as number;
      if (other >= 0) next[edge[other >> 2] as number] = edge[other & 3] as number;
      edge[left] = edge[right] as number;
      upperLeft = upperRight;
      lowerLeft = lowerRight;
      column += 1;
    }
    crossings.count = used;
    const spare = upper;
    upper = lower;
    lower = spare;
    upperFirst = lowerFirst;
  }
  return crossings;
}

function sizeRefusal(field: ScalarField, width: number, height: number, level: number): Refusal | undefined {
  const whole = Number.isInteger(width) && Number.isInteger(height) && width >= 2 && height >= 2;
  if (whole && field.length === width * height && Number.isFinite(level)) return undefined;
  return refuse('imaging/field-size', {
    asked: 'Contour of a field',
    found: `${field.length} values for ${width} × ${height} pixels at level ${level}`,
    allowed: 'at least 2 × 2 pixels, one value for each, and a finite level',
    todo: 'Give the field with its own width and height.',
  });
}

const notFinite = (): Refusal =>
  refuse('imaging/field-not-finite', {
    asked: 'Contour of a field',
    found: 'a value beside the contour that is no finite number',
    allowed: 'finite values',
    todo: 'Fill what is unknown with a value below the level.',
  });

/**
 * All contours of a field at a level, first those that begin and end at the border, then the closed ones; and, from the
 * same pass, the moments of what they enclose. Points that coincide with the one before (values equal to the level) are
 * left out, and with them contours without extent.
 *
 * Domain    aboutColumn: any finite x, px; also outside the field
 */
export function levelContours(
  field: ScalarField,
  width: number,
  height: number,
  level: number,
  aboutColumn = 0,
): LevelContours | Refusal {
  const refusal = sizeRefusal(field, width, height, level);
  if (refusal) return refusal;
  const crossings = findCrossings(field, width, height, level);
  const moments = momentsOf(crossings, field, width, height, level, aboutColumn);
  if (isRefusal(moments)) return moments;
  return { contours: linked(crossings), moments };
}

/** The moments alone, without drawing the contours. */
export function levelMoments(
  field: ScalarField,
  width: number,
  height: number,
  level: number,
  aboutColumn = 0,
): LevelMoments | Refusal {
  return (
    sizeRefusal(field, width, height, level) ??
    momentsOf(findCrossings(field, width, height, level), field, width, height, level, aboutColumn)
  );
}

/** Crossings in their order along each contour; spends `next`. */
function linked({ count, x, y, next }: Crossings): LevelContour[] {
  const isFollower = new Uint8Array(count);
  for (let index = 0; index < count; index += 1) {
    const follower = next[index] as number;
    if (follower >= 0) isFollower[follower] = 1;
  }
  const contours: LevelContour[] = [];
  const flat = new Float64Array(2 * count);
  const follow = (start: number, closed: boolean): void => {
    let length = 0;
    let at = start;
    while (at >= 0) {
      const pointX = x[at] as number;
      const pointY = y[at] as number;
      if (length === 0 || pointX !== flat[length - 2] || pointY !== flat[length - 1]) {
        flat[length] = pointX;
        flat[length + 1] = pointY;
        length += 2;
      }
      const follower = next[at] as number;
      next[at] = -1;
      at = follower;
      if (at === start) break;
    }
    if (closed && length > 2 && flat[0] === flat[length - 2] && flat[1] === flat[length - 1]) length -= 2;
    if (length >= (closed ? 6 : 4)) contours.push({ points: flat.slice(0, length), closed });
  };
  for (let index = 0; index < count; index += 1)
    if (isFollower[index] === 0 && (next[index] as number) >= 0) follow(index, false);
  for (let index = 0; index < count; index += 1) if ((next[index] as number) >= 0) follow(index, true);
  return contours;
}

function momentsOf(
  { count, x, y, next }: Crossings,
  field: ScalarField,
  width: number,
  height: number,
  level: number,
  aboutColumn: number,
): LevelMoments | Refusal {
  // Green's theorem with f dy, f the integral over x of 1, x, y and |x − aboutColumn|; each sum is six times too large.
  let area = 0;
  let momentX = 0;
  let momentY = 0;
  let absolute = 0;
  for (let index = 0; index < count; index += 1) {
    const follower = next[index] as number;
    if (follower < 0) continue;
    const x0 = x[index] as number;
    const x1 = x[follower] as number;
    const y0 = y[index] as number;
    const y1 = y[follower] as number;
    const rise = y1 - y0;
    area += 3 * (x0 + x1) * rise;
    momentX += (x0 * x0 + x0 * x1 + x1 * x1) * rise;
    momentY += (x0 * (2 * y0 + y1) + x1 * (y0 + 2 * y1)) * rise;
    const from = x0 - aboutColumn;
    const to = x1 - aboutColumn;
    if (from * to < 0) absolute += splitSquare(from, to) * rise;
    else absolute += (from + to < 0 ? -1 : 1) * (from * from + from * to + to * to) * rise;
  }
  const sides = sideLengths(field, width, height, level);
  const last = width - 1;
  const lastBeside = last - aboutColumn;
  area += 6 * last * sides.rightPx;
  momentX += 3 * last * last * sides.rightPx;
  momentY += 6 * last * sides.rightMomentPx2;
  absolute +=
    3 * lastBeside * Math.abs(lastBeside) * sides.rightPx +
    3 * aboutColumn * Math.abs(aboutColumn) * sides.leftPx;
  if (!Number.isFinite(area + momentX + momentY + absolute)) return notFinite();
  return {
    areaPx2: area / 6,
    momentXPx3: momentX / 6,
    momentYPx3: momentY / 6,
    absoluteMomentPx3: absolute / 6,
  };
}

/** Three times the mean of u·|u| along an edge from `from` to `to` that passes 0: the parts on both sides of the corner. */
const splitSquare = (from: number, to: number): number =>
  (from * from * Math.abs(from) - to * to * Math.abs(to)) / (from - to);

/** How much of the first and the last column is above the level, px, and ∫ y dy over that of the last, px². */
function sideLengths(
  field: ScalarField,
  width: number,
  height: number,
  level: number,
): { leftPx: number; rightPx: number; rightMomentPx2: number } {
  let leftPx = 0;
  let rightPx = 0;
  let rightMomentPx2 = 0;
  for (let row = 0; row + 1 < height; row += 1) {
    const start = row * width;
    leftPx += shareAbove(field[start] as number, field[start + width] as number, level);
    const from = field[start + width - 1] as number;
    const to = field[start + 2 * width - 1] as number;
    const share = shareAbove(from, to, level);
    rightPx += share;
    rightMomentPx2 += share * (from > level ? row + share / 2 : row + 1 - share / 2);
  }
  return { leftPx, rightPx, rightMomentPx2 };
}

/** Share of an edge of length 1 that is above the level. */
function shareAbove(from: number, to: number, level: number): number {
  if (from > level) return to > level ? 1 : shareOfEdge(from, to, level);
  return to > level ? 1 - shareOfEdge(from, to, level) : 0;
}
