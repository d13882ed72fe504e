// Made-up entries for tests of this room and of those that keep entries.
import { instantOfMs, seededRandom, uuidV7, type RandomSource } from '@ebbline/core/quantity';
import type { Entry, EntryKind, PayloadOf } from '@ebbline/core/record';

export const organisation = 'saltmarsh';
export const startMs = Date.parse('2026-05-12T08:00:00Z');

/** Makes entries with ids and times of their own; same seed, same entries. */
export function entryMaker(seed: number) {
  const random: RandomSource = seededRandom(seed);
  let minute = 0;
  const envelope = (patient: string) => {
    minute += 1;
    const at = startMs + minute * 60_000;
    return {
      id: uuidV7(
        at,
        Array.from({ length: 10 }, () => random.below(256)),
      ),
      organisation,
      patient,
      effectiveAt: instantOfMs(at),
      timeQuality: 'exact' as const,
      recordedAt: instantOfMs(at),
      author: 'nurse-1',
      madeOn: 'tablet-1',
    };
  };
  return {
    random,
    registered: (patient: string): Entry => ({
      ...envelope(patient),
      kind: 'patient-registered',
      payload: {
        familyName: 'Ostrander',
        givenName: 'Wilma',
        sex: 'female',
        identifierSystem: 'urn:made-up',
        identifierValue: patient,
        ward: 'harbour-3',
        bed: '4',
      },
    }),
    voided: (patient: string, volumeMl = 10 * random.below(40)): Entry => ({
      ...envelope(patient),
      kind: 'void',
      payload: { how: 'measured', volumeMl },
    }),
  };
}

/** The same for courses over several wards: moves, watches, handovers, and what puts entries right. */
export function followingMaker(seed: number) {
  const base = entryMaker(seed);
  const as = <Kind extends EntryKind>(
    patient: string,
    kind: Kind,
    payload: PayloadOf<Kind>,
    over: Partial<Entry> = {},
  ): Entry => ({ ...base.voided(patient), kind, payload, ...over }) as Entry;
  return {
    ...base,
    registered: (patient: string, ward: string): Entry => {
      const entry = base.registered(patient) as Extract<Entry, { kind: 'patient-registered' }>;
      return { ...entry, payload: { ...entry.payload, ward } };
    },
    moved: (patient: string, ward: string) => as(patient, 'transferred', { ward, bed: '2' }),
    corrected: (entry: Entry, ward: string) =>
      as(entry.patient, 'transferred', { ward, bed: '3' }, { corrects: entry.id }),
    watch: (patient: string, owner: string) =>
      as(patient, 'watch-opened', { setting: 'after-surgery', reason: 'made up', owner }),
    closed: (patient: string) => as(patient, 'watch-closed', { outcome: 'emptying' }),
    offered: (patient: string, toWard: string) =>
      as(patient, 'ownership-offered', { toRole: 'nurse', toWard, occasion: 'transfer' }),
    accepted: (patient: string, offer: string, author: string) =>
      as(patient, 'ownership-accepted', { offer, readBack: 'made up' }, { author }),
    withdrawn: (patient: string, of: string) => as(patient, 'withdrawn', { of, reason: 'typing' }),
    movedToPatient: (patient: string, of: string, toPatient: string) =>
      as(patient, 'moved-to-patient', { of, toPatient }),
  };
}
