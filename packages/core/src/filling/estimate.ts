/**
 * What the bladder holds at an instant, how fast it fills, and when it reaches this patient's limit if nothing
 * leaves it from then on.
 *
 * Units     mL, mL/h, ms since the epoch
 * Domain    limit 50 to 5000 mL; horizon up to 48 h. Observations after the instant are not looked at; which
 *           entries were known by then is the caller's to say.
 * Not for   irrigation, a bladder made of bowel, a urostomy: says `valid: false`, never a number to act on
 * Errors    see ADR 0004 and bench figures in README.md
 */
import { controlIsOn, isRefusal, minuteMs, refuse, type Refusal } from '../quantity/index.ts';
import { crossingOf, type Crossing } from './crossing.ts';
import {
  fillOn,
  pass,
  startFollowing,
  stories,
  type CatheterState,
  type Followed,
  type FollowSettings,
} from './follow.ts';
import { contentAbove, contentQuantile, rateQuantile, type WeightedState } from './mixture.ts';
import { checkObservations, type FillingObservation } from './observation.ts';
import { follow, observe } from './observe.ts';
import type { FillingPrior } from './prior.ts';

export interface FillingEstimate {
  readonly atMs: number;
  readonly content: {
    readonly p05Ml: number;
    readonly p25Ml: number;
    readonly p50Ml: number;
    readonly p75Ml: number;
    readonly p95Ml: number;
  };
  readonly rateMlPerH: { readonly p05: number; readonly p50: number; readonly p95: number };
  readonly overLimitProbability: number;
  /** Whether a catheter is taken to drain it, or to be in and blocked. */
  readonly catheter: CatheterState;
  readonly crossing: Crossing;
  /** Readings, drained volumes, measured voids and catheter changes behind it. Below two, say how wide it is. */
  readonly informativeEntries: number;
  readonly validity: { readonly valid: true } | { readonly valid: false; readonly reason: string };
}

export interface EstimateQuestion {
  readonly observations: readonly FillingObservation[];
  readonly prior: FillingPrior;
  readonly atMs: number;
  readonly limitMl: number;
  /** How far ahead a crossing is looked for, minutes. */
  readonly horizonMin: number;
  /** `none` for warnings: counts on no void that nobody charted, and on no good emptying. Default `likely`. */
  readonly unseenVoids?: 'likely' | 'none';
}

const checkQuestion = (question: {
  limitMl: number;
  horizonMin: number;
  atMs: number;
}): Refusal | undefined => {
  if (!Number.isFinite(question.atMs)) {
    return refuse('filling/no-time', {
      asked: 'Estimate',
      found: 'no time',
      allowed: 'an instant',
      todo: 'Say for when.',
    });
  }
  if (!(question.limitMl >= 50 && question.limitMl <= 5000)) {
    return refuse('filling/limit-out-of-range', {
      asked: 'Limit',
      found: `${question.limitMl} mL`,
      allowed: '50 to 5000 mL',
      todo: "Set this patient's limit.",
    });
  }
  if (!(question.horizonMin > 0 && question.horizonMin <= 2880)) {
    return refuse('filling/horizon-out-of-range', {
      asked: 'Horizon',
      found: `${question.horizonMin} min`,
      allowed: 'above 0 and up to 2880 min',
      todo: 'Ask for at most two days.',
    });
  }
  return undefined;
};

function describe(
  now: Followed,
  parts: readonly WeightedState[],
  question: { limitMl: number; horizonMin: number; prior: FillingPrior },
): FillingEstimate {
  const [p05Ml, p25Ml, p50Ml, p75Ml, p95Ml] = [0.05, 0.25, 0.5, 0.75, 0.95].map((share) =>
    contentQuantile(parts, share),
  ) as [number, number, number, number, number];
  const [p05, p50, p95] = [0.05, 0.5, 0.95].map((share) => rateQuantile(parts, share)) as [
    number,
    number,
    number,
  ];
  return {
    atMs: now.atMs,
    content: { p05Ml, p25Ml, p50Ml, p75Ml, p95Ml },
    rateMlPerH: { p05, p50, p95 },
    overLimitProbability: contentAbove(parts, question.limitMl),
    catheter: now.catheter,
    crossing: crossingOf(now, parts, question.prior, question.limitMl, question.horizonMin),
    informativeEntries: now.informativeEntries,
    validity:
      now.notValid === undefined || !controlIsOn('estimate-not-valid')
        ? { valid: true }
        : { valid: false, reason: now.notValid },
  };
}

const settingsOf = (question: { prior: FillingPrior; unseenVoids?: 'likely' | 'none' }): FollowSettings => ({
  prior: question.prior,
  ...(question.unseenVoids === undefined ? {} : { unseenVoids: question.unseenVoids }),
});

/** The estimate at an instant, or why there is none. */
export function estimateAt(question: EstimateQuestion): FillingEstimate | Refusal {
  const bad = checkQuestion(question);
  if (bad) return bad;
  const ordered = checkObservations(question.observations);
  if (isRefusal(ordered)) return ordered;
  const settings = settingsOf(question);
  const now = pass(follow(ordered, settings, question.atMs), question.atMs, settings);
  return describe(now, stories(now, question.prior), question);
}

export interface TrackQuestion extends Omit<EstimateQuestion, 'atMs'> {
  readonly fromMs: number;
  readonly toMs: number;
  readonly everyMin: number;
  /** From here on nothing leaves: the forecast. Default: the last observation. */
  readonly nowMs?: number;
}

export interface TrackPoint extends FillingEstimate {
  readonly forecast: boolean;
}

/** Estimates at even steps: up to now what was known then, after it the forecast with nothing leaving. */
export function estimateTrack(question: TrackQuestion): readonly TrackPoint[] | Refusal {
  const bad = checkQuestion({ ...question, atMs: question.fromMs });
  if (bad) return bad;
  const steps = (question.toMs - question.fromMs) / (question.everyMin * minuteMs);
  if (!(steps >= 0 && steps <= 5000)) {
    return refuse('filling/track-out-of-range', {
      asked: 'Track',
      found: `${String(steps)} steps`,
      allowed: '0 to 5000 steps',
      todo: 'Ask for a shorter time or wider steps.',
    });
  }
  const ordered = checkObservations(question.observations);
  if (isRefusal(ordered)) return ordered;
  const settings = settingsOf(question);
  const nowMs = question.nowMs ?? Math.max(question.fromMs, ...ordered.map((one) => one.atMs));
  const points: TrackPoint[] = [];
  let next = 0;
  let now: Followed | undefined;
  for (let step = 0; step <= steps + 1e-9; step += 1) {
    const atMs = question.fromMs + step * question.everyMin * minuteMs;
    const knownMs = Math.min(atMs, nowMs);
    for (; next < ordered.length && (ordered[next] as FillingObservation).atMs <= knownMs; next += 1) {
      const one = ordered[next] as FillingObservation;
      now = observe(now ?? startFollowing(settings.prior, one.atMs), one, settings);
    }
    const known = pass(now ?? startFollowing(settings.prior, knownMs), knownMs, settings);
    const parts = fillOn(known, stories(known, question.prior), knownMs, atMs, question.prior);
    points.push({ ...describe({ ...known, atMs }, parts, question), forecast: atMs > nowMs });
  }
  return points;
}
