/** Where the patient is, on which watch, with which limit, cautions, symptoms and refusals. */
import { instantMs } from '../quantity/index.ts';
import type { Caution, Entry, RedFlag, UnitSettings } from '../record/index.ts';
import type { WatchFact } from './types.ts';

type Of<Kind extends Entry['kind']> = Extract<Entry, { kind: Kind }>;

export function watchOf(live: readonly Entry[]): WatchFact {
  let watch: WatchFact = { state: 'none' };
  for (const entry of live) {
    const atMs = instantMs(entry.effectiveAt);
    if (entry.kind === 'watch-opened') {
      // A second watch on one bladder keeps one timeline and the earlier opening.
      watch =
        watch.state === 'open' || watch.state === 'paused'
          ? {
              ...watch,
              setting: entry.payload.setting,
              reason: `${watch.reason ?? ''}; ${entry.payload.reason}`,
            }
          : {
              state: 'open',
              setting: entry.payload.setting,
              reason: entry.payload.reason,
              openedAtMs: atMs,
              openedBy: entry.id,
            };
    } else if (entry.kind === 'watch-paused' && watch.state === 'open') {
      watch = {
        ...watch,
        state: 'paused',
        pausedUntilMs: instantMs(entry.payload.backBy),
        pauseReason: entry.payload.reason,
      };
    } else if (entry.kind === 'watch-resumed' && watch.state === 'paused') {
      const { pausedUntilMs: _until, pauseReason: _reason, ...rest } = watch;
      watch = { ...rest, state: 'open' };
    } else if (entry.kind === 'watch-closed' && (watch.state === 'open' || watch.state === 'paused')) {
      watch = { ...watch, state: 'closed', outcome: entry.payload.outcome, closedAtMs: atMs };
    }
  }
  return watch;
}

/**
 * The protocol version that an open watch keeps, so that a change of the unit's rules does not change it midway: the
 * one that somebody moved it to, else the one named at its opening, else that of its first advised step.
 */
export function protocolOf(
  live: readonly Entry[],
  watch: WatchFact,
): { readonly id: string; readonly version: number } | undefined {
  const moved = live.findLast(
    (one): one is Of<'protocol-moved'> =>
      one.kind === 'protocol-moved' &&
      instantMs(one.effectiveAt) >= (watch.openedAtMs ?? Number.POSITIVE_INFINITY),
  );
  if (moved) return { id: moved.payload.protocolId, version: moved.payload.protocolVersion };
  const opened = live.find((one) => one.id === watch.openedBy);
  if (
    opened?.kind === 'watch-opened' &&
    opened.payload.protocolId !== undefined &&
    opened.payload.protocolVersion !== undefined
  )
    return { id: opened.payload.protocolId, version: opened.payload.protocolVersion };
  const first = live.find(
    (one): one is Of<'step-advised'> =>
      one.kind === 'step-advised' &&
      instantMs(one.effectiveAt) >= (watch.openedAtMs ?? Number.POSITIVE_INFINITY),
  );
  return first && { id: first.payload.protocolId, version: first.payload.protocolVersion };
}

export interface Placement {
  readonly ward: string;
  readonly bed: string;
  readonly transferredAtMs?: number;
}

export function placementOf(live: readonly Entry[]): Placement {
  let place: Placement = { ward: '', bed: '' };
  for (const entry of live) {
    if (entry.kind === 'patient-registered' && (place.ward === '' || entry.corrects !== undefined))
      place = { ward: entry.payload.ward, bed: entry.payload.bed };
    if (entry.kind === 'transferred')
      place = {
        ward: entry.payload.ward,
        bed: entry.payload.bed,
        transferredAtMs: instantMs(entry.effectiveAt),
      };
  }
  return place;
}

export function identityOf(live: readonly Entry[]): Of<'patient-registered'>['payload'] | undefined {
  return live.findLast((one): one is Of<'patient-registered'> => one.kind === 'patient-registered')?.payload;
}

