/**
 * Whose patients somebody may see and record for. How far a role reaches stands in core/record/permissions.ts; which
 * wards a person is of, in the directory; who follows a patient now, in the store.
 */
import { controlIsOn, dayMs, instantMs, refuse, type Refusal } from '@ebbline/core/quantity';
import { followingOf } from '@ebbline/core/facts';
import { permissions, wardsWithin, type Entry, type Extent, type Ward } from '@ebbline/core/record';
import { isInReach, type EntryStore, type KeptFollowing, type Reach } from '@ebbline/store';
import type { DirectoryBook } from './directory-book.ts';
import type { Actor } from './rules.ts';

/** What a tablet, or a machine, reads of the record. */
export interface ReadScope {
  /** The same text as long as a cursor is good. */
  readonly key: string;
  /** True when the person follows somebody whom their wards do not: such a scope is theirs alone. */
  readonly personal: boolean;
  /** Absent: everything. */
  readonly reach?: Reach;
}

export interface Reaches {
  /** The actor as the directory has them now. */
  asIs(actor: Actor): Actor;
  scopeOf(actor: Actor, nowMs: number): Promise<ReadScope>;
  /** The same at another moment, personal or not as it was. */
  scopeAgain(actor: Actor, nowMs: number, personal: boolean): ReadScope;
  seesWard(actor: Actor, ward: string): boolean;
  /** True too for a patient of whom nothing is known: the route says that there is none. */
  seesPatient(actor: Actor, patient: string, nowMs: number): Promise<boolean>;
  /**
   * May this be recorded for this patient: now, or by who saw them when it was written down, so that what a tablet made
   * without the network is taken after the patient has gone on.
   */
  records(actor: Actor, entry: Entry, patient: string, nowMs: number): Promise<boolean>;
}

const wardsOf = (actor: Actor): readonly string[] => (actor.kind === 'person' ? actor.person.wards : []);

export function createReaches(store: EntryStore, directory: DirectoryBook): Reaches {
  const within = (actor: Actor, what: 'sees' | 'records'): ReadonlySet<string> | 'everywhere' => {
    const extent: Extent = permissions[actor.role][what];
    return wardsWithin(extent, { wards: wardsOf(actor) }, directory.current());
  };
  const reachOn = (wards: ReadonlySet<string>, actor: Actor, nowMs: number): Reach => ({
    wards: [...wards].map((ward) => ({ ward, heardSinceMs: 0 })),
    ...(actor.kind === 'person' ? { person: actor.id } : {}),
    nowMs,
  });
  const has = (
    following: Pick<KeptFollowing, 'followers' | 'watched' | 'heardMs'>,
    wards: ReadonlySet<string> | 'everywhere',
    actor: Actor,
    nowMs: number,
  ): boolean => wards === 'everywhere' || isInReach(following, reachOn(wards, actor, nowMs));

  const scopeOf = (actor: Actor, nowMs: number, personal: boolean): ReadScope => {
    if (permissions[actor.role].sees === 'organisation' || !controlIsOn('H12-own-wards'))
      return { key: 'everything', personal: false };
    const wards = directory
      .current()
      .wards.filter(({ id }) => wardsOf(actor).includes(id))
      .map(({ id, settings }: Ward) => [id, Math.max(1, settings.quietPatientDays)] as const);
    return {
      key: JSON.stringify([...(personal ? [actor.id] : []), ...wards]),
      personal,
      reach: {
        wards: wards.map(([ward, days]) => ({ ward, heardSinceMs: nowMs - days * dayMs })),
        ...(personal ? { person: actor.id } : {}),
        nowMs,
      },
    };
  };

  return {
    asIs: (actor) => {
      const person = actor.kind === 'person' ? directory.person(actor.id) : undefined;
      return actor.kind === 'person' && person !== undefined
        ? { ...actor, role: person.role, person }
        : actor;
    },
    scopeAgain: scopeOf,
    scopeOf: async (actor, nowMs) => {
      const shared = scopeOf(actor, nowMs, false);
      const personal = scopeOf(actor, nowMs, true);
      if (shared.reach === undefined || personal.reach === undefined) return shared;
      const own = await store.patientsInReach({ ...personal.reach, wards: [] });
      if (own.length === 0) return shared;
      const onWards = new Set(await store.patientsInReach(shared.reach));
      return own.every((patient) => onWards.has(patient)) ? shared : personal;
    },
    seesWard: (actor, ward) => {
      const wards = within(actor, 'sees');
      return wards === 'everywhere' || wards.has(ward);
    },
    seesPatient: async (actor, patient, nowMs) => {
      const wards = within(actor, 'sees');
      if (wards === 'everywhere') return true;
      const following = await store.followingOf(patient);
      return following === undefined || has(following, wards, actor, nowMs);
    },
    records: async (actor, entry, patient, nowMs) => {
      const wards = within(actor, 'records');
      if (wards === 'everywhere') return true;
      const following = await store.followingOf(patient);
      if (following === undefined)
        return entry.kind !== 'patient-registered' || wards.has(entry.payload.ward);
      if (has(following, wards, actor, nowMs)) return true;
      const thenMs = Math.min(nowMs, instantMs(entry.recordedAt));
      const known = (await store.recordFor(patient)).map((kept) => kept.entry);
      const then = followingOf(
        patient,
        known.filter((one) => instantMs(one.effectiveAt) <= thenMs),
      );
      return has(
        { ...then, followers: then.followers.map((one) => ({ ...one, since: 0 })), heardMs: 0 },
        wards,
        actor,
        thenMs,
      );
    },
  };
}

const asked = 'Record';
export const otherWard = (): Refusal =>
  refuse('server/other-ward', {
    asked,
    found: 'a ward that is not yours',
    allowed: 'your own wards, and those that your role reaches',
    todo: 'Ask that ward. In need, open the patient with a reason.',
    where: 'ward',
  });
export const otherWardsPatient = (): Refusal =>
  refuse('server/other-wards-patient', {
    asked,
    found: 'a patient of another ward',
    allowed: 'patients of your own wards, those whom you have, and those offered to you',
    todo: 'Ask that ward. In need, open the patient with a reason.',
    where: 'patient',
  });
