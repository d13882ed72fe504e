// Proves     every entry of the made-up world passes the record's own check, nothing lies in the future, ids are repeatable,
//            and the outcomes that a demonstration needs are in it
// Published  -
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal, minuteMs, readInstant, refusalSentence } from '@ebbline/core/quantity';
import { checkEntry, isKind, mayWrite, type Entry, type EntryKind } from '@ebbline/core/record';
import { demoWorld } from './demo-world.ts';
import { liveWard } from './places.ts';

const evening = readInstant('2026-11-25T18:30:00+01:00') as number;
const world = demoWorld({ seed: 7, nowMs: evening });
const of = <Kind extends EntryKind>(kind: Kind): readonly Extract<Entry, { kind: Kind }>[] =>
  world.entries.filter((entry): entry is Extract<Entry, { kind: Kind }> => isKind(entry, kind));

/** Watches of the live ward that are open or paused now. */
function onWatch(entries: readonly Entry[]): readonly string[] {
  const place = new Map<string, string>();
  const open = new Set<string>();
  for (const entry of entries) {
    if (isKind(entry, 'patient-registered') || isKind(entry, 'transferred'))
      place.set(entry.patient, entry.payload.ward);
    if (isKind(entry, 'watch-opened')) open.add(entry.patient);
    if (isKind(entry, 'watch-closed')) open.delete(entry.patient);
  }
  return [...open].filter((patient) => place.get(patient) === liveWard);
}