export interface Limit {
  readonly limitMl: number;
  readonly limitSource: 'own-capacity' | 'unit' | 'prescriber';
  readonly ownCapacityMl?: number;
}

/**
 * The limit of this patient: set by hand where it was, else the person's own capacity within the unit's bounds,
 * else the unit's number.
 *
 * Source    S-clinical-E7 for own capacity; bounds are the unit's
 */
export function limitOf(live: readonly Entry[], settings: UnitSettings): Limit {
  const topics = live.filter((one): one is Of<'context'> => one.kind === 'context');
  const own = topics.findLast((one) => one.payload.topic === 'own-capacity-ml')?.payload.value;
  const set = topics.findLast((one) => one.payload.topic === 'limit-ml')?.payload;
  const within = (value: number): number =>
    Math.min(settings.ownLimitHighestMl, Math.max(settings.ownLimitLowestMl, value));
  const ownPart = own === undefined ? {} : { ownCapacityMl: own };
  if (set?.value !== undefined) {
    const source = set.limitSource ?? 'prescriber';
    return {
      limitMl: source === 'prescriber' ? set.value : within(set.value),
      limitSource: source,
      ...ownPart,
    };
  }
  if (own !== undefined) return { limitMl: within(own), limitSource: 'own-capacity', ...ownPart };
  return { limitMl: settings.unitLimitMl, limitSource: 'unit' };
}

export function cautionsOf(live: readonly Entry[]): readonly Caution[] {
  const present = new Set<Caution>();
  for (const entry of live) {
    if (entry.kind !== 'caution') continue;
    if (entry.payload.present) present.add(entry.payload.caution);
    else present.delete(entry.payload.caution);
  }
  return [...present].sort();
}

export function contextOf(
  live: readonly Entry[],
): Readonly<Record<string, { state?: string; value?: number; atMs: number }>> {
  const topics: Record<string, { state?: string; value?: number; atMs: number }> = {};
  for (const entry of live) {
    if (entry.kind !== 'context') continue;
    const { topic, state, value } = entry.payload;
    topics[topic] = {
      ...(state === undefined ? {} : { state }),
      ...(value === undefined ? {} : { value }),
      atMs: instantMs(entry.effectiveAt),
    };
  }
  return topics;
}

/** Every red flag that stands. None lapses by itself: a person clears one by withdrawing it. */
export function redFlagsOf(live: readonly Entry[]): readonly { flag: RedFlag; atMs: number }[] {
  return live
    .filter((one): one is Of<'red-flag'> => one.kind === 'red-flag')
    .map((one) => ({ flag: one.payload.flag, atMs: instantMs(one.effectiveAt) }));
}

/** In discomfort now: the latest word on it, unless the bladder was drained since. */
export function discomfortOf(live: readonly Entry[]): boolean {
  let discomfort = false;
  for (const entry of live) {
    if (entry.kind === 'symptom') {
      if (entry.payload.symptom === 'comfortable') discomfort = false;
      else if (entry.payload.symptom !== 'leaking') discomfort = true;
    }
    if (
      entry.kind === 'drained' &&
      entry.payload.route !== 'from-catheter' &&
      entry.payload.difficulty !== 'failed'
    )
      discomfort = false;
  }
  return discomfort;
}

export function declinedOf(live: readonly Entry[]): readonly ('bladder-ultrasound' | 'catheter')[] {
  const answers = new Map<string, string>();
  for (const entry of live) if (entry.kind === 'consent') answers.set(entry.payload.to, entry.payload.answer);
  return (['bladder-ultrasound', 'catheter'] as const).filter((topic) => answers.get(topic) === 'declined');
}

export const initialsOf = (identity: { familyName: string; givenName: string } | undefined): string =>
  identity ? `${[...identity.givenName][0] ?? ''}.${[...identity.familyName][0] ?? ''}.` : '';
