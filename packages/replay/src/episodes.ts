/** Finished watches in a record, and what was known at a moment in one. */
import { entriesByPatient, liveEntries, resolveEntries, type WardRules } from '@ebbline/core/facts';
import { instantMs } from '@ebbline/core/quantity';
import type { Entry, KeptEntry, WatchSetting } from '@ebbline/core/record';
import type { CompiledProtocol } from '@ebbline/protocol';

export interface Episode {
  readonly patient: string;
  /** The entry that opened the watch. */
  readonly openedBy: string;
  readonly setting: WatchSetting;
  readonly fromMs: number;
  readonly toMs: number;
}

/** What the record says of an entry: itself, and when this replica had it. */
export type Kept = Pick<KeptEntry, 'entry' | 'receivedAt'>;

/** Finished watches among live entries in order of effect; a second opening of an open watch goes on with the first. */
export function episodesOf(patient: string, live: readonly Entry[]): readonly Episode[] {
  const episodes: Episode[] = [];
  let open: Extract<Entry, { kind: 'watch-opened' }> | undefined;
  for (const entry of live) {
    if (entry.kind === 'watch-opened') open ??= entry;
    else if (entry.kind === 'watch-closed' && open !== undefined) {
      episodes.push({
        patient,
        openedBy: open.id,
        setting: open.payload.setting,
        fromMs: instantMs(open.effectiveAt),
        toMs: instantMs(entry.effectiveAt),
      });
      open = undefined;
    }
  }
  return episodes;
}

/**
 * A patient's entries as they could be known on one tablet: its own when they were written, those of others when the
 * record had them. `knownAt` then gives what was known there.
 */
export const asSeenFrom = (tablet: string, kept: readonly Kept[]): readonly Kept[] =>
  kept.map((one) =>
    one.entry.madeOn === tablet ? { entry: one.entry, receivedAt: one.entry.recordedAt } : one,
  );

/** What is replayed: a record, and the two protocols. */
export interface PastRequest {
  readonly kept: readonly Kept[];
  readonly inForce: CompiledProtocol;
  readonly draft: CompiledProtocol;
  readonly nowMs: number;
  /** Settings and zone of a ward, the shipped ones where it is not known. */
  readonly wardOf: (ward: string) => WardRules;
  /** Only watches that ended on this ward. Default: all. */
  readonly ward?: string;
}

/** The ward in which a patient is, by these entries; empty when none names one. */
function wardIn(entries: readonly Entry[]): string {
  const place = entries.findLast((one) => one.kind === 'patient-registered' || one.kind === 'transferred');
  return place?.kind === 'patient-registered' || place?.kind === 'transferred' ? place.payload.ward : '';
}

/** The rules of that ward. */
export const rulesOf = (request: Pick<PastRequest, 'wardOf'>, entries: readonly Entry[]): WardRules =>
  request.wardOf(wardIn(entries));

/** Watches finished by now, of a setting that one of the two protocols is for, each with the entries that bear on it. */
export function finishedWatches(
  request: PastRequest,
): readonly { readonly episode: Episode; readonly entries: readonly Entry[] }[] {
  const settings = new Set<string>([...request.inForce.settings, ...request.draft.settings]);
  const groups = entriesByPatient(request.kept.map((one) => one.entry));
  return [...groups].flatMap(([patient, entries]) => {
    const live = liveEntries(resolveEntries(entries), patient, request.nowMs);
    const endedOn = ({ toMs }: Episode): string =>
      wardIn(live.filter((one) => instantMs(one.effectiveAt) <= toMs));
    return episodesOf(patient, live)
      .filter(
        (episode) =>
          settings.has(episode.setting) && (request.ward === undefined || endedOn(episode) === request.ward),
      )
      .map((episode) => ({ episode, entries }));
  });
}
