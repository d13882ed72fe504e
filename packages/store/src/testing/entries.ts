// Made-up entries for tests of this room and of those that keep entries.
import { instantOfMs, seededRandom, uuidV7, type RandomSource } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';

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
