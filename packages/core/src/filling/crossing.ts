/**
 * When the content passes a limit if nothing leaves it from now on.
 *
 * Units     mL, mL/h, ms, minutes
 * Errors    inflow is even within a step: 15 min at first, an hour after half a day
 * Source    arithmetic t = (limit − volume)/rate: S-clinical-O1
 */
import { hourMs, minuteMs, refuse, type Refusal } from '../quantity/index.ts';
import { copyOf, fillOnly, personCount } from './cloud.ts';
import type { Person } from './person.ts';
import { inOrder, pointsOf, slices } from './weighted.ts';

export interface Crossing {
  /** 5 in 100 that it is passed by then. Missing when that is beyond the horizon. */
  readonly earliestAtMs?: number;
  /** As likely as not by then. */
  readonly likelyAtMs?: number;
  /** 95 in 100 by then. */
  readonly latestAtMs?: number;
  /** More likely than not over the limit now. */
  readonly alreadyOver: boolean;
}

/** Length of a forecast step that begins so long after now. */
const stepAfter = (elapsedMs: number): number =>
  (elapsedMs < 4 * hourMs ? 15 : elapsedMs < 12 * hourMs ? 30 : 60) * minuteMs;

/**
 * When each of the weighted points passes the limit with nothing leaving; +Infinity beyond the horizon, and for those
 * still under it once the share that is asked for has passed.
 */
export interface CrossingTimes {
  readonly values: Float64Array;
  readonly weight: Float64Array;
}

export function crossingTimesMs(
  person: Person,
  limitMl: number,
  horizonMin: number,
  untilShare: number,
): CrossingTimes {
  const cloud = copyOf(person.cloud);
  const fromMs = person.atMs();
  const endMs = fromMs + horizonMin * minuteMs;
  const start = pointsOf(cloud.contentMl, cloud.contentVariance, cloud.weight);
  const values = new Float64Array(start.values.length).fill(Infinity);
  let passed = 0;
  for (let place = 0; place < values.length; place += 1) {
    if ((start.values[place] as number) < limitMl) continue;
    values[place] = fromMs;
    passed += start.weight[place] as number;
  }
  const startMl = cloud.contentMl.slice();
  const before = new Float64Array(personCount);
  let atMs = fromMs;
  for (let step = 0; passed < untilShare && atMs < endMs; step += 1) {
    const toMs = Math.min(endMs, atMs + stepAfter(atMs - fromMs));
    before.set(cloud.contentMl);
    fillOnly(cloud, atMs, toMs, step, person.around(), person.settings);
    for (let one = 0; one < personCount; one += 1) {
      const wasIn = (before[one] as number) - (startMl[one] as number);
      const nowIn = (cloud.contentMl[one] as number) - (startMl[one] as number);
      for (let place = slices.length * one; place < slices.length * (one + 1); place += 1) {
        const missingMl = limitMl - (start.values[place] as number);
        if (values[place] !== Infinity || nowIn < missingMl) continue;
        values[place] = atMs + ((missingMl - wasIn) / (nowIn - wasIn)) * (toMs - atMs);
        passed += start.weight[place] as number;
      }
    }
    atMs = toMs;
  }
  return { values, weight: start.weight };
}

/** Earliest, likely and latest crossing from where a person stands. */
export function crossingOf(person: Person, limitMl: number, horizonMin: number, overNow: number): Crossing {
  const alreadyOver = overNow > 0.5;
  if (person.catheter() === 'in') return { alreadyOver };
  const times = crossingTimesMs(person, limitMl, horizonMin, 0.951);
  const order = inOrder(times.values, times.weight);
  const [earliestAtMs, likelyAtMs, latestAtMs] = [0.05, 0.5, 0.95].map(order.quantile);
  return {
    ...(earliestAtMs === undefined ? {} : { earliestAtMs }),
    ...(likelyAtMs === undefined ? {} : { likelyAtMs }),
    ...(latestAtMs === undefined ? {} : { latestAtMs }),
    alreadyOver,
  };
}

/**
 * The crossing by plain arithmetic, for a stated range of filling rates.
 *
 * @example  240 mL, limit 600 mL, 100 to 200 mL/h: 108 to 216 minutes later
 */
export function plainCrossing(question: {
  readonly volumeMl: number;
  readonly atMs: number;
  readonly limitMl: number;
  readonly lowMlPerH: number;
  readonly highMlPerH: number;
}): { readonly earliestAtMs: number; readonly latestAtMs: number; readonly alreadyOver: boolean } | Refusal {
  const { volumeMl, atMs, limitMl, lowMlPerH, highMlPerH } = question;
  if (!(lowMlPerH > 0 && highMlPerH >= lowMlPerH && highMlPerH <= 2000)) {
    return refuse('filling/rate-out-of-range', {
      asked: 'Filling rate',
      found: `${lowMlPerH} to ${highMlPerH} mL/h`,
      allowed: 'above 0 and up to 2000 mL/h, the lower first',
      todo: 'Give a range such as 100-200.',
    });
  }
  const bad = [volumeMl, limitMl].find((one) => !(Number.isFinite(one) && one >= 0));
  if (bad !== undefined || !Number.isFinite(atMs)) {
    return refuse('filling/not-a-volume', {
      asked: 'Crossing',
      found: `${String(bad ?? atMs)}`,
      allowed: 'volumes from 0 mL and a time',
      todo: 'Check the volume and the limit.',
    });
  }
  const missingMl = Math.max(0, limitMl - volumeMl);
  return {
    earliestAtMs: atMs + (missingMl / highMlPerH) * hourMs,
    latestAtMs: atMs + (missingMl / lowMlPerH) * hourMs,
    alreadyOver: volumeMl > limitMl,
  };
}
