/**
 * How an append changes who follows whom, told without a database: adapters read and write what is asked for here, in
 * the transaction of the append. Derived from entries alone, so that it can be worked out anew at any time; kept only
 * so that a ward's patients are found by an index.
 */
import { controlIsOn, dayMs, hourMs, instantMs } from '@ebbline/core/quantity';
import { followingKinds, followingOf } from '@ebbline/core/facts';
import { isPractice, type Entry } from '@ebbline/core/record';
import type { KeptFollower, KeptFollowing, Reach } from './port.ts';

/** `heardMs` is written again only when so much has passed. */
export const heardWithinMs = hourMs;
/**
 * Whoever was not heard of for so long, on no watch, may have left tablets: with the next entry the record comes whole.
 * A unit's own number of days is never less.
 */
const mayHaveLeftMs = dayMs - heardWithinMs;

/** The entry that this one corrects, withdraws or moves. */
export function targetOf(entry: Entry): string | undefined {
  return entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient' ? entry.payload.of : entry.corrects;
}

/** Patients that this entry names. */
const named = (entry: Entry): readonly string[] =>
  entry.kind === 'moved-to-patient' ? [entry.patient, entry.payload.toPatient] : [entry.patient];

/** A question of `tiedTo` to whoever keeps the entries: the one with this id, or those that name it as their target. */
export type Lookup = { readonly byId: string } | { readonly naming: string };

export interface Tied<Found> {
  readonly entries: readonly Found[];
  readonly patients: ReadonlySet<string>;
}

/**
 * The entries tied together by corrections, withdrawals and moves, and all patients whom any of them names. With one
 * patient nothing of it reaches another record. A generator, so that it does not matter whether answers come at once.
 */
export function* tiedTo<Found extends { readonly entry: Entry }>(
  first: Found,
): Generator<Lookup, Tied<Found>, readonly Found[]> {
  const found = new Map<string, Found>([[first.entry.id, first]]);
  const patients = new Set<string>();
  // Grows while it is walked.
  for (const { entry } of found.values()) {
    for (const patient of named(entry)) patients.add(patient);
    const target = targetOf(entry);
    const before = target === undefined ? [] : yield { byId: target };
    for (const next of [...before, ...(yield { naming: entry.id })])
      if (!found.has(next.entry.id)) found.set(next.entry.id, next);
  }
  return { entries: [...found.values()], patients };
}

/** Answers a walk of `tiedTo` where answers come at once. */
export function tiedAtOnce<Found>(
  walk: Generator<Lookup, Tied<Found>, readonly Found[]>,
  answer: (lookup: Lookup) => readonly Found[],
): Tied<Found> {
  let step = walk.next();
  while (step.done !== true) step = walk.next(answer(step.value));
  return step.value;
}

/** Answers it where they have to be waited for. */
export async function tiedInTime<Found>(
  walk: Generator<Lookup, Tied<Found>, readonly Found[]>,
  answer: (lookup: Lookup) => Promise<readonly Found[]>,
): Promise<Tied<Found>> {
  let step = walk.next();
  while (step.done !== true) step = walk.next(await answer(step.value));
  return step.value;
}

/** What one append has done to a patient. */
export interface Touch {
  /** The newest sequence that touches them. */
  sequence: number;
  heardMs: number;
  /** Who follows may have changed. */
  settles: boolean;
  /** Older entries have come into their record. */
  grown: boolean;
}

export type Touches = Map<string, Touch>;

export function touch(touches: Touches, patient: string, next: Touch): void {
  const held = touches.get(patient);
  touches.set(patient, {
    sequence: Math.max(next.sequence, held?.sequence ?? 0),
    heardMs: Math.max(next.heardMs, held?.heardMs ?? 0),
    settles: next.settles || (held?.settles ?? false),
    grown: next.grown || (held?.grown ?? false),
  });
}

