/**
 * Means over patients with intervals by resampling patients, and ours against each simple rule at equal looks and at
 * equal hours over the limit.
 *
 * Units     as `Measures`
 * Method    percentile bootstrap, 1,000 resamples of patients; the same resamples for every strategy, so that
 *           differences are of the same patients (S-efron-bootstrap). Along our tolerances, figures in between are by straight lines.
 * Domain    at least 2 patients; outside the span of our tolerances there is no figure
 */
import { seededRandom } from '@ebbline/core/quantity';
import { measureNames, type Measures, type PatientResult } from './measure.ts';
import type { Strategy } from './strategies.ts';

const resamples = 1000;

export interface Interval {
  readonly mean: number;
  readonly low: number;
  readonly high: number;
}

export interface StrategySummary {
  readonly name: string;
  readonly says: string;
  readonly tolerancePercent?: number;
  readonly measures: Readonly<Record<keyof Measures, Interval>>;
}

/** Ours against one simple rule; missing where our tolerances do not reach as far. */
export interface Comparison {
  readonly rule: string;
  readonly looks: number;
  readonly hoursOverLimit: number;
  readonly atEqualLooks?: { readonly oursHours: number; readonly difference: Interval };
  readonly atEqualHours?: { readonly oursLooks: number; readonly difference: Interval };
}

export interface Summary {
  readonly patients: number;
  readonly strategies: readonly StrategySummary[];
  readonly comparisons: readonly Comparison[];
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

function interval(middle: number, drawn: readonly number[]): Interval {
  const sorted = [...drawn].sort((a, b) => a - b);
  const at = (share: number): number => {
    const place = share * (sorted.length - 1);
    const low = sorted[Math.floor(place)] ?? middle;
    return low + (place - Math.floor(place)) * ((sorted[Math.ceil(place)] ?? middle) - low);
  };
  return { mean: middle, low: at(0.025), high: at(0.975) };
}

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

const hoursPlace = measureNames.indexOf('hoursOverLimit');
const looksPlace = measureNames.indexOf('looks');

export function summarise(
  results: readonly PatientResult[],
  strategies: readonly Strategy[],
  seed: number,
): Summary {
  const inOrder = [...results].sort((a, b) => a.index - b.index);
  const random = seededRandom(seed);
  const everyone = inOrder.map((_, index) => index);
  const whole = meansOver(inOrder, everyone, strategies.length);
  const drawn = Array.from({ length: resamples }, () =>
    meansOver(
      inOrder,
      everyone.map(() => random.below(inOrder.length)),
      strategies.length,
    ),
  );
  const curve = strategies.flatMap((one, index) => (one.tolerancePercent === undefined ? [] : [index]));
  const points = (means: readonly (readonly number[])[], x: number, y: number): Point[] =>
    curve.map((index) => [means[index]?.[x] ?? Number.NaN, means[index]?.[y] ?? Number.NaN]);
  const against = (
    rule: number,
    x: number,
    y: number,
  ): { ours: number; difference: Interval } | undefined => {
    const gap = (means: readonly (readonly number[])[]): number | undefined => {
      const height = heightAt(points(means, x, y), means[rule]?.[x] ?? Number.NaN);
      return height === undefined ? undefined : height - (means[rule]?.[y] ?? Number.NaN);
    };
    const middle = gap(whole);
    const gaps = drawn.map(gap).filter((one) => one !== undefined);
    // At the end of our curve too many resamples would fall off it to tell an interval.
    if (middle === undefined || gaps.length < 0.95 * resamples) return undefined;
    return { ours: middle + (whole[rule]?.[y] ?? Number.NaN), difference: interval(middle, gaps) };
  };
  return {
    patients: inOrder.length,
    strategies: strategies.map((one, index) => ({
      name: one.name,
      says: one.says,
      ...(one.tolerancePercent === undefined ? {} : { tolerancePercent: one.tolerancePercent }),
      measures: Object.fromEntries(
        measureNames.map((name, place) => [
          name,
          interval(
            mean(inOrder.map((result) => result.measures[index]?.[name] ?? Number.NaN)),
            drawn.map((means) => means[index]?.[place] ?? Number.NaN),
          ),
        ]),
      ) as unknown as Record<keyof Measures, Interval>,
    })),
    comparisons:
      curve.length < 2
        ? []
        : strategies.flatMap((one, index) => {
            if (one.tolerancePercent !== undefined) return [];
            const equalLooks = against(index, looksPlace, hoursPlace);
            const equalHours = against(index, hoursPlace, looksPlace);
            return [
              {
                rule: one.name,
                looks: whole[index]?.[looksPlace] ?? Number.NaN,
                hoursOverLimit: whole[index]?.[hoursPlace] ?? Number.NaN,
                ...(equalLooks === undefined
                  ? {}
                  : { atEqualLooks: { oursHours: equalLooks.ours, difference: equalLooks.difference } }),
                ...(equalHours === undefined
                  ? {}
                  : { atEqualHours: { oursLooks: equalHours.ours, difference: equalHours.difference } }),
              },
            ];
          }),
  };
}

/** The simple rule that ours gains least on (or loses most to) at equal looks: the one to be compared with. */
export function hardestRule(comparisons: readonly Comparison[]): Comparison | undefined {
  return comparisons
    .filter((one) => one.atEqualLooks !== undefined)
    .toSorted((a, b) => (b.atEqualLooks?.difference.mean ?? 0) - (a.atEqualLooks?.difference.mean ?? 0))[0];
}
