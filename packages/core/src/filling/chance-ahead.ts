/**
 * When the chance of being over the limit will reach a share, as long as nothing more is charted. Beside
 * `limitLikelyAtMs`, which lets nothing leave from now on, this one allows for what may leave without anybody charting
 * it: a patient who passes urine well is not looked at as if they couldn't, and hours in which a void would have been
 * charted and wasn't speak for those who can't.
 *
 * Units     instants in ms; the share from 0 to 1
 * Domain    as `estimateAt`; `untilMs`, at most two days on, is the protocol's own time, and no answer is later
 * Errors    on a grid of a quarter of an hour from `fromMs` on; a chance that rises above the share and falls again within
 *           a step is not seen
 * Source    the cloud's model, ADR 0013; grid S-made-chance-ahead
 */
import { isRefusal, minuteMs, refuse, type Refusal } from '../quantity/index.ts';
import { estimateAt, type EstimateQuestion } from './estimate.ts';

export interface ChanceAheadQuestion extends Omit<EstimateQuestion, 'atMs' | 'horizonMin'> {
  readonly fromMs: number;
  readonly untilMs: number;
  readonly share: number;
}

const gridMs = 15 * minuteMs;
const longestMs = 48 * 60 * minuteMs;

/** The first instant at which the chance is reached; `untilMs` when none comes before it. */
export function chanceReachedAtMs(question: ChanceAheadQuestion): number | Refusal {
  const { fromMs, untilMs, share } = question;
  if (!(share > 0 && share < 1))
    return refuse('filling/share-out-of-range', {
      asked: 'When to look',
      found: `a chance of ${share}`,
      allowed: 'above 0 and below 1',
      todo: "Give the unit's tolerance as a share.",
    });
  if (!(Number.isFinite(fromMs) && untilMs - fromMs <= longestMs))
    return refuse('filling/horizon-out-of-range', {
      asked: 'When to look',
      found: 'a span that does not end within two days',
      allowed: 'at most two days',
      todo: "Give the protocol's own time.",
    });
  for (let atMs = fromMs; atMs < untilMs; atMs += gridMs) {
    const said = estimateAt({ ...question, atMs, horizonMin: 1 });
    if (isRefusal(said)) return said;
    if (said.overLimitProbability >= share) return atMs;
  }
  return Math.max(fromMs, untilMs);
}
