/**
 * Exact integrals over a closed polygon in a plane, by Green's theorem along its edges.
 *
 * Frame     s = lateral distance from the probe axis, d = depth; points are [s0, d0, s1, d1, …], last joined to first
 * Units     in mm; out mm² (area) and mm³ (first moments)
 * Domain    at least 3 vertices, all finite; either turning direction; not crossing itself (see `crossesItself`)
 * Errors    geometry/outline-too-short, geometry/outline-not-finite, geometry/outline-crosses-itself
 * Source    closed form, derived in README.md of this folder (S-geometry-closed-form)
 */
import { refuse, type Refusal } from '../quantity/index.ts';

/** Flat list of s, d pairs in mm. */
export type Polygon = ArrayLike<number>;

/** Area enclosed, mm². */
export function polygonAreaMm2(polygon: Polygon): number {
  const length = polygon.length;
  let twice = 0;
  for (let index = 0, before = length - 2; index < length; before = index, index += 2) {
    twice +=
      (polygon[before] as number) * (polygon[index + 1] as number) -
      (polygon[index] as number) * (polygon[before + 1] as number);
  }
  return Math.abs(twice) / 2;
}

// ∫ x·|x| over an edge, of which the sign of x does not change, is sign · (a² + ab + b²)/3.
const signedSquareMean = (a: number, b: number): number => {
  const mean = (a * a + a * b + b * b) / 3;
  return a + b < 0 ? -mean : mean;
};

/**
 * ∫ |s| dA, mm³: what one plane adds to a solid of revolution. The edge is split where it crosses the axis, because
 * |s| has a corner there.
 */
export function absoluteMomentMm3(polygon: Polygon): number {
  const length = polygon.length;
  let sum = 0;
  let s0 = polygon[length - 2] as number;
  let d0 = polygon[length - 1] as number;
  for (let index = 0; index < length; index += 2) {
    const s1 = polygon[index] as number;
    const d1 = polygon[index + 1] as number;
    if (s0 * s1 < 0) {
      const cut = d0 + ((d1 - d0) * s0) / (s0 - s1);
      sum += signedSquareMean(s0, 0) * (cut - d0) + signedSquareMean(0, s1) * (d1 - cut);
    } else {
      sum += signedSquareMean(s0, s1) * (d1 - d0);
    }
    s0 = s1;
    d0 = d1;
  }
  return Math.abs(sum) / 2;
}

/** ∫ s·|s| dA, mm⁴: over ∫|s| dA it is where a plane's part of a solid of revolution lies beside the axis. */
export function sidedMomentMm4(polygon: Polygon): number {
  const length = polygon.length;
  let sum = 0;
  let twiceArea = 0;
  let s0 = polygon[length - 2] as number;
  let d0 = polygon[length - 1] as number;
  for (let index = 0; index < length; index += 2) {
    const s1 = polygon[index] as number;
    const d1 = polygon[index + 1] as number;
    twiceArea += s0 * d1 - s1 * d0;
    if (s0 * s1 < 0) {
      const cut = d0 + ((d1 - d0) * s0) / (s0 - s1);
      sum += cubeMean(s0, 0) * (cut - d0) + cubeMean(0, s1) * (d1 - cut);
    } else {
      sum += cubeMean(s0, s1) * (d1 - d0);
    }
    s0 = s1;
    d0 = d1;
  }
  return (twiceArea < 0 ? -sum : sum) / 3;
}

// ∫ |x|³ over an edge, of which the sign of x does not change, is |a³ + a²b + ab² + b³|/4.
const cubeMean = (a: number, b: number): number =>
  Math.abs(a * a * a + a * a * b + a * b * b + b * b * b) / 4;

