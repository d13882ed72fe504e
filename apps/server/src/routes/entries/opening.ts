/**
 * Opening a patient of another ward with a reason: asked of the ward's own settings, and only while the record is
 * reached, so that the patient's ward sees it at once.
 */
import { controlIsOn, instantMs, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import { defaultSettings, type Entry } from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';
import type { DirectoryBook } from '../../directory-book.ts';
import type { Actor } from '../../rules.ts';

export type Opening = Extract<Entry, { kind: 'opened-with-reason' }>;

/** S-common-practice: clocks of tablet and server may be so far apart. */
const leewayMs = 5 * minuteMs;

const asked = 'Opening a patient of another ward';

export function openings(
  store: EntryStore,
  directory: DirectoryBook,
  actor: Actor,
  nowMs: number,
): (entry: Opening) => Promise<Refusal | undefined> {
  return async ({ patient, recordedAt, payload }) => {
    if (!controlIsOn('H12-opened-now')) return undefined;
    const following = await store.followingOf(patient);
    const ward = directory.current().wards.find(({ id }) => id === following?.ward);
    const longestMin = ward?.settings.openWithReasonMin ?? defaultSettings.openWithReasonMin;
    if (actor.kind !== 'person' || longestMin === 0)
      return refuse('server/not-opened-with-reason', {
        asked,
        found: longestMin === 0 ? 'a ward that lets nobody' : 'a machine',
        allowed: longestMin === 0 ? 'people of that ward' : 'a signed-in person',
        todo: 'Ask that ward.',
      });
    if (Math.abs(instantMs(recordedAt) - nowMs) > leewayMs)
      return refuse('server/opened-late', {
        asked,
        found: 'one that was made earlier, without the network',
        allowed: 'one that the record hears of at once',
        todo: 'Open the patient again now that the network is there. Without it, ask that ward.',
        where: 'recordedAt',
      });
    if (instantMs(payload.until) > nowMs + longestMin * minuteMs + leewayMs)
      return refuse('server/opened-too-long', {
        asked,
        found: 'a longer time',
        allowed: `at most ${longestMin} min`,
        todo: 'Open it for less; open it again when it has ended.',
        where: 'payload.until',
      });
    return undefined;
  };
}
