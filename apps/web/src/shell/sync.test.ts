// Proves     a save is kept before it is sent, sent once whatever the network does, never lost and never doubled;
//            entries go out under their author's sign-in alone; a refused entry stays until a person has seen it
// Published  none; the record is a stand-in in memory
// Tolerance  exact
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import fc from 'fast-check';
import type { ProtocolVersion } from '@ebbline/protocol';
import { isRefusal, orThrow, refuse, seededRandom } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { memoryStore } from './local-store.ts';
import {
  aide,
  fakeRecord,
  idsOf,
  nurse,
  openTablet,
  otherNurse,
  passed,
  practised,
  registered,
  startMs,
  type Tablet,
} from './testing/fakes.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

const settle = (milliseconds = 0): Promise<unknown> => vi.advanceTimersByTimeAsync(milliseconds);

describe('a signature for the ward', () => {
  it('is given by the record alone: out of reach nothing is changed, and it says so', async () => {
    const record = fakeRecord();
    const { replica } = await openTablet(record);
    expect(await replica.letLengthen('ward-1', true)).toBeUndefined();
    record.cut = true;
    expect(await replica.letLengthen('ward-1', true)).toMatchObject({ code: 'web/record-not-reached' });
  });
});

describe('versions of protocols', () => {
  it('are kept on the tablet, read anew when a sign of life tells of another act, and there without the network', async () => {
    const record = fakeRecord();
    const first = await openTablet(record);
    first.replica.start();
    await settle();
    expect(first.replica.protocols()).toEqual([]);
    const one = { ward: 'ward-one', state: 'proved' } as ProtocolVersion;
    record.shelf = { acts: 1, versions: [one] };
    record.beat();
    await settle();
    expect(first.replica.protocols()).toEqual([one]);
    const before = first.replica.protocols();
    record.beat();
    await settle();
    expect(first.replica.protocols()).toBe(before);
    record.cut = true;
    const again = await openTablet(record, { store: first.store });
    expect(again.replica.protocols()).toEqual([one]);
    expect(
      await again.replica.askOfProtocols({ ask: 'retire', id: 'a', version: 2, reason: 'x', pin: '1' }),
    ).toMatchObject({ code: 'web/record-not-reached' });
  });
});

describe('whom a tablet holds', () => {
  const filled = async () => {
    const record = fakeRecord();
    const other = await openTablet(record, { me: otherNurse, seed: 2 });
    other.replica.start();
    await other.replica.record([registered('p-1'), registered('p-2', '2'), passed('p-2', 120)]);
    await settle();
    record.scope = 'ward-one';
    const tablet = await openTablet(record);
    tablet.replica.start();
    await settle();
    return { record, tablet };
  };

  it('is who the record says is followed: others leave it, and come back whole', async () => {
    const { record, tablet } = await filled();
    expect(tablet.replica.patients()).toEqual(['p-1', 'p-2']);
    record.followed = ['p-1'];
    record.leave();
    await settle();
    expect(tablet.replica.patients()).toEqual(['p-1']);
    expect(JSON.stringify(await tablet.store.entries())).not.toContain('p-2');
    // As one who comes to the ward: everything once more, under cursors that begin anew.
    record.followed = ['p-1', 'p-2'];
    record.scope = 'two wards';
    record.leave();
    await settle();
    expect(tablet.replica.entriesOf('p-2')).toHaveLength(2);
    expect(await tablet.store.note('scope')).toBe('two wards');
    expect(await tablet.store.note('cursor')).toBe(3);
  });

  it('[H5-forget-sent] stays while something about a patient waits to be sent, or was refused and nobody has seen it', async () => {
    const { record, tablet } = await filled();
    record.cut = true;
    const [waits] = orThrow(await tablet.replica.record([passed('p-2', 333)]));
    record.cut = false;
    record.refuses.add(waits!.id);
    record.followed = ['p-1'];
    record.leave();
    await settle(2_000);
    expect(tablet.replica.entriesOf('p-2')).toHaveLength(3);
    await tablet.replica.dismissRefused(waits!.id);
    record.leave();
    await settle();
    expect(tablet.replica.patients()).toEqual(['p-1']);
  });

  it('is not judged by a list that was read before what it has just sent', async () => {
    const { record, tablet } = await filled();
    record.followed = ['p-1', 'p-2'];
    record.cut = true;
    await tablet.replica.record([registered('p-3', '3')]);
    record.cut = false;
    // The list that comes first names two; the third patient is sent meanwhile.
    record.beat();
    tablet.replica.pause();
    tablet.replica.start();
    await settle();
    expect(tablet.replica.patients()).toContain('p-3');
  });
});

