// Proves     whatever the order in which a feed's messages arrive, and however often, the record ends with the patient in the
//            same bed under the same name, each entry passes the check at the door, and what people wrote stands
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { foldPatient, type PatientFacts } from '@ebbline/core/facts';
import { isRefusal } from '@ebbline/core/quantity';
import { checkEntry, defaultSettings, type Entry } from '@ebbline/core/record';
import { feedEntries, recordOf } from './feed-entries.ts';
import { feedPatients } from './feed-patients.ts';
import type { FeedPerson, FeedPlace, PatientEvent } from './patient-event.ts';

const zone = 'Europe/Lisbon';
const dayMs = Date.UTC(2026, 4, 12);
const at = (time: string): number => dayMs + (Number(time.slice(0, 2)) * 60 + Number(time.slice(3))) * 60_000;
const identifier = { system: 'NORTH', value: 'a1' };
const record = recordOf(identifier);
const wards: Readonly<Record<string, string>> = { TERN: 'ward-tern', GULL: 'ward-gull' };
const bed = (ward: string, name: string): FeedPlace => ({ ward, room: '', bed: name });

let count = 0;
function event(
  happening: PatientEvent['happening'],
  time: string,
  more: { place?: FeedPlace; person?: FeedPerson; told?: string } = {},
): PatientEvent {
  count += 1;
  return {
    key: `m${count}`,
    happening,
    identifier,
    person: more.person ?? {},
    visit: 'v1',
    ...(more.place === undefined ? {} : { place: more.place }),
    atMs: at(time),
    toldAtMs: at(more.told ?? time),
    timeGiven: more.told !== undefined,
  };
}

const story = [
  event('admitted', '08:00', {
    place: bed('TERN', '1'),
    person: { familyName: 'Quill', givenName: 'Ada', sex: 'female' },
  }),
  event('transferred', '09:00', { place: bed('TERN', '2') }),
  event('transferred', '10:00', { place: bed('GULL', '7'), told: '10:30' }),
  event('transfer-cancelled', '10:00', { told: '10:40' }),
  event('updated', '11:00', { person: { familyName: 'Quillon' } }),
  event('transferred', '12:00', { place: bed('GULL', '8') }),
  event('discharged', '15:00', { place: bed('GULL', '8') }),
  event('discharge-cancelled', '15:20'),
];

/** The record after the messages arrived one by one. */
function recordAfter(arrivals: readonly PatientEvent[], begin: readonly Entry[] = []): readonly Entry[] {
  const kept: PatientEvent[] = [];
  const have = [...begin];
  for (const [turn, one] of arrivals.entries()) {
    kept.push(one);
    for (const patient of feedPatients(kept))
      have.push(
        ...feedEntries({
          patient,
          have,
          organisation: 'selvoy-coast',
          wardOf: ({ ward }) => wards[ward],
          author: 'feed',
          madeOn: 'north-feed',
          nowMs: at('16:00') + turn * 1_000,
        }),
      );
  }
  return have;
}
const factsOf = (entries: readonly Entry[]): PatientFacts =>
  foldPatient({ patient: record, entries, nowMs: at('20:00'), settings: defaultSettings, zone });
const summary = (entries: readonly Entry[]): unknown => {
  const { ward, bed: where, identity, timeline } = factsOf(entries);
  const standing = timeline
    .filter((one) => one.standing.state === 'live' && one.entry.kind !== 'withdrawn')
    .map(({ entry }) => [entry.kind, entry.effectiveAt, JSON.stringify(entry.payload)]);
  return { ward, where, family: identity?.familyName, standing };
};

describe('what a feed brings into the record', () => {
  it('is the patient, each bed in its time, and nothing that the feed took back', () => {
    const entries = recordAfter(story);
    const facts = factsOf(entries);
    expect([facts.ward, facts.bed, facts.identity?.familyName]).toEqual(['ward-gull', '8', 'Quillon']);
    const { standing } = summary(entries) as { standing: readonly (readonly string[])[] };
    expect(standing.map(([kind]) => kind)).toEqual(['patient-registered', 'transferred', 'transferred']);
    for (const entry of entries) expect(isRefusal(checkEntry(entry, at('20:00')))).toBe(false);
    expect(new Set(entries.map(({ id }) => id)).size).toBe(entries.length);
  });

  it('is the same for each of 1,000 shuffled and repeated deliveries', () => {
    const expected = summary(recordAfter(story));
    fc.assert(
      fc.property(
        fc.shuffledSubarray([...story], { minLength: story.length }),
        fc.array(fc.nat(story.length - 1), { maxLength: 4 }),
        (order, again) => {
          const arrivals = [...order, ...again.map((place) => story[place] as PatientEvent)];
          expect(summary(recordAfter(arrivals))).toEqual(expected);
        },
      ),
      { seed: 5, numRuns: 1_000 },
    );
  });

  it('adds nothing when it is worked out again', () => {
    const entries = recordAfter(story);
    expect(recordAfter([...story, ...story])).toHaveLength(entries.length);
  });

  it('leaves what people wrote, and registers nobody a second time', () => {
    const [registered] = recordAfter(story.slice(0, 1));
    const byHand = {
      ...registered,
      id: '0197f000-0000-7000-8000-000000000001',
      author: 'nurse',
      madeOn: 'tablet-1',
    } as Entry;
    const entries = recordAfter(story, [byHand]);
    expect(entries.filter((one) => one.kind === 'patient-registered')).toEqual([byHand]);
    expect(factsOf(entries).bed).toBe('8');
  });

  it('is nothing for a patient who was never on a ward of ours', () => {
    expect(recordAfter([event('admitted', '08:00', { place: bed('ELSEWHERE', '1') })])).toEqual([]);
  });

  it('says that the patient left for a ward that does not use this record, and keeps the watch with its owner', () => {
    const entries = recordAfter([
      ...story.slice(0, 1),
      event('transferred', '13:00', { place: bed('ELSEWHERE', '3') }),
    ]);
    const facts = factsOf(entries);
    expect(facts.ward).toBe('ward-tern');
    expect(entries.at(-1)).toMatchObject({ kind: 'told', payload: { who: "The hospital's system" } });
  });
});
