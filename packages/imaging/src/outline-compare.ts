/**
 * How far one closed outline lies from another: at even steps along the true one, the distance to the nearest point of
 * the drawn one, positive where the drawn one goes beyond it and negative where it falls short.
 *
 *     signed(p) = ± min over q of the drawn outline of |p − q|      + when p lies inside the drawn outline, else −
 *
 * Frame     s lateral, d depth in mm on the plane; flat pairs, last joined to the first
 * Units     mm
 * Domain    at least three points each; several true outlines on one plane are gone along one after the other
 * Errors    imaging/nothing-to-compare
 * Source    closed form (S-geometry-closed-form): for two circles about one middle it is the difference of the radii
 */
import { polygonExtent, type Polygon } from '@ebbline/core/geometry';
import { refuse, type Refusal } from '@ebbline/core/quantity';

export const outlineSides = ['left', 'right', 'near', 'deep'] as const;
export type OutlineSide = (typeof outlineSides)[number];

export interface OutlineSample {
  /** On the true outline. */
  readonly sMm: number;
  readonly dMm: number;
  /** The nearest point of the drawn outline. */
  readonly toSMm: number;
  readonly toDMm: number;
  readonly signedMm: number;
  /** Which side of the true outline the point lies at: left or right of the picture, near the probe, deep. */
  readonly side: OutlineSide;
}

export interface OutlineComparison {
  readonly samples: readonly OutlineSample[];
  /** Mean of the signed distances: the drawn outline is on the whole too large (+) or too small (−). */
  readonly biasMm: number;
  /** Mean of the distances without their sign. */
  readonly meanMm: number;
  /** The sample that is furthest off. */
  readonly worst: OutlineSample;
  readonly sides: readonly { readonly side: OutlineSide; readonly biasMm: number }[];
}

const stepMm = 1.5;

/** Points at even steps along a closed outline. */
function alongOutline(polygon: Polygon): number[] {
  const out: number[] = [];
  let left = 0;
  for (let index = 0, before = polygon.length - 2; index < polygon.length; before = index, index += 2) {
    const s0 = polygon[before] as number;
    const d0 = polygon[before + 1] as number;
    const ds = (polygon[index] as number) - s0;
    const dd = (polygon[index + 1] as number) - d0;
    const length = Math.hypot(ds, dd);
    for (; left < length; left += stepMm) out.push(s0 + (ds * left) / length, d0 + (dd * left) / length);
    left -= length;
  }
  return out;
}

function nearestOn(polygon: Polygon, s: number, d: number): { s: number; d: number; awayMm: number } {
  let best = { s: 0, d: 0, awayMm: Infinity };
  for (let index = 0, before = polygon.length - 2; index < polygon.length; before = index, index += 2) {
    const s0 = polygon[before] as number;
    const d0 = polygon[before + 1] as number;
    const ds = (polygon[index] as number) - s0;
    const dd = (polygon[index + 1] as number) - d0;
    const square = ds * ds + dd * dd;
    const share = square > 0 ? Math.max(0, Math.min(1, ((s - s0) * ds + (d - d0) * dd) / square)) : 0;
    const at = { s: s0 + share * ds, d: d0 + share * dd };
    const awayMm = Math.hypot(at.s - s, at.d - d);
    if (awayMm < best.awayMm) best = { ...at, awayMm };
  }
  return best;
}

/** Crossings of a line to the right: an odd number means inside. */
function isInside(polygon: Polygon, s: number, d: number): boolean {
  let inside = false;
  for (let index = 0, before = polygon.length - 2; index < polygon.length; before = index, index += 2) {
    const d0 = polygon[before + 1] as number;
    const d1 = polygon[index + 1] as number;
    if (d0 > d === d1 > d) continue;
    const s0 = polygon[before] as number;
    const s1 = polygon[index] as number;
    if (s < s0 + ((s1 - s0) * (d - d0)) / (d1 - d0)) inside = !inside;
  }
  return inside;
}

const mean = (values: readonly number[]): number =>
  values.length === 0 ? 0 : values.reduce((sum, value) => sum + value, 0) / values.length;

/** How far the drawn outline lies from the true ones. */
export function compareOutlines(drawn: Polygon, truth: readonly Polygon[]): OutlineComparison | Refusal {
  const usable = truth.filter((polygon) => polygon.length >= 6);
  if (drawn.length < 6 || usable.length === 0) {
    return refuse('imaging/nothing-to-compare', {
      asked: 'Distance between outlines',
      found: drawn.length < 6 ? 'no drawn outline' : 'no true outline',
      allowed: 'a drawn and a true outline of at least three points each',
      todo: 'Outline the bladder on a plane that shows it.',
    });
  }
  const samples: OutlineSample[] = [];
  for (const polygon of usable) {
    const { minS, maxS, minD, maxD } = polygonExtent(polygon);
    const points = alongOutline(polygon);
    for (let place = 0; place < points.length; place += 2) {
      const s = points[place] as number;
      const d = points[place + 1] as number;
      const nearest = nearestOn(drawn, s, d);
      // Of the box around the true outline: which of its sides is nearest, each axis by its own half width.
      const across = (2 * s - minS - maxS) / Math.max(1e-9, maxS - minS);
      const deep = (2 * d - minD - maxD) / Math.max(1e-9, maxD - minD);
      samples.push({
        sMm: s,
        dMm: d,
        toSMm: nearest.s,
        toDMm: nearest.d,
        signedMm: isInside(drawn, s, d) ? nearest.awayMm : -nearest.awayMm,
        side:
          Math.abs(across) > Math.abs(deep) ? (across < 0 ? 'left' : 'right') : deep < 0 ? 'near' : 'deep',
      });
    }
  }
  const worst = samples.reduce((far, one) => (Math.abs(one.signedMm) > Math.abs(far.signedMm) ? one : far));
  return {
    samples,
    biasMm: mean(samples.map((one) => one.signedMm)),
    meanMm: mean(samples.map((one) => Math.abs(one.signedMm))),
    worst,
    sides: outlineSides.map((side) => ({
      side,
      biasMm: mean(samples.filter((one) => one.side === side).map((one) => one.signedMm)),
    })),
  };
}
