/**
 * Volume from three full diameters, with the coefficient that made it.
 *
 *     V = k · width · height · depth        1000 mm³ = 1 mL exactly
 *
 * Frame     inner wall to inner wall, mutually at right angles: width transverse, height head to foot, depth front to back
 * Units     in mm; out mL
 * Domain    each 0 < d ≤ 300 mm; outside it refuses, never clamps
 * Errors    geometry/diameter-out-of-range, geometry/coefficient-out-of-range
 * Source    S-clinical-A1 to A12; the 300 mm bound is made here (S-geometry-domain)
 * @example  caliperVolume({ widthMm: 100, heightMm: 80, depthMm: 70 }, orThrow(coefficientById('A1'))) // 293.215 mL
 */
import { controlIsOn, refuse, type Refusal } from '../quantity/index.ts';
import type { PublishedCoefficient } from './coefficients.ts';
import type { Volume } from './volume.ts';

export interface Diameters {
  readonly widthMm: number;
  readonly heightMm: number;
  readonly depthMm: number;
}

/** Longest diameter taken for a bladder, mm. Made here. */
const longestDiameterMm = 300;

/** A refusal when a diameter is missing, not a number, not above 0, or above 300 mm; else undefined. */
function diametersRefusal(diameters: Diameters): Refusal | undefined {
  for (const name of ['width', 'height', 'depth'] as const) {
    const value = diameters[`${name}Mm`] as number | undefined;
    const ok = typeof value === 'number' && value > 0 && value <= longestDiameterMm;
    if (!ok && controlIsOn('diameter-domain')) {
      return refuse('geometry/diameter-out-of-range', {
        asked: 'Volume from diameters',
        found: value === undefined ? `no ${name}` : `${name} ${value} mm`,
        allowed: `each diameter above 0 and at most ${longestDiameterMm} mm`,
        todo: 'Measure again, or enter the three diameters by hand.',
        where: `${name}Mm`,
      });
    }
  }
  return undefined;
}

export function caliperVolume(
  diameters: Diameters,
  chosen: Pick<PublishedCoefficient, 'coefficient' | 'coefficientSource'>,
): Volume | Refusal {
  const refused = diametersRefusal(diameters);
  if (refused) return refused;
  const k = chosen.coefficient;
  if (!(k > 0 && k <= 1)) {
    return refuse('geometry/coefficient-out-of-range', {
      asked: 'Volume from diameters',
      found: `coefficient ${k}`,
      allowed: 'above 0 and at most 1',
      todo: 'Choose one of the published coefficients.',
    });
  }
  return {
    volumeMl: (k * diameters.widthMm * diameters.heightMm * diameters.depthMm) / 1000,
    method: 'calipers',
    coefficient: k,
    coefficientSource: chosen.coefficientSource,
  };
}

/**
 * Cuboid rule for small volumes: k = 1; above 60 mL the product is multiplied by 0.8. As printed it steps down at
 * 60 mL (60.1 becomes 48.1); the step is the source's, and the coefficient used is in the result.
 *
 * Source    S-clinical-A12 (82 children, mean 92 mL)
 */
export function smallVolumeCuboid(diameters: Diameters): Volume | Refusal {
  const whole = caliperVolume(diameters, { coefficient: 1, coefficientSource: 'S-clinical-A12' });
  if ('refused' in whole || whole.volumeMl <= 60) return whole;
  return caliperVolume(diameters, { coefficient: 0.8, coefficientSource: 'S-clinical-A12' });
}

/**
 * Half the sum of a transverse and a longitudinal section volume.
 *
 * Source    S-clinical-A13
 */
export function halfSumVolume(transverseMl: number, longitudinalMl: number): Volume | Refusal {
  for (const value of [transverseMl, longitudinalMl]) {
    if (!(value >= 0 && value <= 5000)) {
      return refuse('geometry/section-volume-out-of-range', {
        asked: 'Half-sum of two sections',
        found: `${value} mL`,
        allowed: 'both section volumes from 0 to 5000 mL',
        todo: 'Give both section volumes in mL.',
      });
    }
  }
  return {
    volumeMl: 0.5 * (transverseMl + longitudinalMl),
    method: 'half-sum',
    coefficient: 0.5,
    coefficientSource: 'S-clinical-A13',
  };
}

/**
 * Relative standard deviation of a caliper volume from those of its three diameters.
 *
 * Domain    independent: root of the sum of squares; fully correlated: they add
 * Source    S-clinical-A16
 */
export function caliperRelativeSd(
  relativeSds: readonly [number, number, number],
  errors: 'independent' | 'correlated',
): number | Refusal {
  const [a, b, c] = relativeSds;
  if (![a, b, c].every((one) => one >= 0 && one < 1)) {
    return refuse('geometry/relative-sd-out-of-range', {
      asked: 'Error of a caliper volume',
      found: relativeSds.join(', '),
      allowed: 'three shares from 0 to below 1',
      todo: 'Give the standard deviation of each diameter as a share of that diameter.',
    });
  }
  return errors === 'independent' ? Math.hypot(a, b, c) : a + b + c;
}
