/**
 * When the content passes a limit if nothing leaves it from now on.
 *
 * Units     mL, mL/h, ms, minutes
 * Errors    the crossing is bracketed on twenty-minute steps, then bisected to a second
 * Source    arithmetic t = (limit − volume)/rate: S-clinical-O1
 */
import { hourMs, minuteMs, refuse, type Refusal } from '../quantity/index.ts';
import { fillOn, type Followed } from './follow.ts';
import { contentAbove, type WeightedState } from './mixture.ts';
import type { FillingPrior } from './prior.ts';
import { isAboveWith } from './tail-decision.ts';

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

/** Earliest, likely and latest crossing from where the follower stands. */
export function crossingOf(
  now: Followed,
  parts: readonly WeightedState[],
  prior: FillingPrior,
  limitMl: number,
  horizonMin: number,
): Crossing {
  const overNow = contentAbove(parts, limitMl);
  const alreadyOver = overNow > 0.5;
  if (now.catheter === 'in') return { alreadyOver };
  const wanted = [0.05, 0.5, 0.95];
  const found: (number | undefined)[] = wanted.map((share) => (overNow >= share ? now.atMs : undefined));
  const endMs = now.atMs + horizonMin * minuteMs;
  let start = parts;
  let startMs = now.atMs;
  while (startMs < endMs && found.includes(undefined)) {
    const endOfStepMs = Math.min(endMs, startMs + 20 * minuteMs);
    const end = fillOn(now, start, startMs, endOfStepMs, prior);
    for (const [index, share] of wanted.entries()) {
      if (found[index] !== undefined || !isAboveWith(end, limitMl, share)) continue;
      let low = startMs;
      let high = endOfStepMs;
      while (high - low > 1000) {
        const middle = Math.floor((low + high) / 2);
        if (isAboveWith(fillOn(now, start, startMs, middle, prior), limitMl, share)) high = middle;
        else low = middle;
      }
      found[index] = high;
    }
    start = end;
    startMs = endOfStepMs;
  }
  const [earliestAtMs, likelyAtMs, latestAtMs] = found;
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
