/**
 * Means over patients with intervals by resampling patients.
 *
 * Units     as `Measures`
 * Method    percentile bootstrap, 1,000 resamples of patients (S-efron-bootstrap)
 * Domain    at least 2 patients
 */
import { seededRandom } from '@ebbline/core/quantity';
import { percentileInterval, usualResamples, type MeanInterval } from '@ebbline/core/statistics';
import { measureNames, type Measures } from '@ebbline/simulate';
import type { PatientResult } from './measure.ts';
import type { Strategy } from './strategies.ts';

export const resamples = usualResamples;
export type Interval = MeanInterval;

export interface StrategySummary {
  readonly name: string;
  readonly says: string;
  readonly family: string;
  readonly tolerancePercent?: number;
  readonly measures: Readonly<Record<keyof Measures, Interval>>;
}

export interface Summary {
  readonly patients: number;
  readonly strategies: readonly StrategySummary[];
}

type Point = readonly [x: number, y: number];

/** The height of the broken line through these points at x; undefined beyond its ends. */
export function heightAt(points: readonly Point[], x: number): number | undefined {
  const sorted = [...points].sort((a, b) => a[0] - b[0]);
  for (let right = 1; right < sorted.length; right += 1) {
    const [a, b] = [sorted[right - 1] as Point, sorted[right] as Point];
    if (x < a[0] || x > b[0]) continue;
    return b[0] === a[0] ? (a[1] + b[1]) / 2 : a[1] + ((x - a[0]) / (b[0] - a[0])) * (b[1] - a[1]);
  }
  return undefined;
}

const mean = (values: readonly number[]): number => values.reduce((sum, one) => sum + one, 0) / values.length;

/** Means of every measure of every strategy over these patients: [strategy][measure]. */
function meansOver(
  results: readonly PatientResult[],
  picked: readonly number[],
  strategies: number,
): number[][] {
  const sums = Array.from({ length: strategies }, () => measureNames.map(() => 0));
  for (const index of picked) {
    for (const [strategy, measures] of (results[index] as PatientResult).measures.entries()) {
      const into = sums[strategy] as number[];
      for (const [place, name] of measureNames.entries()) into[place] = (into[place] ?? 0) + measures[name];
    }
  }
  return sums.map((row) => row.map((sum) => sum / picked.length));
}

export function summarise(
  results: readonly PatientResult[],
  strategies: readonly Strategy[],
  seed: number,
): Summary {
  const inOrder = [...results].sort((a, b) => a.index - b.index);
  const random = seededRandom(seed);
  const everyone = inOrder.map((_, index) => index);
  const drawn = Array.from({ length: resamples }, () =>
    meansOver(
      inOrder,
      everyone.map(() => random.below(inOrder.length)),
      strategies.length,
    ),
  );
  return {
    patients: inOrder.length,
    strategies: strategies.map((one, index) => ({
      name: one.name,
      says: one.says,
      family: one.family,
      ...(one.tolerancePercent === undefined ? {} : { tolerancePercent: one.tolerancePercent }),
      measures: Object.fromEntries(
        measureNames.map((name, place) => [
          name,
          percentileInterval(
            mean(inOrder.map((result) => result.measures[index]?.[name] ?? Number.NaN)),
            drawn.map((means) => means[index]?.[place] ?? Number.NaN),
          ),
        ]),
      ) as unknown as Record<keyof Measures, Interval>,
    })),
  };
}