describe('sending', () => {
  it('keeps an entry on the tablet before the record has it', async () => {
    const record = fakeRecord();
    record.cut = true;
    const { replica, store } = await openTablet(record);
    replica.start();
    const entries = orThrow(await replica.record([registered('p-1'), passed('p-1', 310)]));
    expect(idsOf(await store.unsent()).toSorted()).toEqual([...idsOf(entries)].toSorted());
    expect(replica.factsOf('p-1').voids[0]?.volumeMl).toBe(310);
    expect(replica.waiting()).toBe(2);
    expect(record.kept).toEqual([]);
  });

  it('sends what waited once the network is back, each entry once', async () => {
    const record = fakeRecord();
    record.cut = true;
    const { replica } = await openTablet(record);
    replica.start();
    await replica.record([registered('p-1')]);
    for (const volume of [100, 120, 140, 160]) await replica.record([passed('p-1', volume)]);
    await settle(5000);
    expect(replica.network().awaySinceMs).toBe(startMs);
    record.cut = false;
    await settle(60_000);
    expect(record.kept.map((one) => one.sequence)).toEqual([1, 2, 3, 4, 5]);
    expect(replica.waiting()).toBe(0);
    expect(replica.network().online).toBe(true);
  });

  it('adds nothing when the answer was lost and the entry is sent again', async () => {
    const record = fakeRecord();
    record.loseAnswers = true;
    const { replica } = await openTablet(record);
    replica.start();
    await replica.record([registered('p-1')]);
    await settle(10_000);
    expect(record.sends.length).toBeGreaterThan(1);
    expect(replica.waiting()).toBe(1);
    record.loseAnswers = false;
    await settle(60_000);
    expect(record.kept).toHaveLength(1);
    expect(replica.waiting()).toBe(0);
  });

  it('finds the queue again after the page was closed', async () => {
    const record = fakeRecord();
    record.cut = true;
    const first = await openTablet(record);
    await first.replica.record([registered('p-1')]);
    first.replica.close();
    record.cut = false;
    const second = await openTablet(record, { store: first.store, seed: 2 });
    expect(second.replica.waiting()).toBe(1);
    second.replica.start();
    await settle(10);
    expect(record.kept).toHaveLength(1);
  });

  it('keeps practice on the tablet and sends it, but follows the record past that of others without it', async () => {
    const record = fakeRecord();
    const { replica, store } = await openTablet(record);
    replica.start();
    await settle(10);
    orThrow(await replica.record([registered('p-1'), practised(nurse.id)]));
    await settle(10);
    expect(record.kept.map(({ entry }) => entry.kind)).toEqual(['patient-registered', 'practised']);
    expect(replica.entries().some((entry) => entry.kind === 'practised')).toBe(true);
    // It is nobody's course: neither a patient nor a fact.
    expect(replica.patients()).toEqual(['p-1']);
    const second = await openTablet(record, { me: otherNurse, seed: 2 });
    record.signedInAs = otherNurse;
    second.replica.start();
    await settle(10);
    expect(second.replica.entries().map((entry) => entry.kind)).toEqual(['patient-registered']);
    expect(await second.replica.practice()).toEqual([]);
    record.signedInAs = nurse;
    expect(idsOf((await replica.practice()) ?? [])).toEqual([record.kept[1]?.entry.id]);
    // The cursor stands behind it: signs of life don't make the tablet read the same again and again.
    expect(await second.store.note('cursor')).toBe(2);
    record.beat();
    await settle(10);
    const before = record.reads;
    record.beat();
    await settle(10);
    expect(record.reads).toBe(before);
    record.cut = true;
    expect(await replica.practice()).toBeUndefined();
    expect(idsOf(await store.unsent())).toEqual([]);
  });

  it('sends entries only under the sign-in of their author, and says whose wait', async () => {
    const record = fakeRecord();
    record.cut = true;
    const mine = await openTablet(record);
    await mine.replica.record([registered('p-1')]);
    mine.replica.close();
    record.cut = false;
    const theirs = await openTablet(record, { me: otherNurse, store: mine.store, seed: 2 });
    theirs.replica.start();
    await theirs.replica.record([registered('p-2', '2')]);
    await settle(40_000);
    expect(record.kept.map((one) => one.entry.author)).toEqual([otherNurse.id]);
    expect(theirs.replica.network()).toMatchObject({ waiting: 1, waitingOwn: 0, waitingFor: [nurse.id] });
  });

  it('waits with entries about a patient whom somebody else registered here and has not sent yet', async () => {
    const record = fakeRecord();
    record.knowsOnlyRegistered = true;
    record.cut = true;
    const store = memoryStore();
    const first = await openTablet(record, { store });
    await first.replica.record([registered('p-1')]);
    first.replica.close();
    record.cut = false;
    const second = await openTablet(record, { store, me: otherNurse, seed: 2 });
    second.replica.start();
    await second.replica.record([passed('p-1', 200)]);
    await settle(60_000);
    expect(record.kept).toEqual([]);
    expect(second.replica.network()).toMatchObject({ waiting: 2, refused: [] });
    second.replica.close();
    const back = await openTablet(record, { store });
    back.replica.start();
    await settle(60_000);
    back.replica.close();
    const again = await openTablet(record, { store, me: otherNurse, seed: 2 });
    again.replica.start();
    await settle(60_000);
    expect(record.kept.map(({ entry }) => entry.kind)).toEqual(['patient-registered', 'void']);
    expect(again.replica.network()).toMatchObject({ waiting: 0, refused: [] });
  });

  it('sends who is new before what is about them, however many wait and whatever the clock did', async () => {
    const record = fakeRecord();
    record.knowsOnlyRegistered = true;
    record.cut = true;
    const { replica, store } = await openTablet(record);
    await replica.record([registered('p-1')]);
    for (let count = 0; count < 60; count += 1) await replica.record([passed('p-1', count)]);
    // A clock set back gives the registration the latest id: the queue has it last.
    const unsent = store.unsent.bind(store);
    Object.assign(store, { unsent: async () => [...(await unsent())].reverse() });
    record.cut = false;
    replica.start();
    await settle(60_000);
    expect(record.kept).toHaveLength(61);
    expect(replica.network()).toMatchObject({ waiting: 0, refused: [] });
  });

  it('counts nothing as waiting that was sent before the browser told that it is kept', async () => {
    const record = fakeRecord();
    const { replica, store } = await openTablet(record);
    replica.start();
    await settle(10);
    const keepOwn = store.keepOwn.bind(store);
    Object.assign(store, {
      keepOwn: async (entries: readonly Entry[]) => {
        await keepOwn(entries);
        await new Promise((resolve) => setTimeout(resolve, 50));
      },
    });
    const saved = [replica.record([registered('p-1')]), replica.record([passed('p-1', 100)])];
    replica.pause();
    replica.start();
    await settle(100);
    await Promise.all(saved);
    expect(record.kept).toHaveLength(2);
    expect(replica.waiting()).toBe(0);
  });

  it('sends at once what was saved while the queue was being read', async () => {
    const record = fakeRecord();
    const { replica, store } = await openTablet(record);
    replica.start();
    await settle(10);
    const unsent = store.unsent.bind(store);
    Object.assign(store, {
      // Read at the start, told later: a save falls between.
      unsent: async () => {
        const found = await unsent();
        await new Promise((resolve) => setTimeout(resolve, 50));
        return found;
      },
    });
    await replica.record([registered('p-1')]);
    await settle(60);
    await replica.record([passed('p-1', 100)]);
    await settle(500);
    expect(record.kept).toHaveLength(2);
    expect(replica.waiting()).toBe(0);
  });

  it('goes on when the browser could not write for a while', async () => {
    const record = fakeRecord();
    const { replica, store } = await openTablet(record);
    const sent = store.sent.bind(store);
    let faults = 2;
    Object.assign(store, {
      sent: (ids: readonly string[]) => ((faults -= 1) >= 0 ? Promise.reject(new Error('full')) : sent(ids)),
    });
    replica.start();
    await replica.record([registered('p-1')]);
    await settle(60_000);
    expect(faults).toBeLessThan(0);
    expect(replica.waiting()).toBe(0);
    expect(record.kept).toHaveLength(1);
  });

  it('keeps a refused entry in sight until a person takes it away', async () => {
    const record = fakeRecord();
    const { replica, store } = await openTablet(record);
    const id = replica.newId();
    record.refuses.add(id);
    replica.start();
    await replica.record([registered('p-1'), { ...passed('p-1', 200), id }]);
    await settle(10);
    expect(replica.network().refused.map((one) => one.entry.id)).toEqual([id]);
    expect(replica.waiting()).toBe(0);
    await replica.dismissRefused(id);
    expect(replica.network().refused).toEqual([]);
    expect(idsOf(await store.entries())).not.toContain(id);
    expect(replica.factsOf('p-1').voids).toEqual([]);
  });
});

