/**
 * Somebody was found over the limit: since when, for how long and by how much it probably was, from everything charted
 * before and after.
 *
 * Units     mL, mL·h, hours, ms since the epoch
 * Domain    a late detection of these facts
 * Not for   a patient in whom no estimate is valid
 * Errors    ADR 0014; for learning, not for deciding what to do
 * Source    filling/reconstruct.ts
 */
import { hourMs, isRefusal } from '../quantity/index.ts';
import {
  reconstruct,
  stretchAbout,
  wholeMinute,
  type Reconstruction,
  type Stretch,
} from '../filling/index.ts';
import { limitForFilling, observationsOf, priorOf, remembered, whyNotValid } from './estimate.ts';
import { estimateInputsOf } from './fold.ts';
import type { LateDetection, PatientFacts } from './types.ts';

export interface LookBack extends Omit<Reconstruction, 'track' | 'validity'> {
  readonly stretch: Stretch;
  readonly found: LateDetection;
  readonly foundBy: 'reading' | 'drained';
  /** By plain sum: how long what is above the limit takes to run in at the unit's plain rates, hours. */
  readonly plainHours: { readonly low: number; readonly high: number };
}

/** After so long nobody charts any more what happened before. S-job-4.2 (the end of a shift, and some more) */
const chartedByMs = 24 * hourMs;

/** What is known by then decides, so that an answer stands still once a stretch is over and charted. */
const knownAtMs = (stretch: Stretch, lastMs: number, nowMs: number): number =>
  stretch.emptied
    ? Math.max(
        lastMs,
        Math.floor(Math.min(nowMs, stretch.toMs + chartedByMs) / hourMs) * hourMs,
        stretch.toMs,
      )
    : wholeMinute(nowMs);

export function lookBackAt(
  found: LateDetection,
  facts: PatientFacts,
  zone: string,
): LookBack | { readonly notValid: string } {
  const live = facts.timeline.filter((one) => one.standing.state === 'live').map((one) => one.entry);
  const inputs = estimateInputsOf(live, { settings: facts.settings, zone });
  const reason = whyNotValid(inputs);
  if (reason !== undefined) return { notValid: reason };
  const observations = observationsOf(live, facts.nowMs);
  const lastMs = wholeMinute(Math.max(found.atMs, ...observations.map((one) => one.atMs)));
  const stretch = stretchAbout(observations, found.atMs, facts.nowMs);
  const nowMs = knownAtMs(stretch, lastMs, facts.nowMs);
  if (wholeMinute(stretch.toMs) <= wholeMinute(stretch.fromMs)) return { notValid: 'no-stretch' };
  const answer = remembered(['back', found.atMs, nowMs, inputs, observations], () =>
    reconstruct({
      observations,
      prior: priorOf(inputs),
      limitMl: limitForFilling(inputs.limitMl),
      nowMs,
      fromMs: stretch.fromMs,
      toMs: Math.min(stretch.toMs, nowMs),
      aboutMs: found.atMs,
      clockAheadMs: inputs.clockAheadMs,
    }),
  );
  if (isRefusal(answer)) return { notValid: answer.code };
  const { track: _track, validity, ...rest } = answer;
  if (!validity.valid) return { notValid: validity.reason };
  const aboveMl = Math.max(0, found.volumeMl - found.limitMl);
  const { plainRateLowMlPerH, plainRateHighMlPerH } = facts.settings;
  return {
    ...rest,
    plainHours: { low: aboveMl / plainRateHighMlPerH, high: aboveMl / plainRateLowMlPerH },
    stretch,
    found,
    foundBy: facts.drains.some((one) => one.id === found.byEntry) ? 'drained' : 'reading',
  };
}
