/**
 * What a way of deciding did to one made-up patient, from the truth.
 *
 * Units     h, mL, counts
 */
import type { UnitFactors } from '@ebbline/core/filling';
import { hourMs, orThrow } from '@ebbline/core/quantity';
import {
  gridMin,
  otherPatient,
  placeOf,
  watchedPatient,
  type PatientGenerator,
  type PatientTruth,
} from '@ebbline/simulate';
import { staffOf, strategyOf } from './strategies.ts';

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

export function measuresOf(truth: PatientTruth): Measures {
  const drained = truth.outflows.filter((one) => one.kind === 'drained');
  return {
    hoursOverLimit: (truth.contentMl.slice(0, -1).filter((ml) => ml > truth.limitMl).length * gridMin) / 60,
    worstMl: truth.contentMl.reduce((most, ml) => Math.max(most, ml), 0),
    looks: truth.readings.length,
    catheterisations: drained.length,
    needless: drained.filter((one) => one.volumeMl + one.leftMl < needlessUnderShare * truth.limitMl).length,
    woken: truth.readings.filter((one) => {
      const hour = (one.atMs / hourMs) % 24;
      return hour >= 23 || hour < 6;
    }).length,
  };
}

export const generators: Readonly<Record<string, PatientGenerator>> = {
  own: watchedPatient,
  other: otherPatient,
};

/** All that decides the outcome: the same job gives the same figures. */
export interface Job {
  readonly generator: string;
  readonly seed: number;
  readonly hours: number;
  readonly strategies: readonly string[];
  /** A unit's own figures, for ours. */
  readonly factors?: UnitFactors;
}

export interface PatientResult {
  readonly index: number;
  readonly patient: string;
  /** In the order of the job's strategies. */
  readonly measures: readonly Measures[];
}

/** The made-up wards begin on one made-up morning, so that nights fall alike in every run. */
export const beginsMs = Date.UTC(2026, 4, 12, 6);

/** One patient under every strategy: the same body and the same chance for each. */
export function resultOf(job: Job, index: number): PatientResult {
  const generate = generators[job.generator] ?? watchedPatient;
  const place = placeOf(job.seed, index, beginsMs);
  return {
    index,
    patient: place.patient,
    measures: job.strategies.map((name) =>
      measuresOf(
        generate({
          seed: job.seed,
          ...place,
          hours: job.hours,
          staff: staffOf(orThrow(strategyOf(name, job.factors))),
          looksChartedAtOnce: true,
        }).truth,
      ),
    ),
  };
}
