// Proves     facts are folded again only for patients whose entries changed, or whose facts move with the clock; the
//            order of arrival changes nothing; a moved entry changes both records
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { entriesByPatient } from '@ebbline/core/facts';
import { orThrow, seededRandom } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { foldedRecord, tellingWhenAhead } from './folded-record.ts';
import { directory, fakeRecord, nurse, openTablet, passed, registered, startMs } from './testing/fakes.ts';

const make = (clock = { nowMs: startMs }) =>
  foldedRecord({ directory, nowMs: () => clock.nowMs, pause: (work) => work() });

async function someEntries(): Promise<readonly Entry[]> {
  const { replica } = await openTablet(fakeRecord());
  const open = (patient: string) => ({
    patient,
    kind: 'watch-opened' as const,
    payload: { setting: 'after-surgery' as const, reason: 'Test', owner: nurse.id },
  });
  const id = replica.newId();
  orThrow(
    await replica.record([
      registered('p-1'),
      open('p-1'),
      registered('p-2', '2'),
      open('p-2'),
      { ...passed('p-1', 450), id },
    ]),
  );
  orThrow(
    await replica.record([
      {
        patient: 'p-1',
        kind: 'moved-to-patient',
        payload: { of: id, toPatient: 'p-2', reason: 'wrong-patient' },
      },
    ]),
  );
  return replica.entries();
}

