/**
 * Ours against the simple rules at equal numbers of looks, and at equal hours over the limit: every rule along its own
 * curve (its interval, its mL/kg/h, its share of the limit; our tolerances), and at each point the best of the simple ones.
 *
 * Units     h and looks for each patient; gains in percent of the best simple rule's figure
 * Method    figures between two settings of a rule are by straight lines. Percentile bootstrap, 1,000 resamples of
 *           patients, the same for every rule; the best simple rule is chosen anew in each (S-efron-bootstrap)
 * Domain    no figure where ours or every simple rule does not reach; none where a twentieth of the resamples do not
 */
import { seededRandom } from '@ebbline/core/quantity';
import type { PatientResult } from './measure.ts';
import type { Strategy } from './strategies.ts';
import { percentileInterval } from '@ebbline/core/statistics';
import { heightAt, resamples, type Interval } from './summary.ts';

export interface CurveComparison {
  /** The family of ours, such as `ours`. */
  readonly ours: string;
  readonly looks: number;
  /** The family with the fewest hours over the limit at so many looks. */
  readonly best: string;
  readonly bestHours: number;
  readonly oursHours: number;
  /** How many fewer hours, percent of the best rule's. */
  readonly fewerHours: Interval;
  /** At the best rule's hours: our looks, and how many fewer than the fewest of any simple rule. */
  readonly atEqualHours?: {
    readonly oursLooks: number;
    readonly bestLooks: number;
    readonly fewerLooks: Interval;
  };
}

type Point = readonly [looks: number, hours: number];
type Curves = ReadonlyMap<string, readonly Point[]>;

/** Numbers of looks at which the curves are read, for each patient in a day. */
const marksForADay = [5, 6, 7, 8, 10, 12];

export const familiesOf = (strategies: readonly Strategy[], ours: boolean): readonly string[] => [
  ...new Set(
    strategies.filter((one) => (one.tolerancePercent !== undefined) === ours).map((one) => one.family),
  ),
];

/** The lowest of several curves at x, and whose it is. */
function lowest(
  curves: Curves,
  families: readonly string[],
  x: number,
  turned: boolean,
): { readonly family: string; readonly height: number } | undefined {
  let found: { family: string; height: number } | undefined;
  for (const family of families) {
    const points = curves.get(family) ?? [];
    const height = heightAt(turned ? points.map(([looks, hours]) => [hours, looks]) : points, x);
    if (height !== undefined && (found === undefined || height < found.height)) found = { family, height };
  }
  return found;
}

function curvesOver(
  results: readonly PatientResult[],
  strategies: readonly Strategy[],
  picked: readonly number[],
): Curves {
  const curves = new Map<string, Point[]>();
  for (const [place, { family }] of strategies.entries()) {
    let looks = 0;
    let hours = 0;
    for (const index of picked) {
      const measures = (results[index] as PatientResult).measures[place];
      looks += measures?.looks ?? Number.NaN;
      hours += measures?.hoursOverLimit ?? Number.NaN;
    }
    const points = curves.get(family) ?? [];
    points.push([looks / picked.length, hours / picked.length]);
    curves.set(family, points);
  }
  return curves;
}

/** Percent; undefined where the best rule has nothing left to gain on. */
const fewer = (ours: number, best: number): number | undefined =>
  best > 0 ? 100 * (1 - ours / best) : undefined;

export function compareCurves(
  results: readonly PatientResult[],
  strategies: readonly Strategy[],
  job: { readonly seed: number; readonly hours: number },
): readonly CurveComparison[] {
  const inOrder = [...results].sort((a, b) => a.index - b.index);
  const everyone = inOrder.map((_, index) => index);
  const simple = familiesOf(strategies, false);
  const random = seededRandom(job.seed);
  const whole = curvesOver(inOrder, strategies, everyone);
  const drawn = Array.from({ length: resamples }, () =>
    curvesOver(
      inOrder,
      strategies,
      everyone.map(() => random.below(inOrder.length)),
    ),
  );
  /** Of the whole and of each resample; undefined when too many of them do not reach. */
  const gains = (gain: (curves: Curves) => number | undefined): Interval | undefined => {
    const middle = gain(whole);
    const all = drawn.map(gain).filter((one) => one !== undefined);
    return middle === undefined || all.length < 0.95 * resamples
      ? undefined
      : percentileInterval(middle, all);
  };
  return familiesOf(strategies, true).flatMap((family) =>
    marksForADay.flatMap((mark) => {
      const looks = (mark * job.hours) / 24;
      const best = lowest(whole, simple, looks, false);
      const own = lowest(whole, [family], looks, false);
      if (best === undefined || own === undefined) return [];
      const fewerHours = gains((curves) => {
        const [rule, ours] = [lowest(curves, simple, looks, false), lowest(curves, [family], looks, false)];
        return rule === undefined || ours === undefined ? undefined : fewer(ours.height, rule.height);
      });
      if (fewerHours === undefined) return [];
      const bestLooks = lowest(whole, simple, best.height, true);
      const oursLooks = lowest(whole, [family], best.height, true);
      const fewerLooks = gains((curves) => {
        const hours = lowest(curves, simple, looks, false)?.height;
        if (hours === undefined) return undefined;
        const [rule, ours] = [lowest(curves, simple, hours, true), lowest(curves, [family], hours, true)];
        return rule === undefined || ours === undefined ? undefined : fewer(ours.height, rule.height);
      });
      return [
        {
          ours: family,
          looks,
          best: best.family,
          bestHours: best.height,
          oursHours: own.height,
          fewerHours,
          ...(bestLooks === undefined || oursLooks === undefined || fewerLooks === undefined
            ? {}
            : {
                atEqualHours: {
                  oursLooks: oursLooks.height,
                  bestLooks: bestLooks.height,
                  fewerLooks,
                },
              }),
        },
      ];
    }),
  );
}
