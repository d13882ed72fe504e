/**
 * Entries in the browser: what a tablet keeps of its unit. One append is one transaction over the three object
 * stores, with strict durability where the browser offers it. The outbox holds what the server has not yet
 * confirmed.
 */
import { deleteDB, openDB, type IDBPDatabase } from 'idb';
import { controlIsOn } from '@ebbline/core/quantity';
import { chainAfter, chainStart } from '../audit-chain.ts';
import { boundsOf } from '../audit-page.ts';
import { canonicalText } from '../canonical.ts';
import { listeners } from '../listeners.ts';
import { idReused, otherOrganisation } from '../refusals.ts';
import { sha256Hex } from '../sha256.ts';
import { happenedAt } from '../port.ts';
import { fillFollowing, followingReads, followingWrites } from './following-rows.ts';
import { keptOf, tableNames, type Tables } from './tables.ts';
import type {
  Appended,
  AuditNote,
  AuditPage,
  AuditRow,
  EntryStore,
  NotAppended,
  OutboxRow,
  StepProbe,
} from '../port.ts';

export interface IndexedDbStoreOptions {
  readonly organisation: string;
  /** Name of the database in the browser. */
  readonly name?: string;
  /** Called when a newer version of the program wants to change the tables: close and reload. */
  readonly onBlocking?: () => void;
  /** Test-only: called before each step, may throw. */
  readonly onStep?: StepProbe;
}

const defaultName = 'ebbline';

const auditOf = (row: AuditRow): AuditRow => ({
  sequence: row.sequence,
  at: row.at,
  actor: row.actor,
  action: row.action,
  subject: row.subject,
  ...(row.patient === undefined ? {} : { patient: row.patient }),
  ...(row.contentDigest === undefined ? {} : { contentDigest: row.contentDigest }),
  ...(row.toldAt === undefined ? {} : { toldAt: row.toldAt }),
  ...(row.noteId === undefined ? {} : { noteId: row.noteId }),
  ...(row.detail === undefined ? {} : { detail: row.detail }),
  chain: row.chain,
});

const outboxOf = (row: OutboxRow): OutboxRow => ({
  sequence: row.sequence,
  id: row.id,
  queuedAt: row.queuedAt,
  ...(row.sentAt === undefined ? {} : { sentAt: row.sentAt }),
});

function createTables(fresh: IDBPDatabase<Tables>): void {
  const entry = fresh.createObjectStore('entry', { keyPath: ['organisation', 'sequence'] });
  entry.createIndex('id', ['organisation', 'id'], { unique: true });
  entry.createIndex('patient', ['organisation', 'patient', 'sequence']);
  entry.createIndex('kind', ['organisation', 'patient', 'kind']);
  fresh.createObjectStore('audit', { keyPath: ['organisation', 'sequence'] });
  const outbox = fresh.createObjectStore('outbox', { keyPath: ['organisation', 'sequence'] });
  outbox.createIndex('waiting', ['organisation', 'waiting', 'sequence']);
  fresh.createObjectStore('bookmark', { keyPath: ['organisation', 'name'] });
}

/** Removes everything that a tablet keeps, such as when it leaves the unit. */
export function wipeIndexedDbStore(name: string = defaultName): Promise<void> {
  return deleteDB(name);
}

