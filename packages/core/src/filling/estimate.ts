/**
 * What the bladder holds at an instant, how fast it fills, and when it reaches this patient's limit if nothing
 * leaves it from then on.
 *
 * Units     mL, mL/h, ms since the epoch
 * Domain    limit 50 to 5000 mL; horizon up to 48 h. Observations after the instant are not looked at; which
 *           entries were known by then is the caller's to say.
 * Not for   irrigation, a bladder made of bowel, a urostomy: says `valid: false`, never a number to act on
 * Errors    see ADR 0013
 */
import { controlIsOn, isRefusal, minuteMs, refuse, type Refusal } from '../quantity/index.ts';
import { crossingOf, crossingTimesMs, type Crossing } from './crossing.ts';
import { copyOf, fillOnly, inflowFactor, type Cloud } from './cloud.ts';
import { checkObservations, type FillingObservation } from './observation.ts';
import { followPerson, openPerson, wholeMinute, type CatheterState, type Person } from './person.ts';
import type { FillingPrior } from './prior.ts';
import { inOrder, pointsOf, weightAbove } from './weighted.ts';

/** What is in at an instant. */
export interface ContentAt {
  readonly atMs: number;
  readonly content: {
    readonly p05Ml: number;
    readonly p25Ml: number;
    readonly p50Ml: number;
    readonly p75Ml: number;
    readonly p95Ml: number;
  };
  readonly overLimitProbability: number;
  /** Readings, drained volumes, measured voids and catheter changes behind it. Below two, say how wide it is. */
  readonly informativeEntries: number;
  readonly validity: { readonly valid: true } | { readonly valid: false; readonly reason: string };
}

export interface FillingEstimate extends ContentAt {
  readonly rateMlPerH: { readonly p05: number; readonly p50: number; readonly p95: number };
  /** Whether a catheter is taken to drain it, or to be in and blocked. */
  readonly catheter: CatheterState;
  readonly crossing: Crossing;
}

export interface EstimateQuestion {
  readonly observations: readonly FillingObservation[];
  readonly prior: FillingPrior;
  readonly atMs: number;
  readonly limitMl: number;
  /** How far ahead a crossing is looked for, minutes. */
  readonly horizonMin: number;
  /** How far the clock on the wall is ahead of UTC, ms: nights differ. Default 0. */
  readonly clockAheadMs?: number;
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

/** What a cloud holds at an instant, and how likely that is over the limit. */
function contentOf(person: Person, cloud: Cloud, atMs: number, limitMl: number): ContentAt {
  const points = pointsOf(cloud.contentMl, cloud.contentVariance, cloud.weight);
  const content = inOrder(points.values, points.weight);
  const at = (share: number): number => content.quantile(share) ?? 0;
  const notValid = person.notValid();
  return {
    atMs,
    content: { p05Ml: at(0.05), p25Ml: at(0.25), p50Ml: at(0.5), p75Ml: at(0.75), p95Ml: at(0.95) },
    overLimitProbability: weightAbove(points.values, points.weight, limitMl),
    informativeEntries: person.informativeEntries(),
    validity:
      notValid === undefined || !controlIsOn('estimate-not-valid')
        ? { valid: true }
        : { valid: false, reason: notValid },
  };
}

function describe(
  person: Person,
  question: { limitMl: number; horizonMin: number; prior: FillingPrior },
): FillingEstimate {
  const { cloud } = person;
  const usual = person.expectedInflowMlPerH();
  const inflow = inOrder(
    cloud.wanders.map((_, one) => usual * inflowFactor(cloud, one)),
    cloud.weight,
  );
  const inflowAt = (share: number): number => inflow.quantile(share) ?? 0;
  const held = contentOf(person, cloud, person.atMs(), question.limitMl);
  return {
    ...held,
    rateMlPerH: { p05: inflowAt(0.05), p50: inflowAt(0.5), p95: inflowAt(0.95) },
    catheter: person.catheter(),
    crossing: crossingOf(person, question.limitMl, question.horizonMin, held.overLimitProbability),
  };
}

/** The estimate at an instant, or why there is none. */
export function estimateAt(question: EstimateQuestion): FillingEstimate | Refusal {
  const bad = checkQuestion(question);
  if (bad) return bad;
  const ordered = checkObservations(question.observations);
  if (isRefusal(ordered)) return ordered;
  const { atMs } = question;
  return describe(followPerson(ordered, personQuestion(question, atMs), atMs), question);
}

const personQuestion = (
  question: Pick<EstimateQuestion, 'prior' | 'limitMl' | 'clockAheadMs'>,
  nowMs: number,
): { prior: FillingPrior; limitMl: number; nowMs: number; clockAheadMs: number } => ({
  prior: question.prior,
  limitMl: question.limitMl,
  nowMs,
  clockAheadMs: question.clockAheadMs ?? 0,
});

/**
 * The first instant at which the chance of being over the limit reaches a share, if nothing leaves from `atMs` on.
 * Undefined when it isn't reached within the horizon, or while a catheter drains.
 */
export function limitLikelyAtMs(
  question: EstimateQuestion & { readonly share: number },
): number | Refusal | undefined {
  const bad = checkQuestion(question);
  if (bad) return bad;
  const ordered = checkObservations(question.observations);
  if (isRefusal(ordered)) return ordered;
  const { atMs } = question;
  const person = followPerson(ordered, personQuestion(question, atMs), atMs);
  if (person.catheter() === 'in') return undefined;
  const times = crossingTimesMs(person, question.limitMl, question.horizonMin, question.share + 0.001);
  return inOrder(times.values, times.weight).quantile(question.share);
}

export interface TrackQuestion extends Omit<EstimateQuestion, 'atMs'> {
  readonly fromMs: number;
  readonly toMs: number;
  readonly everyMin: number;
  /** From here on nothing leaves: the forecast. Default: the last observation. */
  readonly nowMs?: number;
}

export interface TrackPoint extends ContentAt {
  readonly forecast: boolean;
}

/**
 * Estimates at even steps: up to now from what happened by then, after it the forecast with nothing leaving. Each point
 * knows what has been charted by now of the time before it.
 */
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
  const nowMs = wholeMinute(question.nowMs ?? Math.max(question.fromMs, ...ordered.map((one) => one.atMs)));
  const asked = personQuestion(question, nowMs);
  const firstMs = Math.min(question.fromMs, ordered[0]?.atMs ?? question.fromMs);
  const person = openPerson(asked, firstMs);
  const points: TrackPoint[] = [];
  let next = 0;
  const seeUntil = (untilMs: number): void => {
    for (
      ;
      next < ordered.length && wholeMinute((ordered[next] as FillingObservation).atMs) <= untilMs;
      next += 1
    )
      person.see(ordered[next] as FillingObservation);
    person.passTo(untilMs);
  };
  let cloud: Cloud | undefined;
  let filledMs = nowMs;
  for (let step = 0; step <= steps + 1e-9; step += 1) {
    const atMs = question.fromMs + step * question.everyMin * minuteMs;
    seeUntil(Math.min(atMs, nowMs));
    if (atMs <= nowMs) {
      points.push({ ...contentOf(person, person.cloud, atMs, question.limitMl), forecast: false });
      continue;
    }
    cloud ??= copyOf(person.cloud);
    if (person.catheter() !== 'in') fillOnly(cloud, filledMs, atMs, step, person.around(), person.settings);
    filledMs = atMs;
    points.push({ ...contentOf(person, cloud, atMs, question.limitMl), forecast: true });
  }
  return points;
}