describe('hearing', () => {
  it("shows another tablet's entry, and catches up on what came while the line was down", async () => {
    const record = fakeRecord();
    const one = await openTablet(record, { seed: 1 });
    const two = await openTablet(record, { seed: 2, me: otherNurse });
    one.replica.start();
    two.replica.start();
    await settle(10);
    await one.replica.record([registered('p-1')]);
    await settle(10);
    two.replica.pause();
    await one.replica.record([passed('p-1', 280)]);
    await settle(10);
    expect(two.replica.entriesOf('p-1')).toHaveLength(1);
    two.replica.start();
    await settle(10);
    expect(two.replica.factsOf('p-1').voids[0]?.volumeMl).toBe(280);
  });

  it('opens the line anew when it is silent though nothing broke', async () => {
    const record = fakeRecord();
    const one = await openTablet(record);
    const two = await openTablet(record, { seed: 2, me: otherNurse });
    one.replica.start();
    await settle(10);
    await two.replica.record([registered('p-1')]);
    record.cut = true;
    await settle(16_000);
    expect(one.replica.network().awaySinceMs).toBeDefined();
    record.cut = false;
    two.replica.start();
    await settle(60_000);
    expect(one.replica.entriesOf('p-1')).toHaveLength(1);
    expect(one.replica.network().online).toBe(true);
  });

  it('gives a line up that neither opens nor breaks', async () => {
    const record = fakeRecord();
    record.mute = true;
    const one = await openTablet(record);
    const two = await openTablet(record, { seed: 2, me: otherNurse });
    one.replica.start();
    await settle(10);
    record.mute = false;
    two.replica.start();
    await two.replica.record([registered('p-1')]);
    await settle(20_000);
    expect(one.replica.entriesOf('p-1')).toHaveLength(1);
  });

  it('leaves no gap when the browser could not write one of several that came', async () => {
    const record = fakeRecord();
    const one = await openTablet(record);
    const two = await openTablet(record, { seed: 2, me: otherNurse });
    const keep = one.store.keepReceived.bind(one.store);
    let received = 0;
    Object.assign(one.store, {
      keepReceived: async (entries: readonly Entry[]) => {
        received += 1;
        if (received === 2) throw new Error('full');
        await keep(entries);
      },
    });
    one.replica.start();
    two.replica.start();
    await settle(10);
    await two.replica.record([registered('p-1'), passed('p-1', 100), passed('p-1', 200), passed('p-1', 300)]);
    await settle(10);
    expect(one.replica.entries()).toHaveLength(3);
    expect((await one.store.note<number>('cursor')) ?? 0).toBeLessThan(2);
    record.beat();
    await settle(10);
    expect(one.replica.entries()).toHaveLength(4);
    expect(await one.store.entries()).toHaveLength(4);
    expect(await one.store.note('cursor')).toBe(4);
  });

  it('begins though the browser could not read how far it was', async () => {
    const record = fakeRecord();
    const { replica, store } = await openTablet(record);
    Object.assign(store, { note: () => Promise.reject(new Error('unreadable')) });
    replica.start();
    await replica.record([registered('p-1')]);
    await settle(10);
    expect(record.kept).toHaveLength(1);
  });

  it('says how long the record was not heard', async () => {
    const record = fakeRecord();
    const { replica, clock } = await openTablet(record);
    expect(replica.sourceAgeMs()).toBeUndefined();
    replica.start();
    await settle(10);
    expect(replica.sourceAgeMs()).toBe(0);
    clock.nowMs += 12_000;
    expect(replica.sourceAgeMs()).toBe(12_000);
  });

  it('tells the page when the record no longer knows this sign-in', async () => {
    const record = fakeRecord();
    record.signedInAs = undefined;
    const tablet = await openTablet(record);
    tablet.replica.start();
    await settle(10);
    expect(tablet.signedOut).toBe(true);
  });
});

