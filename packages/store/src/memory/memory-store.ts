/**
 * Entries in memory: for tests and for what is thrown away. Behaves as the other adapters do, unit of append
 * included: rows are put together first and added only when every step has passed.
 */
import { controlIsOn } from '@ebbline/core/quantity';
import type { KeptEntry } from '@ebbline/core/record';
import { chainAfter, chainStart } from '../audit-chain.ts';
import { pageOf } from '../audit-page.ts';
import { canonicalText } from '../canonical.ts';
import { sha256Hex } from '../sha256.ts';
import { listeners } from '../listeners.ts';
import { idReused, otherOrganisation } from '../refusals.ts';
import type {
  Appended,
  AuditNote,
  AuditRow,
  EntryStore,
  NotAppended,
  OutboxRow,
  StepProbe,
} from '../port.ts';

interface Kept extends KeptEntry {
  readonly content: string;
}

export interface MemoryStoreOptions {
  readonly organisation: string;
  /** Test-only: called before each step, may throw. */
  readonly onStep?: StepProbe;
}

export function openMemoryStore({ organisation, onStep }: MemoryStoreOptions): EntryStore {
  const entries: Kept[] = [];
  const byId = new Map<string, Kept>();
  const audit: AuditRow[] = [];
  const noteIds = new Set<string>();
  const outbox: OutboxRow[] = [];
  const bookmarks = new Map<string, number>();
  const listening = listeners();

  const auditRow = (note: AuditNote, before: AuditRow | undefined): AuditRow => {
    const sequence = (before?.sequence ?? 0) + 1;
    return { ...note, sequence, chain: chainAfter(before?.chain ?? chainStart, sequence, note) };
  };
  const plain = ({ entry, receivedAt, sequence }: Kept): KeptEntry => ({ entry, receivedAt, sequence });

  return {
    organisation,
    append: async (given, { receivedAt, actor, origin }) => {
      const kept: Appended[] = [];
      const refused: NotAppended[] = [];
      const newEntries = new Map<string, Kept>();
      const newAudit: AuditRow[] = [];
      const newOutbox: OutboxRow[] = [];
      for (const entry of given) {
        if (entry.organisation !== organisation) {
          refused.push({ id: entry.id, refusal: otherOrganisation() });
          continue;
        }
        const content = canonicalText(entry);
        const before = byId.get(entry.id) ?? newEntries.get(entry.id);
        if (before && controlIsOn('H5-idempotent')) {
          if (before.content === content) kept.push({ ...plain(before), known: true });
          else refused.push({ id: entry.id, refusal: idReused() });
          continue;
        }
        const at = typeof receivedAt === 'function' ? receivedAt(entry) : receivedAt;
        const sequence = entries.length + newEntries.size + 1;
        onStep?.('entry', entry.id);
        const row: Kept = { entry: structuredClone(entry), receivedAt: at, sequence, content };
        newEntries.set(entry.id, row);
        onStep?.('audit', entry.id);
        const note: AuditNote = {
          at,
          actor,
          action: 'kept',
          subject: entry.id,
          patient: entry.patient,
          contentDigest: sha256Hex(content),
        };
        newAudit.push(auditRow(note, newAudit.at(-1) ?? audit.at(-1)));
        onStep?.('outbox', entry.id);
        newOutbox.push({
          sequence,
          id: entry.id,
          queuedAt: at,
          ...(origin === 'elsewhere' ? { sentAt: at } : {}),
        });
        kept.push({ ...plain(row), known: false });
      }
      onStep?.('commit');
      for (const row of newEntries.values()) {
        entries.push(row);
        byId.set(row.entry.id, row);
      }
      audit.push(...newAudit);
      outbox.push(...newOutbox);
      if (newEntries.size > 0) listening.tell(entries.length);
      return { kept, refused };
    },
    after: async (sequence, limit) => entries.slice(sequence, sequence + limit).map(plain),
    ofPatient: async (patient) => entries.filter(({ entry }) => entry.patient === patient).map(plain),
    byId: async (id) => {
      const found = byId.get(id);
      return found && plain(found);
    },
    head: async () => entries.length,
    knowsPatient: async (patient) =>
      entries.some(({ entry }) => entry.kind === 'patient-registered' && entry.patient === patient),
    onAppended: listening.add,
    note: async (note) => void audit.push(auditRow(note, audit.at(-1))),
    noteAll: async (notes) => {
      let added = 0;
      for (const note of notes) {
        if (note.noteId !== undefined && noteIds.has(note.noteId)) continue;
        if (note.noteId !== undefined) noteIds.add(note.noteId);
        audit.push(auditRow(note, audit.at(-1)));
        added += 1;
      }
      return added;
    },
    notesOfPatient: async (patient, page) =>
      pageOf(
        audit.filter((row) => row.patient === patient && row.action !== 'kept'),
        page,
      ),
    notesOfActor: async (actor, page) =>
      pageOf(
        audit.filter((row) => row.actor === actor && row.action !== 'kept'),
        page,
      ),
    auditAfter: async (sequence, limit) => audit.slice(sequence, sequence + limit),
    auditHead: async () => ({ auditRows: audit.length, chain: audit.at(-1)?.chain ?? chainStart }),
    waiting: async (limit) => outbox.filter((row) => row.sentAt === undefined).slice(0, limit),
    outboxAfter: async (sequence, limit) => outbox.slice(sequence, sequence + limit),
    markSent: async (sequences, sentAt) => {
      for (const sequence of sequences) {
        const row = outbox[sequence - 1];
        if (row && row.sentAt === undefined) outbox[sequence - 1] = { ...row, sentAt };
      }
    },
    bookmark: async (name) => bookmarks.get(name) ?? 0,
    setBookmark: async (name, value) => void bookmarks.set(name, value),
    close: async () => undefined,
  };
}
