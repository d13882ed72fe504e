// Proves     every adapter of the port keeps entries, audit and outbox as one unit, once by id, in one order
// Published  none: the port's own promises (port.ts)
// Tolerance  exact
import { afterEach, describe, expect, it, vi } from 'vitest';
import fc from 'fast-check';
import { instantOfMs } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { chainAfter, verifyStore } from './audit-chain.ts';
import { canonicalText } from './canonical.ts';
import { followingContract } from './following.contract.ts';
import {
  happenedAt,
  type AppendStep,
  type AuditNote,
  type AuditRow,
  type EntryStore,
  type StepProbe,
} from './port.ts';
import { entryMaker, startMs } from './testing/entries.ts';

const receivedAt = instantOfMs(startMs);
const context = { receivedAt, actor: 'nurse-1' };
const everything = 1_000_000;

/** Runs the whole suite against one adapter. `open` gives an empty store each time. */
export function storeContract(
  name: string,
  open: (onStep?: StepProbe) => Promise<EntryStore>,
  share?: number,
): void {
  followingContract(name, () => open(), share);
  describe(`${name} store`, () => {
    const opened: EntryStore[] = [];
    const fresh = async (onStep?: StepProbe): Promise<EntryStore> => {
      const store = await open(onStep);
      opened.push(store);
      return store;
    };
    afterEach(async () => {
      for (const store of opened.splice(0)) await store.close();
    });

    it('gives back what it kept, in order, with the instant at which it was received', async () => {
      const store = await fresh();
      const make = entryMaker(1);
      const entries = [make.registered('p1'), make.voided('p1', 240), make.voided('p1', 0)];
      const result = await store.append(entries, context);
      expect(result.refused).toEqual([]);
      expect(result.kept).toEqual(
        entries.map((entry, index) => ({ entry, receivedAt, sequence: index + 1, known: false })),
      );
      expect(await store.after(0, everything)).toEqual(
        entries.map((entry, index) => ({ entry, receivedAt, sequence: index + 1 })),
      );
      expect(await store.head()).toBe(3);
      expect((await store.byId(entries[1]!.id))?.entry).toEqual(entries[1]);
      expect(await store.byId(make.voided('p1').id)).toBeUndefined();
    });

    it('reads on from any sequence, page by page, with no gap and nothing twice', async () => {
      const store = await fresh();
      const make = entryMaker(2);
      for (let index = 0; index < 7; index += 1)
        await store.append([make.voided('p1'), make.voided('p2')], context);
      const seen: number[] = [];
      for (let at = 0; at < 14;) {
        const page = await store.after(at, 4);
        seen.push(...page.map(({ sequence }) => sequence));
        at = seen.at(-1)!;
      }
      expect(seen).toEqual(Array.from({ length: 14 }, (_, index) => index + 1));
      expect(await store.after(14, 4)).toEqual([]);
    });

    it('[H5-idempotent] keeps an entry once, however often it arrives, and says that it knew it', async () => {
      const store = await fresh();
      const entry = entryMaker(3).voided('p1', 310);
      const first = await store.append([entry], context);
      const reordered = Object.fromEntries(Object.entries(entry).reverse()) as unknown as Entry;
      const again = await store.append([reordered, entry], {
        receivedAt: instantOfMs(startMs + 60_000),
        actor: 'nurse-2',
      });
      expect(again.refused).toEqual([]);
      expect(again.kept).toEqual([first.kept[0], first.kept[0]].map((kept) => ({ ...kept, known: true })));
      expect(await store.head()).toBe(1);
      expect(await store.auditAfter(0, everything)).toHaveLength(1);
      expect(await store.outboxAfter(0, everything)).toHaveLength(1);
    });

    it('[H5-idempotent] keeps an entry once when it stands twice in one append', async () => {
      const store = await fresh();
      const entry = entryMaker(4).voided('p1', 310);
      const { kept } = await store.append([entry, entry], context);
      expect(kept.map(({ known }) => known)).toEqual([false, true]);
      expect(await store.head()).toBe(1);
    });

    it('[H5-idempotent] refuses other content under an id that is taken, and keeps the first', async () => {
      const store = await fresh();
      const make = entryMaker(5);
      const entry = make.voided('p1', 45);
      await store.append([entry], context);
      const other = { ...entry, payload: { how: 'measured', volumeMl: 450 } } as Entry;
      const next = make.voided('p1', 120);
      const result = await store.append([other, next], context);
      expect(result.refused.map(({ id, refusal }) => [id, refusal.code])).toEqual([
        [entry.id, 'store/id-reused'],
      ]);
      expect(result.kept.map((kept) => kept.entry.id)).toEqual([next.id]);
      expect((await store.byId(entry.id))?.entry).toEqual(entry);
    });

    it('refuses an entry of another organisation', async () => {
      const store = await fresh();
      const entry = { ...entryMaker(6).voided('p1'), organisation: 'elsewhere' };
      const result = await store.append([entry], context);
      expect(result.refused[0]?.refusal.code).toBe('store/other-organisation');
      expect(await store.head()).toBe(0);
    });

    it('knows a patient once registered, and gives only that record', async () => {
      const store = await fresh();
      const make = entryMaker(7);
      const own = [make.registered('p1'), make.voided('p1')];
      await store.append([own[0]!, make.voided('p2'), own[1]!], context);
      expect(await store.knowsPatient('p1')).toBe(true);
      expect(await store.knowsPatient('p2')).toBe(false);
      expect((await store.ofPatient('p1')).map(({ entry }) => entry)).toEqual(own);
    });

    it('writes one audit row and one outbox row for each entry, naming it', async () => {
      const store = await fresh();
      const make = entryMaker(8);
      const entries = [make.registered('p1'), make.voided('p1')];
      await store.append(entries, context);
      const audit = await store.auditAfter(0, everything);
      expect(
        audit.map(({ sequence, subject, action, actor, at, patient }) => ({
          sequence,
          subject,
          action,
          actor,
          at,
          patient,
        })),
      ).toEqual(
        entries.map((entry, index) => ({
          sequence: index + 1,
          subject: entry.id,
          action: 'kept',
          actor: 'nurse-1',
          at: receivedAt,
          patient: 'p1',
        })),
      );
      expect(await store.outboxAfter(0, everything)).toEqual(
        entries.map(({ id }, index) => ({ sequence: index + 1, id, queuedAt: receivedAt })),
      );
    });

    it('takes what came from elsewhere as sent already', async () => {
      const store = await fresh();
      const make = entryMaker(9);
      await store.append([make.voided('p1')], { ...context, origin: 'elsewhere' });
      const own = make.voided('p1');
      await store.append([own], context);
      expect((await store.waiting(10)).map(({ id }) => id)).toEqual([own.id]);
    });

    it('lets go of what was sent, once, and keeps the rest waiting in order', async () => {
      const store = await fresh();
      const make = entryMaker(10);
      await store.append([make.voided('p1'), make.voided('p1'), make.voided('p1')], context);
      await store.markSent([2], receivedAt);
      await store.markSent([2], instantOfMs(startMs + 1));
      expect((await store.waiting(10)).map(({ sequence }) => sequence)).toEqual([1, 3]);
      expect((await store.waiting(1)).map(({ sequence }) => sequence)).toEqual([1]);
      expect((await store.outboxAfter(1, 1))[0]?.sentAt).toBe(receivedAt);
    });

    it('takes the instant of receipt entry by entry when the entries come with their own', async () => {
      const store = await fresh();
      const make = entryMaker(11);
      const entries = [make.voided('p1'), make.voided('p1')];
      await store.append(entries, { receivedAt: (entry) => entry.recordedAt, actor: 'import' });
      expect((await store.after(0, 9)).map((kept) => kept.receivedAt)).toEqual(
        entries.map(({ recordedAt }) => recordedAt),
      );
    });

    it('remembers a number under a name', async () => {
      const store = await fresh();
      expect(await store.bookmark('server')).toBe(0);
      await store.setBookmark('server', 41);
      await store.setBookmark('server', 42);
      expect(await store.bookmark('server')).toBe(42);
      expect(await store.bookmark('other')).toBe(0);
    });

    it('tells who listens how far the record goes once something new is kept, until they have enough', async () => {
      const store = await fresh();
      const make = entryMaker(16);
      const heads: number[] = [];
      const other: number[] = [];
      const stop = store.onAppended((head) => heads.push(head));
      const stopOther = store.onAppended((head) => other.push(head));
      const first = make.voided('p1');
      await store.append([first, make.voided('p1')], context);
      await vi.waitFor(() => expect([heads.at(-1), other.at(-1)]).toEqual([2, 2]), { interval: 2 });
      stop();
      await store.append([first], context);
      await store.append([make.voided('p2')], context);
      await vi.waitFor(() => expect(other.at(-1)).toBe(3), { interval: 2 });
      expect(heads.at(-1)).toBe(2);
      expect(other).toEqual([...other].sort((one, another) => one - another));
      stopOther();
    });

    it('keeps the audit as a chain that notes and entries share', async () => {
      const store = await fresh();
      const make = entryMaker(12);
      await store.note({ at: receivedAt, actor: 'nurse-1', action: 'signed-in', subject: 'nurse-1' });
      await store.append([make.voided('p1'), make.voided('p2')], context);
      await store.note({
        at: receivedAt,
        actor: 'nurse-1',
        action: 'read',
        subject: 'record',
        patient: 'p1',
      });
      const rows = await store.auditAfter(0, everything);
      expect(rows.map(({ action }) => action)).toEqual(['signed-in', 'kept', 'kept', 'read']);
      for (const [index, row] of rows.entries()) {
        expect(row.chain).toBe(chainAfter(rows[index - 1]?.chain ?? '0'.repeat(64), index + 1, row));
      }
      expect(await verifyStore(store)).toEqual({ auditRows: 4, entries: 2, chain: rows[3]?.chain });
      expect(await store.auditHead()).toEqual({ auditRows: 4, chain: rows[3]?.chain });
      expect(await (await fresh()).auditHead()).toEqual({ auditRows: 0, chain: '0'.repeat(64) });
    });

    it('keeps what a tablet told of later, with its own time and place, and links it into the chain', async () => {
      const store = await fresh();
      const note: AuditNote = {
        at: receivedAt,
        actor: 'nurse-1',
        action: 'viewed',
        subject: 'patient',
        patient: 'p1',
        toldAt: instantOfMs(startMs - 3_600_000),
        noteId: 'view-1',
        detail: { ward: 'harbour-3', tablet: 'tablet-1', actorWards: ['harbour-3', 'harbour-4'] },
      };
      expect(await store.noteAll([note, { ...note, noteId: 'view-2' }])).toBe(2);
      const [row] = await store.auditAfter(0, 1);
      expect(row).toEqual({ ...note, sequence: 1, chain: chainAfter('0'.repeat(64), 1, note) });
      expect(chainAfter('0'.repeat(64), 1, { ...note, noteId: 'view-3' })).not.toBe(row?.chain);
      expect(chainAfter('0'.repeat(64), 1, { ...note, detail: { ward: 'harbour-3' } })).not.toBe(row?.chain);
      expect(await verifyStore(store)).toMatchObject({ auditRows: 2 });
    });

    it('adds nothing when the same notes are told again, alone or among new ones', async () => {
      const store = await fresh();
      const note = (noteId: string): AuditNote => ({
        at: receivedAt,
        actor: 'nurse-1',
        action: 'viewed',
        subject: 'patient',
        patient: 'p1',
        noteId,
      });
      expect(await store.noteAll([note('a'), note('b')])).toBe(2);
      expect(await store.noteAll([note('b'), note('c'), note('c')])).toBe(1);
      expect(await store.noteAll([])).toBe(0);
      expect((await store.auditAfter(0, everything)).map(({ noteId }) => noteId)).toEqual(['a', 'b', 'c']);
      expect(await verifyStore(store)).toMatchObject({ auditRows: 3 });
    });

    it('tells page by page who looked at one patient and what one person looked at, newest first by when it happened', async () => {
      const store = await fresh();
      const make = entryMaker(16);
      const minute = (count: number) => instantOfMs(startMs + count * 60_000);
      await store.append([make.registered('p1'), make.voided('p2'), make.voided('p1')], context);
      // Told in another order than they happened, several in one instant.
      for (const [index, at] of [7, 2, 9, 2, 2, 5].entries())
        await store.note({
          at: minute(20 + index),
          actor: index % 2 === 0 ? 'nurse-1' : 'nurse-2',
          action: 'viewed',
          subject: 'patient',
          patient: 'p1',
          toldAt: minute(at),
        });
      await store.note({ at: minute(30), actor: 'nurse-1', action: 'signed-in', subject: 'nurse-1' });
      const whole = await store.notesOfPatient('p1', { limit: everything });
      expect(whole.map((row) => [happenedAt(row), row.sequence])).toEqual([
        [minute(9), 6],
        [minute(7), 4],
        [minute(5), 9],
        [minute(2), 8],
        [minute(2), 7],
        [minute(2), 5],
      ]);
      const paged: AuditRow[] = [];
      for (let more = true; more;) {
        const last = paged.at(-1);
        const page = await store.notesOfPatient('p1', {
          limit: 2,
          ...(last === undefined
            ? {}
            : { olderThan: { happenedAt: happenedAt(last), sequence: last.sequence } }),
        });
        paged.push(...page);
        more = page.length > 0;
      }
      expect(paged).toEqual(whole);
      expect(
        (await store.notesOfPatient('p1', { from: minute(2), until: minute(7), limit: 9 })).map(
          ({ sequence }) => sequence,
        ),
      ).toEqual([9, 8, 7, 5]);
      expect((await store.notesOfActor('nurse-1', { limit: 99 })).map(({ sequence }) => sequence)).toEqual([
        10, 6, 4, 8,
      ]);
      expect(await store.notesOfPatient('nobody', { limit: 9 })).toEqual([]);
      expect(await store.notesOfPatient('p1', { from: minute(7), until: minute(2), limit: 9 })).toEqual([]);
    });

    for (const step of [
      'entry',
      'audit',
      'outbox',
      'following',
      'commit',
    ] as const satisfies readonly AppendStep[]) {
      for (const nth of step === 'commit' ? [1] : [1, 2, 3]) {
        it(`keeps nothing of an append when its step "${step}" number ${nth} fails, and goes on after it`, async () => {
          let armed = false;
          let count = 0;
          const store = await fresh((at) => {
            if (armed && at === step && (count += 1) === nth) throw new Error('planted failure');
          });
          const make = entryMaker(13);
          const before = make.voided('p1');
          await store.append([before], context);
          const batch = [make.voided('p1'), make.voided('p2'), make.voided('p3')];
          armed = true;
          await expect(store.append(batch, context)).rejects.toThrow('planted failure');
          armed = false;
          const stands = async () => ({
            entries: (await store.after(0, everything)).map(({ entry }) => entry.id),
            audit: (await store.auditAfter(0, everything)).map(({ subject }) => subject),
            outbox: (await store.outboxAfter(0, everything)).map(({ id }) => id),
          });
          expect(await stands()).toEqual({ entries: [before.id], audit: [before.id], outbox: [before.id] });
          await store.append(batch, context);
          const ids = [before, ...batch].map(({ id }) => id);
          expect(await stands()).toEqual({ entries: ids, audit: ids, outbox: ids });
          expect(await verifyStore(store)).toMatchObject({ entries: 4, auditRows: 4 });
        });
      }
    }

    it('keeps a failing append from touching others of the same moment', async () => {
      const make = entryMaker(14);
      const batches = Array.from({ length: 5 }, () => [make.voided('p1'), make.voided('p1')]);
      const store = await fresh((at, id) => {
        if (at === 'outbox' && id === batches[1]?.[1]?.id) throw new Error('planted failure');
      });
      const results = await Promise.allSettled(batches.map((batch) => store.append(batch, context)));
      const fulfilled = results
        .flatMap((result, index) => (result.status === 'fulfilled' ? batches[index]! : []))
        .map(({ id }) => id);
      expect(results.map(({ status }) => status)).toEqual([
        'fulfilled',
        'rejected',
        'fulfilled',
        'fulfilled',
        'fulfilled',
      ]);
      expect((await store.after(0, everything)).map(({ entry }) => entry.id).sort()).toEqual(
        [...fulfilled].sort(),
      );
      expect(await verifyStore(store)).toMatchObject({ entries: 8 });
    });

    it('agrees with a plain map after any mix of new, repeated and changed entries', async () => {
      const make = entryMaker(15);
      const pool = Array.from({ length: 12 }, (_, index) => make.voided(`p${index % 3}`, 10 * index));
      const pick = fc.record({ index: fc.nat(pool.length - 1), changed: fc.boolean() });
      await fc.assert(
        fc.asyncProperty(fc.array(fc.array(pick, { maxLength: 5 }), { maxLength: 8 }), async (batches) => {
          const store = await open();
          const model = new Map<string, string>();
          for (const batch of batches) {
            const entries = batch.map(({ index, changed }) => {
              const entry = pool[index]!;
              return changed ? ({ ...entry, author: 'nurse-2' } as Entry) : entry;
            });
            const { kept, refused } = await store.append(entries, context);
            const expected = entries.map((entry) => {
              const text = canonicalText(entry);
              const had = model.get(entry.id);
              if (had === undefined) model.set(entry.id, text);
              return had === undefined || had === text ? 'kept' : 'refused';
            });
            expect(kept.map(({ entry }) => entry.id)).toEqual(
              entries.filter((_, at) => expected[at] === 'kept').map(({ id }) => id),
            );
            expect(refused.map(({ id }) => id)).toEqual(
              entries.filter((_, at) => expected[at] === 'refused').map(({ id }) => id),
            );
          }
          expect(
            (await store.after(0, everything)).map(({ entry }) => [entry.id, canonicalText(entry)]),
          ).toEqual([...model]);
          await store.close();
        }),
        { seed: 20260512, numRuns: 25 },
      );
    });
  });
}
