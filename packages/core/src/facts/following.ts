/**
 * Which wards and persons follow a patient: see the record now, and have it on their tablets. The ward where the patient
 * is always does. After a move the ward that had the watch follows on until somebody has accepted it, and a little
 * longer, so that the giver sees who took it. Whoever has the watch, or was offered it, follows wherever the patient is.
 *
 * Nobody's clock is asked: the same entries give the same answer at every minute, with instants up to which it holds.
 */
import { controlIsOn, hourMs, instantMs } from '../quantity/index.ts';
import type { Entry, EntryKind } from '../record/index.ts';
import { catheterFact } from './catheter.ts';
import { ownershipOf } from './ownership.ts';
import { resolveEntries } from './resolve.ts';
import { placementOf, watchOf } from './situation.ts';
import type { OwnershipSpan } from './types.ts';

export interface Follower {
  /** A ward's id, or a person's. */
  readonly id: string;
  readonly kind: 'ward' | 'person';
  /** The instant from which it no longer follows; absent while it does without end. */
  readonly untilMs?: number;
}

export interface Following {
  /** Where the patient is; empty when nobody has said. */
  readonly ward: string;
  /** Each follower once; the present ward first. */
  readonly followers: readonly Follower[];
  /** Something is open that must not fall out of sight: a watch, a catheter in place, a call without an answer. */
  readonly watched: boolean;
}

const kinds = [
  'patient-registered',
  'transferred',
  'watch-opened',
  'watch-paused',
  'watch-resumed',
  'watch-closed',
  'ownership-offered',
  'ownership-accepted',
  'catheter-placed',
  'catheter-removed',
  'drained',
  'call-made',
  'call-answered',
  'withdrawn',
  'moved-to-patient',
  'opened-with-reason',
] as const satisfies readonly EntryKind[];

/** Kinds that can change who follows; entries of all others leave it as it is. */
export const followingKinds: ReadonlySet<EntryKind> = new Set(kinds);

/** How long the ward that gave a patient still sees them after the acceptance: one look at the page. S-common-practice */
const givenAwayMs = hourMs;

/**
 * @param entries entries that can change this patient's facts, in any order; those of other kinds than
 *   `followingKinds` may be left out
 */
export function followingOf(patient: string, entries: readonly Entry[]): Following {
  const timeline = resolveEntries(entries).byPatient.get(patient) ?? [];
  const live = timeline.filter((one) => one.standing.state === 'live').map((one) => one.entry);
  // When nothing that stands says where the patient is, what was said last and taken back does: nobody falls out of sight.
  const { ward } = [placementOf(live), placementOf(timeline.map((one) => one.entry))].find(
    (place) => place.ward !== '',
  ) ?? { ward: '' };
  const lastMs = Math.max(0, ...live.map((one) => instantMs(one.effectiveAt))) + 1;
  const watch = watchOf(live);
  const onWatch = watch.state === 'open' || watch.state === 'paused';
  const { spans, offers } = ownershipOf(live, ward, lastMs);
  const followers = new Map<string, Follower>();
  const add = (kind: Follower['kind'], id: string, untilMs?: number): void => {
    if (id === '') return;
    const key = `${kind} ${id}`;
    const held = followers.get(key);
    if (held && (held.untilMs === undefined || (untilMs !== undefined && untilMs <= held.untilMs))) return;
    followers.set(key, { kind, id, ...(untilMs === undefined ? {} : { untilMs }) });
  };
  // By place in the course and not by time: a move and an opening may be written down for the same minute.
  // A watch that was opened before anybody had said where was opened where the patient is first said to be.
  const firstAt = live.findIndex(({ kind }) => kind === 'patient-registered' || kind === 'transferred');
  const wardAt = ({ because }: OwnershipSpan): string =>
    placementOf(
      live.slice(
        0,
        1 +
          Math.max(
            firstAt,
            live.findIndex(({ id }) => id === because),
          ),
      ),
    ).ward;

  add('ward', ward);
  if (onWatch) {
    const last = spans.at(-1);
    if (last) {
      if (controlIsOn('H13-giver-follows')) add('ward', wardAt(last));
      if (last.owner.kind === 'person') add('person', last.owner.person);
    }
    const before = spans.at(-2);
    if (last && before && before.fromMs >= (watch.openedAtMs ?? 0)) {
      add('ward', wardAt(before), last.fromMs + givenAwayMs);
      if (before.owner.kind === 'person') add('person', before.owner.person, last.fromMs + givenAwayMs);
    }
  }
  for (const one of live)
    if (one.kind === 'opened-with-reason') add('person', one.author, instantMs(one.payload.until));
  for (const { to } of offers) {
    if (to.kind === 'person') add('person', to.person);
    else add('ward', to.ward);
  }
  const answered = new Set(live.map((one) => (one.kind === 'call-answered' ? one.payload.call : '')));
  const calling = live.some((one) => one.kind === 'call-made' && !answered.has(one.id));
  const catheter = watch.state !== 'closed' && catheterFact(live, lastMs, 'UTC').inPlace;
  return { ward, followers: [...followers.values()], watched: onWatch || calling || catheter };
}