describe('recording', () => {
  it('keeps all drafts of a save or none', async () => {
    const { replica } = await openTablet(fakeRecord());
    const answer = await replica.record([registered('p-1'), passed('p-1', 99_999)]);
    expect(isRefusal(answer) && answer.code).toBe('record/out-of-range');
    expect(replica.entries()).toEqual([]);
  });

  it("[H15-role] keeps nothing that the person's role may not record", async () => {
    const { replica } = await openTablet(fakeRecord(), { me: aide });
    const answer = await replica.record([
      {
        patient: 'p-1',
        kind: 'reading',
        payload: { result: 'exact', volumeMl: 320, relation: 'no-void', doubts: [] },
      },
    ]);
    expect(isRefusal(answer) && answer.code).toBe('record/not-yours');
    expect(replica.entries()).toEqual([]);
    expect(isRefusal(await replica.record([passed('p-1', 200)]))).toBe(false);
  });

  it('undoes a save by adding a withdrawal for each entry', async () => {
    const { replica } = await openTablet(fakeRecord());
    const entries = orThrow(await replica.record([registered('p-1'), passed('p-1', 310)]));
    await replica.undo([(entries[1] as { id: string }).id]);
    expect(replica.entriesOf('p-1')).toHaveLength(3);
    expect(replica.factsOf('p-1').voids).toEqual([]);
  });

  it('shows what a save would mean without keeping it', async () => {
    const { replica } = await openTablet(fakeRecord());
    await replica.record([registered('p-1')]);
    const draft = orThrow(replica.prepare([passed('p-1', 310)]));
    expect(replica.factsWith('p-1', draft).voids).toHaveLength(1);
    expect(replica.factsOf('p-1').voids).toHaveLength(0);
  });
});