export const touchOf = (entry: Entry, sequence: number, receivedAt: string): Touch => ({
  sequence,
  heardMs: instantMs(receivedAt),
  settles: followingKinds.has(entry.kind),
  grown: false,
});

/** Practice stands in no patient's record: nobody follows it. */
export const isFollowed = (entry: Entry): boolean => !isPractice(entry);

/** True when the patient's record has to be read to know who follows. */
export const needsRecord = (before: KeptFollowing | undefined, { settles, grown }: Touch): boolean =>
  before === undefined || settles || grown;

/**
 * What is kept of a patient after an append; undefined when it stays as it was.
 *
 * @param record where `needsRecord`, the entries of `recordFor`; those of other kinds than core's `followingKinds` may
 *   be left out
 */
export function nextFollowing(
  patient: string,
  before: KeptFollowing | undefined,
  { sequence, heardMs, settles, grown }: Touch,
  record: readonly Entry[],
): KeptFollowing | undefined {
  const newestMs = Math.max(heardMs, before?.heardMs ?? 0);
  const back = before !== undefined && !before.watched && heardMs - before.heardMs >= mayHaveLeftMs;
  if (before !== undefined && !settles && !grown) {
    if (!back && newestMs - before.heardMs < heardWithinMs) return undefined;
    const followers = back ? before.followers.map((one) => ({ ...one, since: sequence })) : before.followers;
    return { ...before, heardMs: newestMs, followers };
  }
  const { ward, followers, watched } = followingOf(patient, record);
  const comesWhole = grown || back;
  const begins = controlIsOn('H13-arrives-whole') ? sequence : 0;
  return {
    patient,
    ward,
    watched,
    heardMs: newestMs,
    followers: followers.map(({ id, kind, untilMs }): KeptFollower => {
      const held = before?.followers.find((one) => one.id === id && one.kind === kind);
      // One that had ended, or would have, begins anew: its readers may have let the patient go.
      const goesOn = held !== undefined && (held.untilMs === undefined || untilMs === held.untilMs);
      return {
        id,
        kind,
        ...(untilMs === undefined ? {} : { untilMs }),
        since: goesOn && !comesWhole ? held.since : begins,
      };
    }),
  };
}

/** True when a follower of these brings the patient into reach. */
export function isInReach(
  { followers, watched, heardMs }: Pick<KeptFollowing, 'followers' | 'watched' | 'heardMs'>,
  { wards, person, nowMs }: Reach,
): boolean {
  return followers.some(
    ({ id, kind, untilMs }) =>
      (untilMs === undefined || untilMs > nowMs) &&
      (kind === 'person'
        ? id === person
        : wards.some((one) => one.ward === id && (watched || heardMs >= one.heardSinceMs))),
  );
}

/** The sequence since which the reach has the patient without a break. */
export function sinceInReach(following: KeptFollowing, reach: Reach): number {
  const own = following.followers.filter((follower) =>
    isInReach({ ...following, followers: [follower] }, reach),
  );
  return Math.min(...own.map(({ since }) => since));
}

/** An entry, and the sequence at which a reader comes to it: its own, or that since which its patient is in reach. */
export interface Placed {
  readonly position: number;
  readonly sequence: number;
}

/** A page of about `limit` of what is left, in order; positions are never parted. */
export function placedPage<Row extends Placed>(
  left: readonly Row[],
  limit: number,
  headSequence: number,
): { readonly rows: readonly Row[]; readonly through: number } {
  const sorted = left.toSorted((a, b) => a.position - b.position || a.sequence - b.sequence);
  const next = sorted[limit];
  if (next === undefined) return { rows: once(sorted), through: headSequence };
  const before = sorted.findLast(({ position }) => position < next.position);
  const through = before === undefined ? next.position : before.position;
  return { rows: once(sorted.filter(({ position }) => position <= through)), through };
}

/** An entry that belongs to two patients in reach is read once. */
function once<Row extends Placed>(rows: readonly Row[]): readonly Row[] {
  return [...new Map(rows.map((row) => [row.sequence, row])).values()];
}
