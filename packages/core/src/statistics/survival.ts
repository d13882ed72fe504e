/**
 * Time to an event when some have not had it yet: product-limit estimate (Kaplan and Meier) with three kinds of
 * interval, median, restricted mean, and the log-rank test.
 *
 *     S(t) = Π (1 − d/r)      Greenwood: Var(ln S) = Σ d / (r (r − d))
 *
 * Units     those of the times
 * Domain    times ≥ 0 and finite; someone censored at a time is still at risk then
 * Not for   an event that another can forestall (discharge, catheter): `cumulativeIncidence`
 * Source    S-clinical-K9, S-clinical-K10; S-greenwood; log-rank S-mantel
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { solveLinear } from './check.ts';
import { chiSquaredUpperTail, normalQuantile } from './distributions.ts';

export interface TimedOutcome {
  readonly time: number;
  readonly happened: boolean;
}

export type SurvivalIntervalKind = 'log' | 'log-log' | 'plain';

export interface SurvivalStep {
  readonly time: number;
  readonly atRisk: number;
  readonly events: number;
  readonly censored: number;
  readonly survival: number;
  /** Standard error of the survival. */
  readonly standardError: number;
  /** Standard error of ln S. */
  readonly logStandardError: number;
  readonly low: number;
  readonly high: number;
}

const badTimes = (outcomes: readonly { readonly time: number }[]): Refusal | undefined => {
  if (outcomes.length === 0)
    return refuse('statistics/too-few', {
      asked: 'Time to event',
      found: '0 people',
      allowed: 'at least 1',
      todo: 'Widen the period.',
    });
  const wrong = outcomes.find((one) => !(Number.isFinite(one.time) && one.time >= 0));
  return wrong === undefined
    ? undefined
    : refuse('statistics/not-a-time', {
        asked: 'Time to event',
        found: String(wrong.time),
        allowed: 'times from 0',
        todo: 'Correct that time.',
      });
};

function intervalOf(
  survival: number,
  logSe: number,
  kind: SurvivalIntervalKind,
  z: number,
): { low: number; high: number } {
  if (survival === 0) return kind === 'plain' ? { low: 0, high: 0 } : { low: 0, high: 0 };
  if (survival === 1) return { low: 1, high: 1 };
  if (kind === 'plain')
    return { low: Math.max(0, survival * (1 - z * logSe)), high: Math.min(1, survival * (1 + z * logSe)) };
  if (kind === 'log')
    return { low: survival * Math.exp(-z * logSe), high: Math.min(1, survival * Math.exp(z * logSe)) };
  const spread = (z * logSe) / Math.log(survival);
  return { low: survival ** Math.exp(-spread), high: survival ** Math.exp(spread) };
}

/** One step for each distinct time, in order. */
export function kaplanMeier(
  outcomes: readonly TimedOutcome[],
  kind: SurvivalIntervalKind = 'log',
  level = 0.95,
): readonly SurvivalStep[] | Refusal {
  const bad = badTimes(outcomes);
  if (bad) return bad;
  const z = normalQuantile(1 - (1 - level) / 2);
  const ordered = [...outcomes].sort((a, b) => a.time - b.time);
  const steps: SurvivalStep[] = [];
  let [survival, logVariance] = [1, 0];
  for (let start = 0; start < ordered.length;) {
    const time = (ordered[start] as TimedOutcome).time;
    let end = start;
    let events = 0;
    while (end < ordered.length && (ordered[end] as TimedOutcome).time === time) {
      if ((ordered[end] as TimedOutcome).happened) events += 1;
      end += 1;
    }
    const atRisk = ordered.length - start;
    if (events > 0) {
      survival *= 1 - events / atRisk;
      logVariance += events / (atRisk * (atRisk - events));
    }
    const logStandardError = Math.sqrt(logVariance);
    steps.push({
      time,
      atRisk,
      events,
      censored: end - start - events,
      survival,
      standardError: survival === 0 ? 0 : survival * logStandardError,
      logStandardError,
      ...intervalOf(survival, logStandardError, kind, z),
    });
    start = end;
  }
  return steps;
}

/** The curve at a time: the last step at or before it; everyone is event-free before the first. */
export function survivalAt(
  steps: readonly SurvivalStep[],
  time: number,
): Pick<SurvivalStep, 'survival' | 'standardError' | 'low' | 'high'> & { readonly atRisk: number } {
  const step = steps.findLast((one) => one.time <= time);
  const atRisk = steps.find((one) => one.time >= time)?.atRisk ?? 0;
  return step
    ? { survival: step.survival, standardError: step.standardError, low: step.low, high: step.high, atRisk }
    : { survival: 1, standardError: 0, low: 1, high: 1, atRisk };
}

export interface MedianTime {
  readonly median?: number;
  readonly low?: number;
  readonly high?: number;
}