describe('the record in memory', () => {
  it('gives the same facts object until an entry of that patient comes', async () => {
    const entries = await someEntries();
    const record = make();
    record.add(entries.slice(0, 4));
    const [one, two] = ['p-1', 'p-2'].map(record.factsOf);
    record.add(entries.slice(4, 5));
    expect(record.factsOf('p-2')).toBe(two);
    expect(record.factsOf('p-1')).not.toBe(one);
    expect(record.factsOf('p-1').voids).toHaveLength(1);
  });

  it('groups advice that comes after what it was given for was moved as if all had come together', async () => {
    const entries = await someEntries();
    const moved = entries.find((one) => one.kind === 'void') as Entry;
    const advice = {
      ...moved,
      id: `${moved.id.slice(0, -4)}ffff`,
      kind: 'step-advised',
      payload: { becauseOf: moved.id },
    } as unknown as Entry;
    const record = make();
    record.add(entries);
    record.add([advice]);
    const whole = entriesByPatient([...entries, advice]);
    for (const patient of ['p-1', 'p-2'])
      expect(record.entriesOf(patient).map(({ id }) => id)).toEqual(whole.get(patient)?.map(({ id }) => id));
  });

  it('moves an entry out of one record and into the other', async () => {
    const record = make();
    record.add(await someEntries());
    expect(record.factsOf('p-1').voids).toEqual([]);
    expect(record.factsOf('p-2').voids.map((one) => one.volumeMl)).toEqual([450]);
  });

  it('folds again when the minute turns, but not what rests', async () => {
    const clock = { nowMs: startMs };
    const record = make(clock);
    record.add((await someEntries()).slice(0, 2));
    const { replica } = await openTablet(fakeRecord(), { seed: 5 });
    record.add(orThrow(replica.prepare([registered('p-9', '9')])));
    const resting = record.factsOf('p-9');
    const watched = record.factsOf('p-1');
    clock.nowMs += 61_000;
    let told = 0;
    record.turnTo(clock.nowMs, () => (told += 1));
    expect(told).toBe(1);
    expect(record.factsOf('p-1').nowMs).toBe(clock.nowMs);
    expect(record.factsOf('p-1')).not.toBe(watched);
    expect(record.ward('ward-one').patients.map((one) => one.patient)).toEqual(['p-1']);
    expect(record.factsOf('p-9')).not.toBe(resting);
    expect(record.factsOf('p-9')).toBe(record.factsOf('p-9'));
  });

  it('gives the same facts whatever the order and the portions in which entries arrive', async () => {
    const entries = await someEntries();
    const whole = make();
    whole.add(entries);
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
        const random = seededRandom(seed);
        const rest = [...entries];
        const record = make();
        while (rest.length > 0) {
          const portion = rest.splice(random.below(rest.length), 1 + random.below(2));
          record.add(portion);
          record.factsOf('p-1');
          record.factsOf('p-2');
        }
        for (const patient of ['p-1', 'p-2']) expect(record.factsOf(patient)).toEqual(whole.factsOf(patient));
      }),
      { seed: 11, numRuns: 40 },
    );
  });

  /** Forty patients on watch in ward one and one in another, and a pause that is let go by hand. */
  async function manyPatients() {
    const { replica } = await openTablet(fakeRecord());
    const names = Array.from({ length: 40 }, (_, index) => `p-${index}`);
    const entries = orThrow(
      replica.prepare(
        names.flatMap((patient, index) => [
          registered(patient, String(index + 1)),
          {
            patient,
            kind: 'watch-opened' as const,
            payload: { setting: 'after-surgery' as const, reason: 'Test', owner: nurse.id },
          },
        ]),
      ),
    );
    // Each look at the clock moves it on, so that a slice is over after a few patients.
    let nowMs = startMs;
    const held: (() => void)[] = [];
    const record = foldedRecord({ directory, nowMs: () => (nowMs += 2), pause: (work) => held.push(work) });
    record.add(entries);
    return { record, names, entries, held };
  }

  it('folds a ward ahead in slices, each patient once, and prepares each', async () => {
    const { record, names, held } = await manyPatients();
    const prepared: string[] = [];
    const ahead = record.ahead('ward-one', (facts) => prepared.push(facts.patient));
    expect(ahead?.meanwhile).toBeUndefined();
    let slices = 0;
    for (let work = held.shift(); work; work = held.shift()) {
      slices += 1;
      work();
    }
    await ahead?.ready;
    expect(slices).toBeGreaterThan(3);
    expect(prepared.toSorted()).toEqual(names.toSorted());
    const before = names.map(record.factsOf);
    expect(record.ahead('ward-one')).toBeUndefined();
    expect(record.ward('ward-one').patients).toHaveLength(names.length);
    expect(names.map(record.factsOf)).toEqual(before);
  });

  it('says what it said last while many are folded again, and the whole afterwards', async () => {
    const { record, names, entries, held } = await manyPatients();
    const first = record.ward('ward-one');
    record.useDirectory({ ...directory });
    const ahead = record.ahead('ward-one');
    expect(ahead?.meanwhile).toBe(first);
    while (held.length > 0) held.shift()?.();
    expect(record.ahead('ward-one')).toBeUndefined();
    expect(record.ward('ward-one')).not.toBe(first);
    const whole = make();
    whole.add(entries);
    const patients = (ward: { patients: readonly { patient: string }[] }) =>
      ward.patients.map((one) => one.patient);
    expect(patients(record.ward('ward-one')).toSorted()).toEqual(names.toSorted());
    expect(patients(record.ward('ward-one'))).toEqual(patients(whole.ward('ward-one')));
  });

  it('tells a page that opens while the look of another is under way, though no entry comes after', async () => {
    const { record, names, held } = await manyPatients();
    const listeners = new Set<() => void>();
    const subscribe = (listener: () => void) => {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    };
    const seen: number[] = [];
    const ahead = record.ahead('ward-one');
    const leave = tellingWhenAhead(subscribe, () => record.ahead('ward-one'))(() => {
      seen.push(record.ward('ward-one').patients.length);
    });
    while (held.length > 0) held.shift()?.();
    await ahead?.ready;
    await Promise.resolve();
    expect(seen).toEqual([names.length]);
    leave();
    expect(listeners.size).toBe(0);
  });

  it('does not wait for one or two that changed', async () => {
    const { record, held } = await manyPatients();
    record.ward('ward-one');
    const { replica } = await openTablet(fakeRecord(), { seed: 9 });
    record.add(orThrow(replica.prepare([passed('p-1', 450)])));
    expect(record.ahead('ward-one')).toBeUndefined();
    expect(held).toEqual([]);
  });
});
