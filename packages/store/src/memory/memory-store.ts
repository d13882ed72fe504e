/**
 * Entries in memory: for tests and for what is thrown away. Behaves as the other adapters do, unit of append
 * included: rows are put together first and added only when every step has passed.
 */
import { controlIsOn } from '@ebbline/core/quantity';
import type { KeptEntry } from '@ebbline/core/record';
import { chainAfter, chainStart, type Digest } from '../audit-chain.ts';
import { pageOf } from '../audit-page.ts';
import { canonicalText } from '../canonical.ts';
import { sha256Hex } from '../sha256.ts';
import { listeners } from '../listeners.ts';
import {
  isFollowed,
  isInReach,
  needsRecord,
  nextFollowing,
  placedPage,
  sinceInReach,
  targetOf,
  tiedAtOnce,
  tiedTo,
  touch,
  touchOf,
  type Touches,
} from '../following-plan.ts';
import { idReused, otherOrganisation } from '../refusals.ts';
import type {
  Appended,
  AuditNote,
  AuditRow,
  EntryStore,
  KeptFollowing,
  NotAppended,
  OutboxRow,
  StepProbe,
} from '../port.ts';

interface Kept extends KeptEntry {
  readonly content: string;
}

export interface MemoryStoreOptions {
  readonly organisation: string;
  /** Default: the one that needs no platform. */
  readonly digest?: Digest;
  /** Test-only: called before each step, may throw. */
  readonly onStep?: StepProbe;
}

export function openMemoryStore({
  organisation,
  onStep,
  digest = sha256Hex,
}: MemoryStoreOptions): EntryStore {
  const entries: Kept[] = [];
  const byId = new Map<string, Kept>();
  const audit: AuditRow[] = [];
  const noteIds = new Set<string>();
  const outbox: OutboxRow[] = [];
  const bookmarks = new Map<string, number>();
  const listening = listeners();
  const ofPatient = new Map<string, Kept[]>();
  const naming = new Map<string, Kept[]>();
  /** By patient, entries of other records that can change theirs. */
  const elsewhere = new Map<string, Set<Kept>>();
  const following = new Map<string, KeptFollowing>();
  const put = (lists: Map<string, Kept[]>, key: string, row: Kept): void => {
    const held = lists.get(key);
    if (held) held.push(row);
    else lists.set(key, [row]);
  };
  const recordFor = (patient: string): readonly Kept[] => {
    const own = ofPatient.get(patient) ?? [];
    const others = elsewhere.get(patient);
    return others === undefined ? own : [...own, ...others].sort((a, b) => a.sequence - b.sequence);
  };
  const noteEntry = (row: Kept, touches: Touches): void => {
    const { entry, sequence } = row;
    if (!isFollowed(entry)) return;
    touch(touches, entry.patient, touchOf(entry, sequence, row.receivedAt));
    const target = targetOf(entry);
    if (target !== undefined) put(naming, target, row);
    else if (!naming.has(entry.id)) return;
    const { entries: tied, patients } = tiedAtOnce(tiedTo(row), (lookup) =>
      'byId' in lookup
        ? [byId.get(lookup.byId)].filter((one) => one !== undefined)
        : (naming.get(lookup.naming) ?? []),
    );
    if (patients.size === 1) return;
    for (const patient of patients) {
      const others = elsewhere.get(patient) ?? new Set();
      let grown = false;
      for (const one of tied) {
        if (one.entry.patient === patient || others.has(one)) continue;
        others.add(one);
        grown ||= one !== row;
      }
      elsewhere.set(patient, others);
      touch(touches, patient, { ...touchOf(entry, sequence, row.receivedAt), settles: true, grown });
    }
  };
  const settle = (touches: Touches): void => {
    for (const [patient, one] of touches) {
      const before = following.get(patient);
      const record = needsRecord(before, one) ? recordFor(patient).map(({ entry }) => entry) : [];
      const next = nextFollowing(patient, before, one, record);
      if (next !== undefined) following.set(patient, next);
    }
  };

  const auditRow = (note: AuditNote, before: AuditRow | undefined): AuditRow => {
    const sequence = (before?.sequence ?? 0) + 1;
    return { ...note, sequence, chain: chainAfter(before?.chain ?? chainStart, sequence, note, digest) };
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
          contentDigest: digest(content),
        };
        newAudit.push(auditRow(note, newAudit.at(-1) ?? audit.at(-1)));
        onStep?.('outbox', entry.id);
        newOutbox.push({
          sequence,
          id: entry.id,
          queuedAt: at,
          ...(origin === 'elsewhere' ? { sentAt: at } : {}),
        });
        onStep?.('following', entry.id);
        kept.push({ ...plain(row), known: false });
      }
      onStep?.('commit');
      const touches: Touches = new Map();
      for (const row of newEntries.values()) {
        entries.push(row);
        byId.set(row.entry.id, row);
        put(ofPatient, row.entry.patient, row);
        noteEntry(row, touches);
      }
      settle(touches);
      audit.push(...newAudit);
      outbox.push(...newOutbox);
      if (newEntries.size > 0) listening.tell(entries.length);
      return { kept, refused };
    },
    after: async (sequence, limit) => entries.slice(sequence, sequence + limit).map(plain),
    ofPatient: async (patient) => (ofPatient.get(patient) ?? []).map(plain),
    recordFor: async (patient) => recordFor(patient).map(plain),
    followingOf: async (patient) => following.get(patient),
    patientsInReach: async (reach) =>
      [...following.values()]
        .filter((one) => isInReach(one, reach))
        .map(({ patient }) => patient)
        .sort(),
    afterInReach: async (sequence, reach, limit) => {
      const left = [...following.values()].flatMap((one) => {
        if (!isInReach(one, reach)) return [];
        const since = sinceInReach(one, reach);
        const from = since > sequence ? 0 : sequence;
        return recordFor(one.patient)
          .filter((row) => row.sequence > from)
          .map((row) => ({ position: Math.max(since, row.sequence), sequence: row.sequence, row }));
      });
      const { rows, through } = placedPage(left, limit, Math.max(entries.length, sequence));
      return { entries: rows.map(({ row }) => plain(row)), through };
    },
    byId: async (id) => {
      const found = byId.get(id);
      return found && plain(found);
    },
    head: async () => entries.length,
    knowsPatient: async (patient) =>
      (ofPatient.get(patient) ?? []).some(({ entry }) => entry.kind === 'patient-registered'),
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
