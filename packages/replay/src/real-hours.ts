/**
 * Hours over the limit in the course that really happened, rebuilt from everything charted: modelled, with its range.
 *
 * Units     h
 * Domain    a finished watch of at most 14 days in whom an estimate is valid
 * Errors    those of `reconstruct` (ADR 0014)
 * Source    filling/reconstruct.ts
 */
import {
  estimateInputsOf,
  liveEntries,
  observationsOf,
  priorOf,
  resolveEntries,
  whyNotValid,
} from '@ebbline/core/facts';
import { reconstruct, wholeMinute } from '@ebbline/core/filling';
import { hourMs, isRefusal } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { finishedWatches, rulesOf, type Episode, type PastRequest } from './episodes.ts';
import type { Work } from './progress.ts';

export interface PatientHours {
  readonly patient: string;
  readonly low: number;
  readonly likely: number;
  readonly high: number;
}

export interface HoursOver {
  readonly patients: readonly PatientHours[];
  /** Watches of which nothing can be said. */
  readonly notValid: number;
  /**
   * Sums over patients. The lower and upper sums take every patient as wrong to the same side: the widest that the
   * ranges allow.
   */
  readonly total: { readonly low: number; readonly likely: number; readonly high: number };
}

/** After so long nobody charts any more what happened before. S-job-4.2 */
const chartedByMs = 24 * hourMs;
/** The lowest limit that the filling room takes, mL. S-protocol-input-ranges */
const lowestLimitMl = 50;

function hoursIn(
  episode: Episode,
  entries: readonly Entry[],
  request: PastRequest,
): PatientHours | undefined {
  const { patient, fromMs, toMs } = episode;
  const knownMs = Math.min(request.nowMs, toMs + chartedByMs);
  const live = liveEntries(resolveEntries(entries), patient, knownMs);
  const inputs = estimateInputsOf(live, rulesOf(request, live));
  if (whyNotValid(inputs) !== undefined || wholeMinute(toMs) <= wholeMinute(fromMs)) return undefined;
  const found = reconstruct({
    observations: observationsOf(live, knownMs),
    prior: priorOf(inputs),
    limitMl: Math.max(lowestLimitMl, inputs.limitMl),
    nowMs: knownMs,
    fromMs,
    toMs,
    clockAheadMs: inputs.clockAheadMs,
  });
  return isRefusal(found) || !found.validity.valid ? undefined : { patient, ...found.hoursOver };
}

/** Of all finished watches that a replay goes over. */
export function* hoursOverPast(request: PastRequest): Work<HoursOver> {
  const watches = finishedWatches(request);
  const patients: PatientHours[] = [];
  for (const [done, { episode, entries }] of watches.entries()) {
    yield { share: done / watches.length, says: `watch ${done + 1} of ${watches.length}` };
    const hours = hoursIn(episode, entries, request);
    if (hours !== undefined) patients.push(hours);
  }
  const sum = (of: 'low' | 'likely' | 'high'): number => patients.reduce((total, one) => total + one[of], 0);
  return {
    patients,
    notValid: watches.length - patients.length,
    total: { low: sum('low'), likely: sum('likely'), high: sum('high') },
  };
}
