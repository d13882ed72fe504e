/**
 * What a way of deciding did to one made-up patient, from the truth.
 *
 * Units     h, mL, counts; nights by the clock of UTC, which made-up wards keep
 * Source    S-made-look-bounds (what is needless)
 */
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { gridMin, type PatientTruth } from './course.ts';

export interface Measures {
  readonly hoursOverLimit: number;
  readonly worstMl: number;
  readonly looks: number;
  readonly catheterisations: number;
  /** Drained although the content was under the limit by more than a fifth. S-made-look-bounds */
  readonly needless: number;
  /** Looks from 23 to 6. */
  readonly woken: number;
}

export const measureNames = [
  'hoursOverLimit',
  'worstMl',
  'looks',
  'catheterisations',
  'needless',
  'woken',
] as const satisfies readonly (keyof Measures)[];

const needlessUnderShare = 0.8;

/** @param untilMs content counts up to here, as when a catheter stays in from then on; default: the whole course */
export function measuresOf(truth: PatientTruth, untilMs = Infinity): Measures {
  const drained = truth.outflows.filter((one) => one.kind === 'drained');
  const counted = truth.contentMl.filter(
    (_, step) => step === 0 || truth.opensAtMs + step * gridMin * minuteMs < untilMs,
  );
  const steps = Math.min(counted.length, truth.contentMl.length - 1);
  return {
    hoursOverLimit: (counted.slice(0, steps).filter((ml) => ml > truth.limitMl).length * gridMin) / 60,
    worstMl: counted.reduce((most, ml) => Math.max(most, ml), 0),
    looks: truth.readings.length,
    catheterisations: drained.length,
    needless: drained.filter((one) => one.volumeMl + one.leftMl < needlessUnderShare * truth.limitMl).length,
    woken: truth.readings.filter((one) => {
      const hour = (one.atMs / hourMs) % 24;
      return hour >= 23 || hour < 6;
    }).length,
  };
}
