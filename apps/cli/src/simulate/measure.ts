/**
 * One made-up patient under each of several ways of deciding: the same body and the same chance.
 *
 * Units     as `Measures`
 */
import type { UnitFactors } from '@ebbline/core/filling';
import { orThrow } from '@ebbline/core/quantity';
import {
  measuresOf,
  otherPatient,
  placeOf,
  watchedPatient,
  type Measures,
  type PatientGenerator,
} from '@ebbline/simulate';
import { staffOf, strategyOf } from './strategies.ts';

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