const crossing = (steps: readonly SurvivalStep[], of: (step: SurvivalStep) => number): number | undefined => {
  const index = steps.findIndex((step) => of(step) <= 0.5 + 1e-12);
  if (index < 0) return undefined;
  const step = steps[index] as SurvivalStep;
  if (Math.abs(of(step) - 0.5) > 1e-12) return step.time;
  // Exactly one half over a flat stretch: its middle.
  const next = steps.slice(index + 1).find((one) => of(one) < 0.5 - 1e-12);
  return next ? (step.time + next.time) / 2 : step.time;
};

/** Median time, and where the interval's two curves pass one half; missing when they do not. */
export function medianTime(steps: readonly SurvivalStep[]): MedianTime {
  const [median, low, high] = [
    crossing(steps, (step) => step.survival),
    crossing(steps, (step) => step.low),
    crossing(steps, (step) => step.high),
  ];
  return {
    ...(median === undefined ? {} : { median }),
    ...(low === undefined ? {} : { low }),
    ...(high === undefined ? {} : { high }),
  };
}

/** Mean event-free time up to a horizon, with its standard error. */
export function restrictedMean(
  steps: readonly SurvivalStep[],
  horizon: number,
): { readonly mean: number; readonly standardError: number } {
  const within = steps.filter((step) => step.time <= horizon);
  const areas: number[] = [];
  let [lastTime, lastSurvival] = [0, 1];
  for (const step of within) {
    areas.push(lastSurvival * (step.time - lastTime));
    [lastTime, lastSurvival] = [step.time, step.survival];
  }
  areas.push(lastSurvival * (horizon - lastTime));
  const meanTime = areas.reduce((total, area) => total + area, 0);
  let after = meanTime;
  let spread = 0;
  for (const [index, step] of within.entries()) {
    after -= areas[index] as number;
    if (step.events > 0 && step.atRisk > step.events)
      spread += (after * after * step.events) / (step.atRisk * (step.atRisk - step.events));
  }
  return { mean: meanTime, standardError: Math.sqrt(spread) };
}

export interface LogRank {
  readonly chiSquared: number;
  readonly degrees: number;
  readonly p: number;
  readonly observed: readonly number[];
  readonly expected: readonly number[];
}

/** Log-rank test of two or more groups. */
export function logRank(groups: readonly (readonly TimedOutcome[])[]): LogRank | Refusal {
  if (groups.length < 2)
    return refuse('statistics/too-few', {
      asked: 'Comparison of groups',
      found: `${groups.length} groups`,
      allowed: 'at least 2',
      todo: 'Choose a second group.',
    });
  for (const group of groups) {
    const bad = badTimes(group);
    if (bad) return bad;
  }
  const times = [
    ...new Set(groups.flatMap((group) => group.filter((one) => one.happened).map((one) => one.time))),
  ].sort((a, b) => a - b);
  const sorted = groups.map((group) => group.map((one) => one.time).sort((a, b) => a - b));
  const observed = groups.map((group) => group.filter((one) => one.happened).length);
  const expected = groups.map(() => 0);
  const size = groups.length - 1;
  const spread = Array.from({ length: size }, () => Array.from({ length: size }, () => 0));
  for (const time of times) {
    const atRisk = sorted.map((all) => all.length - lowerBound(all, time));
    const events = groups.map((group) =>
      group.reduce((count, one) => count + (one.happened && one.time === time ? 1 : 0), 0),
    );
    const [r, d] = [atRisk.reduce((a, b) => a + b, 0), events.reduce((a, b) => a + b, 0)];
    for (let i = 0; i < groups.length; i += 1)
      expected[i] = (expected[i] as number) + (d * (atRisk[i] as number)) / r;
    if (r < 2) continue;
    const factor = (d * (r - d)) / (r - 1);
    for (let i = 0; i < size; i += 1) {
      for (let j = 0; j < size; j += 1) {
        const share = (atRisk[i] as number) / r;
        (spread[i] as number[])[j] =
          ((spread[i] as number[])[j] as number) +
          factor * share * ((i === j ? 1 : 0) - (atRisk[j] as number) / r);
      }
    }
  }
  const apart = observed.slice(0, size).map((count, index) => count - (expected[index] as number));
  const solved = solveLinear(spread, apart);
  if (!solved)
    return refuse('statistics/too-few', {
      asked: 'Comparison of groups',
      found: 'no events to compare',
      allowed: 'events in the period',
      todo: 'Widen the period.',
    });
  const chiSquared = apart.reduce((total, value, index) => total + value * (solved[index] as number), 0);
  return { chiSquared, degrees: size, p: chiSquaredUpperTail(chiSquared, size), observed, expected };
}

/** How many of a sorted list lie below a value. */
function lowerBound(sorted: readonly number[], value: number): number {
  let [low, high] = [0, sorted.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((sorted[middle] as number) < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
