// Proves     every adapter knows who follows whom as the fold of the entries says, and a reader of a reach misses no
//            entry of a patient who is in it, whenever and however that patient came
// Published  none: core's `followingOf` over the whole record is the model
// Tolerance  exact
import { afterEach, describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { dayMs, instantOfMs, minuteMs } from '@ebbline/core/quantity';
import { entriesByPatient, followingOf } from '@ebbline/core/facts';
import type { Entry } from '@ebbline/core/record';
import type { EntryStore, Reach } from './port.ts';
import { followingMaker, startMs } from './testing/entries.ts';

const receivedAt = instantOfMs(startMs);
const context = { receivedAt, actor: 'nurse-1' };
const ever = 0;

const reachOf = (wards: readonly string[], over: Partial<Reach> = {}): Reach => ({
  wards: wards.map((ward) => ({ ward, heardSinceMs: ever })),
  nowMs: startMs + dayMs,
  ...over,
});

/** Reads all that is left, page by page. */
async function readOn(
  store: EntryStore,
  cursor: number,
  reach: Reach,
  limit = 3,
): Promise<{ ids: string[]; cursor: number }> {
  const ids: string[] = [];
  for (let at = cursor; ;) {
    const { entries, through } = await store.afterInReach(at, reach, limit);
    ids.push(...entries.map(({ entry }) => entry.id));
    if (through === at || through >= (await store.head())) return { ids, cursor: through };
    at = through;
  }
}

/** @param share of the courses that are tried in an ordinary run: less where every statement is a way to a server */
export function followingContract(name: string, open: () => Promise<EntryStore>, share = 1): void {
  describe(`${name} store, by reach`, () => {
    const opened: EntryStore[] = [];
    const fresh = async (): Promise<EntryStore> => {
      const store = await open();
      opened.push(store);
      return store;
    };
    afterEach(async () => {
      for (const store of opened.splice(0)) await store.close();
    });

    it('gives a ward the entries of its own patients, page by page, and those of no other ward', async () => {
      const store = await fresh();
      const make = followingMaker(1);
      const gull = [make.registered('p1', 'gull'), make.voided('p1'), make.voided('p1')];
      const tern = [make.registered('p2', 'tern'), make.voided('p2')];
      for (const entry of [gull[0]!, tern[0]!, gull[1]!, tern[1]!, gull[2]!])
        await store.append([entry], context);
      expect(await store.patientsInReach(reachOf(['gull']))).toEqual(['p1']);
      expect(await store.patientsInReach(reachOf(['tern', 'gull']))).toEqual(['p1', 'p2']);
      expect(await store.patientsInReach(reachOf([]))).toEqual([]);
      const first = await store.afterInReach(0, reachOf(['gull']), 2);
      expect(first).toMatchObject({ through: 3 });
      expect(first.entries.map(({ entry, sequence }) => [entry.id, sequence])).toEqual([
        [gull[0]!.id, 1],
        [gull[1]!.id, 3],
      ]);
      expect((await readOn(store, first.through, reachOf(['gull']))).ids).toEqual([gull[2]!.id]);
      expect(await store.afterInReach(5, reachOf(['gull']), 2)).toEqual({ entries: [], through: 5 });
      expect(await store.followingOf('p1')).toEqual({
        patient: 'p1',
        ward: 'gull',
        watched: false,
        heardMs: startMs,
        followers: [{ kind: 'ward', id: 'gull', since: 1 }],
      });
      expect(await store.followingOf('nobody')).toBeUndefined();
    });

    it('[H13-arrives-whole] brings the whole record along with a move, to a reader who has read past most of it', async () => {
      const store = await fresh();
      const make = followingMaker(2);
      const old = [make.registered('p1', 'gull'), make.voided('p1'), make.voided('p1'), make.voided('p1')];
      await store.append([...old, make.registered('p2', 'tern')], context);
      const { cursor } = await readOn(store, 0, reachOf(['tern']));
      expect(cursor).toBe(5);
      const move = make.moved('p1', 'tern');
      await store.append([make.voided('p2'), move], context);
      // A limit of one does not part the record.
      const pages = [await store.afterInReach(cursor, reachOf(['tern']), 1)];
      pages.push(await store.afterInReach(pages[0]!.through, reachOf(['tern']), 1));
      expect(pages.map(({ entries }) => entries.length)).toEqual([1, 5]);
      expect(pages[1]!.entries.map(({ entry }) => entry.id)).toEqual([...old, move].map(({ id }) => id));
      expect(pages[1]!.through).toBe(7);
      expect(await store.patientsInReach(reachOf(['gull']))).toEqual([]);
    });

    it('[H13-giver-follows] leaves the giving ward its patient until the acceptance, and then for an hour', async () => {
      const store = await fresh();
      const make = followingMaker(3);
      const begun = [make.registered('p1', 'gull'), make.watch('p1', 'nurse-g'), make.moved('p1', 'tern')];
      const offer = make.offered('p1', 'tern');
      await store.append([...begun, offer], context);
      const both = reachOf(['gull']);
      expect(await store.patientsInReach(both)).toEqual(['p1']);
      expect(await store.patientsInReach(reachOf(['tern']))).toEqual(['p1']);
      const taken = make.accepted('p1', offer.id, 'nurse-t');
      await store.append([taken], context);
      const atMs = Date.parse(taken.effectiveAt);
      expect(await store.patientsInReach({ ...both, nowMs: atMs + 59 * minuteMs })).toEqual(['p1']);
      expect(await store.patientsInReach({ ...both, nowMs: atMs + 60 * minuteMs })).toEqual([]);
      expect(await store.patientsInReach({ ...reachOf([]), person: 'nurse-t' })).toEqual(['p1']);
      expect(await store.patientsInReach({ ...reachOf([]), person: 'nurse-g' })).toEqual([]);
    });

    it('gives an entry that was moved to another record to the ward of that patient, with what ties to it', async () => {
      const store = await fresh();
      const make = followingMaker(4);
      const wrong = make.voided('p1', 400);
      const other = make.voided('p1', 90);
      await store.append(
        [make.registered('p1', 'gull'), make.registered('p2', 'tern'), wrong, other],
        context,
      );
      const { cursor } = await readOn(store, 0, reachOf(['tern']));
      const moved = make.movedToPatient('p1', wrong.id, 'p2');
      await store.append([moved], context);
      const then = await readOn(store, cursor, reachOf(['tern']));
      expect(then.ids).toContain(wrong.id);
      expect(then.ids).toContain(moved.id);
      expect(then.ids).not.toContain(other.id);
      const back = make.withdrawn('p1', moved.id);
      await store.append([back], context);
      expect((await readOn(store, then.cursor, reachOf(['tern']))).ids).toEqual([back.id]);
      expect((await store.recordFor('p2')).map(({ entry }) => entry.id)).toEqual(
        expect.arrayContaining([wrong.id, moved.id, back.id]),
      );
      expect((await store.ofPatient('p2')).length).toBe(1);
    });

    it('lets somebody on no watch leave a ward by age, whole again with the next entry; a watch never leaves', async () => {
      const store = await fresh();
      const make = followingMaker(5);
      await store.append(
        [
          make.registered('p1', 'gull'),
          make.voided('p1'),
          make.registered('p2', 'gull'),
          make.watch('p2', 'nurse-g'),
        ],
        context,
      );
      const at = (ms: number): Reach => ({
        wards: [{ ward: 'gull', heardSinceMs: ms - 3 * dayMs }],
        nowMs: ms,
      });
      expect(await store.patientsInReach(at(startMs + 2 * dayMs))).toEqual(['p1', 'p2']);
      const laterMs = startMs + 5 * dayMs;
      expect(await store.patientsInReach(at(laterMs))).toEqual(['p2']);
      const { cursor } = await readOn(store, 0, at(laterMs));
      const next = make.voided('p1');
      await store.append([next], { receivedAt: instantOfMs(laterMs), actor: 'nurse-1' });
      const page = await store.afterInReach(cursor, at(laterMs), 1);
      expect(page.entries.map(({ sequence }) => sequence)).toEqual([1, 2, 5]);
    });

    it('[H13-arrives-whole] agrees with the fold of everything, and misses no reader an entry, on any course in any order of arrival', async () => {
      const wards = ['gull', 'tern', 'plover'] as const;
      const patients = ['p1', 'p2', 'p3'] as const;
      const act = fc.record({
        what: fc.constantFrom(
          'void',
          'void',
          'move',
          'watch',
          'close',
          'offer',
          'accept',
          'withdraw',
          'correct',
          'to-patient',
        ),
        patient: fc.constantFrom(...patients),
        ward: fc.constantFrom(...wards),
        person: fc.constantFrom('nurse-a', 'nurse-b'),
        pick: fc.nat(1000),
        /** How many others it arrives after. */
        delay: fc.nat(3),
        limit: fc.integer({ min: 1, max: 5 }),
        reads: fc.boolean(),
      });
      await fc.assert(
        fc.asyncProperty(fc.array(act, { minLength: 1, maxLength: 22 }), async (acts) => {
          const store = await open();
          const make = followingMaker(6);
          const made: Entry[] = patients.map((patient, index) => make.registered(patient, wards[index]!));
          const arriving: { entry: Entry; at: number; limit: number; reads: boolean }[] = made.map(
            (entry) => ({ entry, at: -1, limit: 5, reads: false }),
          );
          for (const [index, { what, patient, ward, person, pick, delay, limit, reads }] of acts.entries()) {
            const target = made[pick % made.length]!;
            const offers = made.filter(({ kind }) => kind === 'ownership-offered');
            const entry =
              what === 'move'
                ? make.moved(patient, ward)
                : what === 'watch'
                  ? make.watch(patient, person)
                  : what === 'close'
                    ? make.closed(patient)
                    : what === 'offer'
                      ? make.offered(patient, ward)
                      : what === 'accept' && offers.length > 0
                        ? make.accepted(offers.at(-1)!.patient, offers.at(-1)!.id, person)
                        : what === 'withdraw'
                          ? make.withdrawn(patient, target.id)
                          : what === 'correct' && target.kind === 'transferred'
                            ? make.corrected(target, ward)
                            : what === 'to-patient'
                              ? make.movedToPatient(target.patient, target.id, patient)
                              : make.voided(patient);
            made.push(entry);
            arriving.push({ entry, at: index + delay, limit, reads });
          }
          arriving.sort((a, b) => a.at - b.at);
          const nowMs = startMs + 1000 * dayMs;
          const readers = wards.map((ward) => ({
            reach: reachOf([ward], { nowMs, person: ward === 'gull' ? 'nurse-a' : 'nobody' }),
            cursor: 0,
            held: new Set<string>(),
          }));
          const known: Entry[] = [];
          for (const { entry, limit, reads } of arriving) {
            await store.append([entry], context);
            known.push(entry);
            if (!reads && known.length < arriving.length) continue;
            const groups = entriesByPatient(known);
            for (const patient of groups.keys()) {
              const { followers, ...rest } = followingOf(patient, groups.get(patient) ?? []);
              const kept = await store.followingOf(patient);
              expect({ ...rest, followers }).toEqual({
                ward: kept?.ward,
                watched: kept?.watched,
                followers: kept?.followers.map(({ since: _since, ...follower }) => follower),
              });
            }
            for (const reader of readers) {
              const next = await readOn(store, reader.cursor, reader.reach, limit);
              reader.cursor = next.cursor;
              for (const id of next.ids) reader.held.add(id);
              for (const patient of await store.patientsInReach(reader.reach)) {
                const wanted = (await store.recordFor(patient)).map((kept) => kept.entry.id);
                expect(wanted.filter((id) => !reader.held.has(id))).toEqual([]);
                // What the reader holds folds to the same facts as everything does.
                const held = known.filter(({ id }) => reader.held.has(id));
                expect(followingOf(patient, held)).toEqual(followingOf(patient, groups.get(patient) ?? []));
              }
            }
          }
          await store.close();
        }),
        { seed: 20_261_128, numRuns: Math.round(share * (process.env['EBBLINE_LONG'] === '1' ? 1500 : 60)) },
      );
    }, 120_000);
  });
}