export async function openIndexedDbStore(options: IndexedDbStoreOptions): Promise<EntryStore> {
  const { organisation, name = defaultName, onBlocking, onStep } = options;
  const database: IDBPDatabase<Tables> = await openDB<Tables>(name, 3, {
    upgrade: async (fresh, from, _to, transaction) => {
      if (from < 1) createTables(fresh);
      if (from < 2) {
        const audit = transaction.objectStore('audit');
        audit.createIndex('note', ['organisation', 'noteId'], { unique: true });
        audit.createIndex('patient', ['organisation', 'patient', 'happenedAt', 'sequence']);
        audit.createIndex('actor', ['organisation', 'actor', 'happenedAt', 'sequence']);
        for (let row = await audit.openCursor(); row; row = await row.continue())
          if (row.value.action !== 'kept')
            await row.update({ ...row.value, happenedAt: happenedAt(row.value) });
      }
      fresh.createObjectStore('reference', { keyPath: ['organisation', 'target', 'sequence'] });
      fresh.createObjectStore('elsewhere', { keyPath: ['organisation', 'patient', 'sequence'] });
      fresh
        .createObjectStore('following', { keyPath: ['organisation', 'patient'] })
        .createIndex('follower', 'keys', { multiEntry: true });
      if (from > 0)
        await fillFollowing(transaction.objectStore('entry'), followingWrites(organisation, transaction));
    },
    blocking: () => {
      onBlocking?.();
      database.close();
    },
  });
  const all = IDBKeyRange.bound([organisation, 0], [organisation, Number.MAX_SAFE_INTEGER]);
  const later = (sequence: number): IDBKeyRange =>
    IDBKeyRange.bound([organisation, sequence], [organisation, Number.MAX_SAFE_INTEGER], true);
  const listening = listeners();
  const count = (limit: number): number => Math.min(limit, 0xffff_ffff);

  const writeNotes = async (notes: readonly AuditNote[]): Promise<number> => {
    const transaction = database.transaction('audit', 'readwrite', { durability: 'strict' });
    const newest = await transaction.store.openCursor(all, 'prev');
    let sequence = newest?.value.sequence ?? 0;
    let chain = newest?.value.chain ?? chainStart;
    let added = 0;
    for (const note of notes) {
      const known =
        note.noteId !== undefined &&
        (await transaction.store.index('note').getKey([organisation, note.noteId])) !== undefined;
      if (known) continue;
      sequence += 1;
      chain = chainAfter(chain, sequence, note);
      await transaction.store.add({ organisation, ...note, happenedAt: happenedAt(note), sequence, chain });
      added += 1;
    }
    await transaction.done;
    return added;
  };
  const pageOfIndex = async (
    index: 'patient' | 'actor',
    of: string,
    page: AuditPage,
  ): Promise<readonly AuditRow[]> => {
    const { from, last, below, limit } = boundsOf(page);
    if (from > last) return [];
    const range = IDBKeyRange.bound(
      [organisation, of, from, 0],
      [organisation, of, last, below],
      false,
      true,
    );
    const rows: AuditRow[] = [];
    let cursor = await database.transaction('audit').store.index(index).openCursor(range, 'prev');
    for (; cursor && rows.length < limit; cursor = await cursor.continue()) rows.push(auditOf(cursor.value));
    return rows;
  };

  return {
    organisation,
    append: async (given, { receivedAt, actor, origin }) => {
      const kept: Appended[] = [];
      const refused: NotAppended[] = [];
      let newestSequence = 0;
      const transaction = database.transaction(tableNames, 'readwrite', {
        durability: 'strict',
      });
      // A rejection of `done` is answered below; this keeps an early abort from counting as unhandled.
      transaction.done.catch(() => undefined);
      try {
        const entries = transaction.objectStore('entry');
        const audits = transaction.objectStore('audit');
        const outbox = transaction.objectStore('outbox');
        const following = followingWrites(organisation, transaction);
        let sequence = (await entries.openKeyCursor(all, 'prev'))?.primaryKey[1] ?? 0;
        const newest = await audits.openCursor(all, 'prev');
        let auditSequence = newest?.value.sequence ?? 0;
        let chain = newest?.value.chain ?? chainStart;
        for (const entry of given) {
          if (entry.organisation !== organisation) {
            refused.push({ id: entry.id, refusal: otherOrganisation() });
            continue;
          }
          const content = canonicalText(entry);
          const before = await entries.index('id').get([organisation, entry.id]);
          if (before && controlIsOn('H5-idempotent')) {
            if (before.content === content) kept.push({ ...keptOf(before), known: true });
            else refused.push({ id: entry.id, refusal: idReused() });
            continue;
          }
          const at = typeof receivedAt === 'function' ? receivedAt(entry) : receivedAt;
          sequence += 1;
          onStep?.('entry', entry.id);
          await entries.add({
            organisation,
            sequence,
            id: entry.id,
            patient: entry.patient,
            kind: entry.kind,
            receivedAt: at,
            content,
          });
          onStep?.('audit', entry.id);
          const note: AuditNote = {
            at,
            actor,
            action: 'kept',
            subject: entry.id,
            patient: entry.patient,
            contentDigest: sha256Hex(content),
          };
          auditSequence += 1;
          chain = chainAfter(chain, auditSequence, note);
          await audits.add({ organisation, ...note, sequence: auditSequence, chain });
          onStep?.('outbox', entry.id);
          await outbox.add({
            organisation,
            sequence,
            id: entry.id,
            queuedAt: at,
            ...(origin === 'elsewhere' ? { sentAt: at } : { waiting: 1 as const }),
          });
          onStep?.('following', entry.id);
          await following.noteEntry({ entry, receivedAt: at, sequence });
          kept.push({ entry, receivedAt: at, sequence, known: false });
          newestSequence = sequence;
        }
        await following.settle();
        onStep?.('commit');
      } catch (problem) {
        try {
          transaction.abort();
        } catch {
          // The browser has aborted it already.
        }
        await transaction.done.catch(() => undefined);
        throw problem;
      }
      await transaction.done;
      if (kept.some(({ known }) => !known)) listening.tell(newestSequence);
      return { kept, refused };
    },
    after: async (sequence, limit) =>
      (await database.getAll('entry', later(sequence), count(limit))).map(keptOf),
    ofPatient: async (patient) => {
      const range = IDBKeyRange.bound(
        [organisation, patient, 0],
        [organisation, patient, Number.MAX_SAFE_INTEGER],
      );
      return (await database.getAllFromIndex('entry', 'patient', range)).map(keptOf);
    },
    ...followingReads(organisation, database),
    byId: async (id) => {
      const row = await database.getFromIndex('entry', 'id', [organisation, id]);
      return row && keptOf(row);
    },
    head: async () =>
      (await database.transaction('entry').store.openKeyCursor(all, 'prev'))?.primaryKey[1] ?? 0,
    knowsPatient: async (patient) =>
      (await database.countFromIndex('entry', 'kind', [organisation, patient, 'patient-registered'])) > 0,
    onAppended: listening.add,
    note: async (note) => void (await writeNotes([note])),
    noteAll: writeNotes,
    notesOfPatient: (patient, page) => pageOfIndex('patient', patient, page),
    notesOfActor: (actor, page) => pageOfIndex('actor', actor, page),
    auditAfter: async (sequence, limit) =>
      (await database.getAll('audit', later(sequence), count(limit))).map(auditOf),
    auditHead: async () => {
      const newest = await database.transaction('audit').store.openCursor(all, 'prev');
      return { auditRows: newest?.value.sequence ?? 0, chain: newest?.value.chain ?? chainStart };
    },
    waiting: async (limit) => {
      const range = IDBKeyRange.bound([organisation, 1, 0], [organisation, 1, Number.MAX_SAFE_INTEGER]);
      return (await database.getAllFromIndex('outbox', 'waiting', range, count(limit))).map(outboxOf);
    },
    outboxAfter: async (sequence, limit) =>
      (await database.getAll('outbox', later(sequence), count(limit))).map(outboxOf),
    markSent: async (sequences, sentAt) => {
      const transaction = database.transaction('outbox', 'readwrite', { durability: 'strict' });
      for (const sequence of sequences) {
        const row = await transaction.store.get([organisation, sequence]);
        if (row?.waiting === undefined) continue;
        await transaction.store.put({ organisation, ...outboxOf(row), sentAt });
      }
      await transaction.done;
    },
    bookmark: async (bookmark) => (await database.get('bookmark', [organisation, bookmark]))?.value ?? 0,
    setBookmark: async (bookmark, value) => {
      await database.put('bookmark', { organisation, name: bookmark, value });
    },
    close: async () => database.close(),
  };
}