describe('two tablets', () => {
  it('hold the same entries after any run of saves, cuts and lost answers', async () => {
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1, max: 1e9 }), async (seed) => {
        const random = seededRandom(seed);
        const record = fakeRecord();
        const tablets: Tablet[] = [
          await openTablet(record, { seed: seed + 1 }),
          await openTablet(record, { seed: seed + 2, me: otherNurse }),
        ];
        for (const tablet of tablets) tablet.replica.start();
        let made = 0;
        for (let step = 0; step < 24; step += 1) {
          const dice = random.next();
          const tablet = random.pick(tablets);
          if (dice < 0.2) record.cut = !record.cut;
          else if (dice < 0.35) record.loseAnswers = !record.loseAnswers;
          else if (dice < 0.45) record.dropLines();
          else {
            await tablet.replica.record([registered(`p-${random.below(3)}`)]);
            made += 1;
          }
          await settle(random.below(4000));
          record.beat();
        }
        record.cut = false;
        record.loseAnswers = false;
        for (let beat = 0; beat < 24; beat += 1) {
          await settle(5000);
          record.beat();
        }
        const sets = tablets.map((tablet) => [...idsOf(tablet.replica.entries())].toSorted());
        expect(sets[0]).toEqual(record.kept.map((one) => one.entry.id).toSorted());
        expect(sets[1]).toEqual(sets[0]);
        expect(record.kept).toHaveLength(made);
        for (const tablet of tablets) tablet.replica.close();
      }),
      { seed: 20261125, numRuns: 25 },
    );
  });
});

describe('entries that came in by another hand and were not taken', () => {
  const held = (record: ReturnType<typeof fakeRecord>, entry: Entry, vouched: boolean) => {
    let waiting = [{ id: entry.id, entry, vouched, refusal: refusalOf('server/not-vouched') }];
    const decided: string[] = [];
    record.remote.held = async () => ({ state: 'reached', value: { entries: waiting } });
    record.remote.settleHeld = async (id, how) => {
      decided.push(`${id === entry.id ? 'it' : id} ${how}`);
      if (how === 'mine' && !vouched)
        return { state: 'refused', status: 422, refusal: refusalOf('server/test') };
      waiting = [];
      return { state: 'reached', value: {} };
    };
    return decided;
  };
  const refusalOf = (code: `server/${string}`) =>
    refuse(code, { asked: 'Entry', found: 'a', allowed: 'b', todo: 'c' });

  it('are shown to their author, who says that they are theirs or puts them away', async () => {
    const record = fakeRecord();
    const { replica } = await openTablet(record);
    const [entry] = orThrow(replica.prepare([passed('p-1', 210)])) as [Entry];
    const decided = held(record, entry, false);
    replica.start();
    await settle(10);
    expect(replica.network().refused).toMatchObject([{ entry, held: { vouched: false } }]);
    expect(await replica.claimHeld(entry.id)).toMatchObject({ code: 'server/test' });
    expect(replica.network().refused).toHaveLength(1);
    await replica.dismissRefused(entry.id);
    expect(replica.network().refused).toEqual([]);
    expect(decided).toEqual(['it mine', 'it dismissed']);
  });
});