describe('the made-up world', () => {
  it('holds only entries that the record accepts', () => {
    const refused = world.entries.map((entry) => checkEntry(entry, evening)).filter(isRefusal);
    expect(refused.map(refusalSentence)).toEqual([]);
    expect(world.entries.length).toBeGreaterThan(500);
  });

  it('ends now: nothing happened or was written down later', () => {
    for (const entry of world.entries) {
      expect(instantMs(entry.effectiveAt)).toBeLessThanOrEqual(evening);
      expect(instantMs(entry.recordedAt)).toBeLessThanOrEqual(evening);
      expect(instantMs(entry.effectiveAt)).toBeLessThanOrEqual(instantMs(entry.recordedAt));
    }
  });

  it('is the same again for the same seed, and another for another', () => {
    expect(demoWorld({ seed: 7, nowMs: evening })).toEqual(world);
    expect(demoWorld({ seed: 8, nowMs: evening }).entries.map((entry) => entry.id)).not.toEqual(
      world.entries.map((entry) => entry.id),
    );
  });

  it('gives every entry an id of its own', () => {
    expect(new Set(world.entries.map((entry) => entry.id)).size).toBe(world.entries.length);
  });

  it('names only entries that it holds', () => {
    const ids = new Set(world.entries.map((entry) => entry.id));
    const named = world.entries.flatMap((entry) => {
      const payload = entry.payload as Record<string, unknown>;
      return [
        entry.corrects,
        ...['of', 'advised', 'offer', 'call', 'becauseOf'].map((name) => payload[name]),
      ].filter((id) => id !== undefined);
    });
    expect(named.length).toBeGreaterThan(100);
    expect(named.filter((id) => !ids.has(id as string))).toEqual([]);
  });

  it('lets people write only what their role may write', () => {
    const roles = new Map(world.directory.people.map((person) => [person.id, person.role]));
    const wrong = world.entries.filter((entry) => {
      const role = roles.get(entry.author);
      return role === undefined || !mayWrite(role, entry.kind);
    });
    expect(wrong.map((entry) => `${entry.author} ${entry.kind}`)).toEqual([]);
  });

  it('has 14 to 18 people on watch in 28 beds, each bed with one of them', () => {
    const ward = world.directory.wards.find((one) => one.id === liveWard);
    expect(ward?.beds).toHaveLength(28);
    const watched = onWatch(world.entries);
    expect(watched.length).toBeGreaterThanOrEqual(14);
    expect(watched.length).toBeLessThanOrEqual(18);
    const beds = watched.map((patient) => {
      const placed = world.entries.filter(
        (entry) =>
          entry.patient === patient && (isKind(entry, 'patient-registered') || isKind(entry, 'transferred')),
      );
      return (placed.at(-1)?.payload as { bed?: string } | undefined)?.bed;
    });
    expect(new Set(beds).size).toBe(beds.length);
  });

  it('has three hospitals, fourteen wards, people in every role with initials of their own, and scanners A, B and C', () => {
    const { wards, people, scanners } = world.directory;
    expect(new Set(wards.map((ward) => ward.hospital)).size).toBe(3);
    expect(wards).toHaveLength(14);
    expect(new Set(people.map((person) => person.initials)).size).toBe(people.length);
    expect(new Set(people.map((person) => person.role)).size).toBe(13);
    expect(scanners.map((scanner) => scanner.name)).toEqual(['Scanner A', 'Scanner B', 'Scanner C']);
  });

  it('holds the outcomes that a ward meets', () => {
    expect(of('watch-closed').some((entry) => entry.payload.outcome === 'emptying')).toBe(true);
    const drains = new Map<string, number>();
    for (const entry of of('drained')) drains.set(entry.patient, (drains.get(entry.patient) ?? 0) + 1);
    expect(drains.get('patient-in-out-once')).toBe(1);
    expect(of('catheter-placed').map((entry) => entry.patient)).toContain('patient-left-in');
    expect(
      of('drained').filter(
        (entry) => entry.payload.route === 'in-out' && entry.patient === 'patient-left-in',
      ),
    ).toHaveLength(2);
    const calls = of('call-made');
    const answered = new Set(of('call-answered').map((entry) => entry.payload.call));
    expect(calls.filter((call) => !answered.has(call.id)).map((call) => call.patient)).toEqual([
      'patient-no-answer',
    ]);
    expect(of('drained').some((entry) => entry.payload.volumeMl === 1180)).toBe(true);
    expect(
      of('drained').some((entry) => entry.patient === 'patient-false-low' && entry.payload.volumeMl === 900),
    ).toBe(true);
    expect(
      of('drained').some((entry) => entry.patient === 'patient-false-high' && entry.payload.volumeMl === 90),
    ).toBe(true);
    expect(of('moved-to-patient')).toHaveLength(1);
    expect(of('consent').some((entry) => entry.payload.answer === 'declined')).toBe(true);
    expect(world.entries.some((entry) => entry.madeOn === 'paper-form')).toBe(true);
    expect(of('watch-paused')).toHaveLength(1);
    expect(of('catheter-status').some((entry) => entry.payload.status === 'irrigation-running')).toBe(true);
    expect(of('caution').some((entry) => entry.payload.caution === 'ascites')).toBe(true);
    expect(
      of('context').some((entry) => entry.payload.topic === 'limit-ml' && entry.payload.value === 700),
    ).toBe(true);
    expect(
      of('reading').some(
        (entry) => entry.payload.result === 'at-least' && entry.patient === 'patient-at-least',
      ),
    ).toBe(true);
    const offers = of('ownership-offered');
    const accepted = new Set(of('ownership-accepted').map((entry) => entry.payload.offer));
    expect(offers.filter((offer) => !accepted.has(offer.id)).map((offer) => offer.patient)).toEqual([
      'patient-on-the-way',
    ]);
  });

  it('leaves steps due before now and after now', () => {
    const watched = new Set(onWatch(world.entries));
    const last = new Map<string, number>();
    for (const entry of of('step-advised'))
      if (watched.has(entry.patient)) last.set(entry.patient, instantMs(entry.payload.dueAt));
    const due = [...last.values()];
    expect(due.filter((at) => at < evening - 10 * minuteMs).length).toBeGreaterThanOrEqual(2);
    expect(due.filter((at) => at > evening && at < evening + 120 * minuteMs).length).toBeGreaterThanOrEqual(
      5,
    );
  });

  it('can be told at any moment of any day', () => {
    for (const now of [
      '2026-01-01T00:05:00Z',
      '2026-03-29T01:30:00Z',
      '2026-10-25T00:40:00Z',
      '2027-07-14T12:00:00Z',
    ]) {
      const nowMs = readInstant(now) as number;
      const { entries } = demoWorld({ seed: 3, nowMs, pastEpisodes: 5 });
      expect(entries.map((entry) => checkEntry(entry, nowMs)).filter(isRefusal)).toEqual([]);
      expect(Math.max(...entries.map((entry) => instantMs(entry.recordedAt)))).toBeLessThanOrEqual(nowMs);
    }
  });

  it('lets a protocol answer in place of the example rows', () => {
    const asked: string[] = [];
    demoWorld({
      seed: 7,
      nowMs: evening,
      pastEpisodes: 0,
      advise: (entries, because) => {
        asked.push(because.kind);
        expect(entries.length).toBeGreaterThan(0);
        return undefined;
      },
    });
    expect(asked).toContain('reading');
  });
});