/** ∫ d dA, mm³: what one plane adds to a tilt sweep about the lateral axis through d = 0. Needs d ≥ 0. */
export function depthMomentMm3(polygon: Polygon): number {
  const length = polygon.length;
  let sum = 0;
  let s0 = polygon[length - 2] as number;
  let d0 = polygon[length - 1] as number;
  for (let index = 0; index < length; index += 2) {
    const s1 = polygon[index] as number;
    const d1 = polygon[index + 1] as number;
    sum += ((d0 * d0 + d0 * d1 + d1 * d1) / 3) * (s1 - s0);
    s0 = s1;
    d0 = d1;
  }
  return Math.abs(sum) / 2;
}

/** Smallest and largest s and d, mm. */
export function polygonExtent(polygon: Polygon): { minS: number; maxS: number; minD: number; maxD: number } {
  let minS = Infinity;
  let maxS = -Infinity;
  let minD = Infinity;
  let maxD = -Infinity;
  for (let index = 0; index < polygon.length; index += 2) {
    const s = polygon[index] as number;
    const d = polygon[index + 1] as number;
    if (s < minS) minS = s;
    if (s > maxS) maxS = s;
    if (d < minD) minD = d;
    if (d > maxD) maxD = d;
  }
  return { minS, maxS, minD, maxD };
}

/** Total lateral width of a set of polygons at depth d, mm (sum of the stretches inside). */
export function widthAtDepthMm(polygons: readonly Polygon[], depthMm: number): number {
  let width = 0;
  for (const polygon of polygons) {
    const crossings: number[] = [];
    const length = polygon.length;
    for (let index = 0, before = length - 2; index < length; before = index, index += 2) {
      const d0 = polygon[before + 1] as number;
      const d1 = polygon[index + 1] as number;
      if (d0 <= depthMm === d1 <= depthMm) continue;
      const s0 = polygon[before] as number;
      crossings.push(s0 + (((polygon[index] as number) - s0) * (depthMm - d0)) / (d1 - d0));
    }
    crossings.sort((a, b) => a - b);
    for (let index = 0; index + 1 < crossings.length; index += 2)
      width += (crossings[index + 1] as number) - (crossings[index] as number);
  }
  return width;
}

/** True when two edges that are not neighbours cross. */
function crossesItself(polygon: Polygon): boolean {
  const count = polygon.length / 2;
  const at = (vertex: number): readonly [number, number] => {
    const place = (vertex % count) * 2;
    return [polygon[place] as number, polygon[place + 1] as number];
  };
  const turn = (
    a: readonly [number, number],
    b: readonly [number, number],
    c: readonly [number, number],
  ): number => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
  for (let first = 0; first < count; first += 1) {
    const a = at(first);
    const b = at(first + 1);
    for (let second = first + 2; second < count; second += 1) {
      if (first === 0 && second === count - 1) continue;
      const c = at(second);
      const d = at(second + 1);
      if (turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0) return true;
    }
  }
  return false;
}

/** A refusal when a polygon can't be integrated; else undefined. */
export function polygonRefusal(polygon: Polygon, where: string): Refusal | undefined {
  const asked = 'Outline';
  if (polygon.length < 6 || polygon.length % 2 !== 0) {
    return refuse('geometry/outline-too-short', {
      asked,
      found: `${polygon.length / 2} points`,
      allowed: 'at least 3 points',
      todo: 'Draw the outline again.',
      where,
    });
  }
  for (let index = 0; index < polygon.length; index += 1) {
    if (!Number.isFinite(polygon[index])) {
      return refuse('geometry/outline-not-finite', {
        asked,
        found: `a coordinate that is ${polygon[index]}`,
        allowed: 'numbers in mm',
        todo: 'Draw the outline again.',
        where,
      });
    }
  }
  if (crossesItself(polygon)) {
    return refuse('geometry/outline-crosses-itself', {
      asked,
      found: 'an outline that crosses itself',
      allowed: 'an outline without crossings',
      todo: 'Move the last point back, or draw the outline again.',
      where,
    });
  }
  return undefined;
}
