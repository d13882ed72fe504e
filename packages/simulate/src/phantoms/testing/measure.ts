/** Figures that tests take from a phantom's pictures and outlines. Not part of the product. */
import type { GreyPlane, PlaneSetGeometry } from '@ebbline/imaging';
import type { Outline } from '../index.ts';

export interface Spot {
  readonly s: number;
  readonly d: number;
  /** Range from the apex, mm, and angle, degrees. */
  readonly r: number;
  readonly angleDeg: number;
  readonly grey: number;
}

/** All pixels of the sector of a plane, two millimetres within its edges. */
export function spotsOf(geometry: PlaneSetGeometry, picture: GreyPlane): Spot[] {
  const { halfAngleDeg, rMinMm, rMaxMm } = geometry.sector;
  const spots: Spot[] = [];
  for (let row = 0; row < picture.height; row += 1) {
    for (let column = 0; column < picture.width; column += 1) {
      const s = (column - geometry.apexPx.x) * geometry.mmPerPx.x;
      const d = (row - geometry.apexPx.y) * geometry.mmPerPx.y;
      const r = Math.hypot(s, d);
      const angleDeg = (Math.atan2(s, d) * 180) / Math.PI;
      if (d <= 0 || r < rMinMm + 2 || r > rMaxMm - 2 || Math.abs(angleDeg) > halfAngleDeg - 1) continue;
      spots.push({ s, d, r, angleDeg, grey: picture.grey[row * picture.width + column]! });
    }
  }
  return spots;
}

export const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

export const meanGrey = (spots: readonly Spot[]): number => mean(spots.map((spot) => spot.grey));

export function quantile(values: readonly number[], share: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))]!;
}

/** Whether a point lies inside any of the outlines. */
export function isInside(outlines: readonly Outline[], s: number, d: number): boolean {
  let inside = false;
  for (const outline of outlines) {
    for (let at = 0, before = outline.length - 1; at < outline.length; before = at, at += 1) {
      const [s0, d0] = outline[before]!;
      const [s1, d1] = outline[at]!;
      if (d0 > d !== d1 > d && s < s0 + ((d - d0) / (d1 - d0)) * (s1 - s0)) inside = !inside;
    }
  }
  return inside;
}

export interface Extent {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export function extentOf(outlines: readonly Outline[]): Extent {
  const points = outlines.flat();
  const s = points.map((point) => point[0]);
  const d = points.map((point) => point[1]);
  return { left: Math.min(...s), right: Math.max(...s), top: Math.min(...d), bottom: Math.max(...d) };
}

/** Integral of a weight over the outlines by Green's theorem; `primitive` is the weight's integral over s. */
function integral(outlines: readonly Outline[], primitive: (s: number, d: number) => number): number {
  let whole = 0;
  for (const outline of outlines) {
    let sum = 0;
    outline.forEach(([s0, d0], index) => {
      const [s1, d1] = outline[(index + 1) % outline.length]!;
      const middle = primitive(0.5 * (s0 + s1), 0.5 * (d0 + d1));
      sum += ((primitive(s0, d0) + 4 * middle + primitive(s1, d1)) / 6) * (d1 - d0);
    });
    whole += Math.abs(sum);
  }
  return whole;
}

export const areaOf = (outlines: readonly Outline[]): number => integral(outlines, (s) => s);
/** ∫ |s| dA, for planes turned about the axis. */
export const turnMoment = (outlines: readonly Outline[]): number =>
  integral(outlines, (s) => 0.5 * s * Math.abs(s));
/** ∫ d dA, for planes tilted about the apex. */
export const tiltMoment = (outlines: readonly Outline[]): number => integral(outlines, (s, d) => s * d);

/** Sum of all turns along an outline over a full turn: 1 for a convex outline. */
export function turning(outline: Outline): number {
  // Every few points, so that the grid of the outline does not count as waves.
  const points = outline.filter((_, index) => index % 4 === 0);
  let sum = 0;
  points.forEach((point, index) => {
    const next = points[(index + 1) % points.length]!;
    const after = points[(index + 2) % points.length]!;
    const from = Math.atan2(next[1] - point[1], next[0] - point[0]);
    const to = Math.atan2(after[1] - next[1], after[0] - next[0]);
    sum += Math.abs(Math.atan2(Math.sin(to - from), Math.cos(to - from)));
  });
  return sum / (2 * Math.PI);
}
