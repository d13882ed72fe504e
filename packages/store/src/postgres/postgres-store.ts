/**
 * Entries in PostgreSQL, kept by any number of processes at once. Whoever keeps something holds the organisation's row
 * of `head` until the commit: sequences have no gap, the audit is one chain, and a sequence is seen only after all
 * before it, so that a cursor misses nothing. Appends that wait meanwhile share the next commit.
 *
 * Errors    a database or step that fails throws to the caller whose append it was; nothing of that append is kept
 */
import { controlIsOn } from '@ebbline/core/quantity';
import type { Entry, KeptEntry } from '@ebbline/core/record';
import { chainAfter, chainStart, detailText } from '../audit-chain.ts';
import { boundsOf } from '../audit-page.ts';
import { auditOf, keptOf, nodeDigest, outboxOf } from '../rows.ts';
import { canonicalText } from '../canonical.ts';
import { idReused, otherOrganisation } from '../refusals.ts';
import type {
  AppendContext,
  AppendResult,
  Appended,
  AuditNote,
  AuditPage,
  AuditRow,
  EntryStore,
  NotAppended,
  StepProbe,
} from '../port.ts';
import type { Inside, PostgresDatabase, Row } from './database.ts';
import { followingReads, followingVersion, followThrough } from './following-rows.ts';

export interface PostgresStoreOptions {
  readonly database: PostgresDatabase;
  readonly organisation: string;
  /** True closes the database together with the store. */
  readonly ownsDatabase?: boolean;
  /** Test-only: called before each step, may throw. */
  readonly onStep?: StepProbe;
}

/** What is told to everybody who listens, with `schema organisation head`. */
export const appendedChannel = 'ebbline_appended';

interface AppendJob {
  readonly entries: readonly Entry[];
  readonly context: AppendContext;
  readonly resolve: (result: AppendResult) => void;
  readonly reject: (problem: unknown) => void;
}
interface NoteJob {
  readonly notes: readonly AuditNote[];
  /** How many were new. */
  readonly resolve: (added: number) => void;
  readonly reject: (problem: unknown) => void;
}
type Job = AppendJob | NoteJob;

interface Known {
  readonly content: string;
  readonly kept: KeptEntry;
}

/** Entries of one commit at most, so that none takes long and others come in between. */
const mostInOneCommit = 2_000;

const columns = 'sequence, received_at, content';
const auditColumns =
  'sequence, at, actor, action, subject, patient, content_digest, chain, told_at, note_id, detail';
/** Instants in UTC are in order byte by byte, whatever the order of the database's own language. */
const happened = 'coalesce(told_at, at) collate "C"';
const sql = {
  head: 'select entries, audit_rows, chain from {head} where organisation = $1 for update',
  known: `select id, ${columns} from {entry} where organisation = $1 and id = any($2::text[])`,
  entry: `insert into {entry} (organisation, sequence, id, patient, kind, received_at, content)
    select $1, * from unnest($2::bigint[], $3::text[], $4::text[], $5::text[], $6::text[], $7::text[])`,
  audit: `insert into {audit} (organisation, sequence, at, actor, action, subject, patient, content_digest, chain)
    select $1, * from unnest($2::bigint[], $3::text[], $4::text[], $5::text[], $6::text[], $7::text[], $8::text[], $9::text[])`,
  auditTold: `insert into {audit} (organisation, sequence, at, actor, action, subject, patient, content_digest, chain, told_at, note_id, detail)
    select $1, * from unnest($2::bigint[], $3::text[], $4::text[], $5::text[], $6::text[], $7::text[], $8::text[], $9::text[], $10::text[], $11::text[], $12::text[])`,
  knownNotes: 'select note_id from {audit} where organisation = $1 and note_id = any($2::text[])',
  waiting: `insert into {outbox_waiting} (organisation, sequence, id, queued_at)
    select $1, * from unnest($2::bigint[], $3::text[], $4::text[])`,
  sent: `insert into {outbox_sent} (organisation, sequence, id, queued_at, sent_at)
    select $1, sequence, id, at, at from unnest($2::bigint[], $3::text[], $4::text[]) as given (sequence, id, at)`,
  moveHead: 'update {head} set entries = $2, audit_rows = $3, chain = $4 where organisation = $1',
  tell: 'select pg_notify($1, $2)',
} as const;

/** What one commit adds. */
class Batch {
  readonly entries: { sequence: number; entry: Entry; at: string; content: string; sent: boolean }[] = [];
  readonly audit: AuditRow[] = [];
  readonly answers = new Map<Job, AppendResult | number>();
  readonly known: Map<string, Known>;
  readonly knownNotes: Set<unknown>;
  private readonly organisation: string;
  headEntries: number;
  headAudit: number;
  chain: string;

  constructor(organisation: string, head: Row, known: Map<string, Known>, knownNotes: Set<unknown>) {
    this.organisation = organisation;
    this.knownNotes = knownNotes;
    this.known = known;
    this.headEntries = head['entries'] as number;
    this.headAudit = head['audit_rows'] as number;
    this.chain = head['chain'] as string;
  }

  /** How many of them were new. */
  tell(notes: readonly AuditNote[]): number {
    let added = 0;
    for (const note of notes) {
      if (note.noteId !== undefined && this.knownNotes.has(note.noteId)) continue;
      if (note.noteId !== undefined) this.knownNotes.add(note.noteId);
      this.note(note);
      added += 1;
    }
    return added;
  }

  note(note: AuditNote): void {
    this.headAudit += 1;
    this.chain = chainAfter(this.chain, this.headAudit, note, nodeDigest);
    this.audit.push({ ...note, sequence: this.headAudit, chain: this.chain });
  }

  append({ entries, context: { receivedAt, actor, origin } }: AppendJob): AppendResult {
    const kept: Appended[] = [];
    const refused: NotAppended[] = [];
    for (const entry of entries) {
      if (entry.organisation !== this.organisation) {
        refused.push({ id: entry.id, refusal: otherOrganisation() });
        continue;
      }
      const content = canonicalText(entry);
      const before = this.known.get(entry.id);
      if (before !== undefined && controlIsOn('H5-idempotent')) {
        if (before.content === content) kept.push({ ...before.kept, known: true });
        else refused.push({ id: entry.id, refusal: idReused() });
        continue;
      }
      const at = typeof receivedAt === 'function' ? receivedAt(entry) : receivedAt;
      this.headEntries += 1;
      const row: KeptEntry = { entry, receivedAt: at, sequence: this.headEntries };
      this.known.set(entry.id, { content, kept: row });
      this.entries.push({ sequence: row.sequence, entry, at, content, sent: origin === 'elsewhere' });
      this.note({
        at,
        actor,
        action: 'kept',
        subject: entry.id,
        patient: entry.patient,
        contentDigest: nodeDigest(content),
      });
      kept.push({ ...row, known: false });
    }
    return { kept, refused };
  }
}

/** Makes sure that the organisation has its row, so that there is something to hold. */
async function ready(database: PostgresDatabase, organisation: string): Promise<void> {
  await database.ask(
    `insert into {head} (organisation, entries, audit_rows, chain) values ($1, 0, 0, '${chainStart}') on conflict do nothing`,
    [organisation],
  );
}

export async function openPostgresStore({
  database,
  organisation,
  ownsDatabase = false,
  onStep,
}: PostgresStoreOptions): Promise<EntryStore> {
  await ready(database, organisation);
  // One opened as it stands may be of a version that has none of these tables.
  const follows = database.version >= followingVersion;

  const write = async ({ ask }: Inside, jobs: readonly Job[]): Promise<Batch> => {
    const [head] = await ask(sql.head, [organisation], 'head');
    if (head === undefined) throw new Error('the row of this organisation is gone');
    const ids = jobs.flatMap((job) => ('notes' in job ? [] : job.entries.map(({ id }) => id)));
    const found = ids.length === 0 ? [] : await ask(sql.known, [organisation, ids], 'known');
    const known = new Map(
      found.map((row) => [row['id'] as string, { content: row['content'] as string, kept: keptOf(row) }]),
    );
    const noteIds = jobs
      .flatMap((job) => ('notes' in job ? job.notes.map(({ noteId }) => noteId) : []))
      .filter((id) => id !== undefined);
    const knownNotes =
      noteIds.length === 0 ? [] : await ask(sql.knownNotes, [organisation, noteIds], 'known-notes');
    const batch = new Batch(organisation, head, known, new Set(knownNotes.map((row) => row['note_id'])));
    for (const job of jobs)
      batch.answers.set(job, 'notes' in job ? batch.tell(job.notes) : batch.append(job));
    const { entries, audit } = batch;
    if (entries.length > 0) {
      for (const { entry } of entries) onStep?.('entry', entry.id);
      await ask(
        sql.entry,
        [
          organisation,
          entries.map(({ sequence }) => sequence),
          entries.map(({ entry }) => entry.id),
          entries.map(({ entry }) => entry.patient),
          entries.map(({ entry }) => entry.kind),
          entries.map(({ at }) => at),
          entries.map(({ content }) => content),
        ],
        'entry',
      );
    }
    for (const row of audit) if (row.action === 'kept') onStep?.('audit', row.subject);
    if (audit.length > 0) {
      // Rows of entries alone name the columns that there were from the first version on.
      const told = audit.some(({ action }) => action !== 'kept');
      await ask(
        told ? sql.auditTold : sql.audit,
        [
          organisation,
          audit.map(({ sequence }) => sequence),
          audit.map(({ at }) => at),
          audit.map(({ actor }) => actor),
          audit.map(({ action }) => action),
          audit.map(({ subject }) => subject),
          audit.map(({ patient }) => patient ?? null),
          audit.map(({ contentDigest }) => contentDigest ?? null),
          audit.map(({ chain }) => chain),
          ...(told
            ? [
                audit.map(({ toldAt }) => toldAt ?? null),
                audit.map(({ noteId }) => noteId ?? null),
                audit.map(({ detail }) => detailText(detail)),
              ]
            : []),
        ],
        told ? 'audit-told' : 'audit',
      );
    }
    for (const { entry } of entries) onStep?.('outbox', entry.id);
    for (const sent of [false, true]) {
      const some = entries.filter((one) => one.sent === sent);
      if (some.length === 0) continue;
      await ask(
        sent ? sql.sent : sql.waiting,
        [
          organisation,
          some.map(({ sequence }) => sequence),
          some.map(({ entry }) => entry.id),
          some.map(({ at }) => at),
        ],
        sent ? 'sent' : 'waiting',
      );
    }
    for (const { entry } of entries) onStep?.('following', entry.id);
    if (entries.length > 0 && follows)
      await followThrough(
        ask,
        organisation,
        batch.headEntries,
        entries.map(({ entry, at, sequence }) => ({ entry, receivedAt: at, sequence })),
      );
    if (audit.length > 0)
      await ask(sql.moveHead, [organisation, batch.headEntries, batch.headAudit, batch.chain], 'move-head');
    if (entries.length > 0)
      await ask(
        sql.tell,
        [appendedChannel, `${database.schema} ${organisation} ${batch.headEntries}`],
        'tell',
      );
    onStep?.('commit');
    return batch;
  };
  /** An entry sent twice is known the second time, and so is a note with an id; another would stand there twice. */
  const commit = (jobs: readonly Job[]): Promise<Batch> =>
    database.inTransaction(
      (inside) => write(inside, jobs),
      jobs.every((job) => !('notes' in job) || job.notes.every(({ noteId }) => noteId !== undefined)),
    );
  const answer = (batch: Batch): void => {
    for (const [job, result] of batch.answers)
      if ('notes' in job) job.resolve(result as number);
      else job.resolve(result as AppendResult);
  };

  let queue: Job[] = [];
  let running: Promise<void> | undefined;
  const nextJobs = (): Job[] => {
    let count = 0;
    let taken = 0;
    for (const job of queue) {
      count += 'notes' in job ? job.notes.length : job.entries.length;
      if (taken > 0 && count > mostInOneCommit) break;
      taken += 1;
    }
    const jobs = queue.slice(0, taken);
    queue = queue.slice(taken);
    return jobs;
  };
  /** One commit for what waits; when that fails and there are several, each is done by itself. */
  const work = async (): Promise<void> => {
    await new Promise((resolve) => setImmediate(resolve));
    while (queue.length > 0) {
      const jobs = nextJobs();
      try {
        answer(await commit(jobs));
      } catch (problem) {
        if (jobs.length === 1) jobs[0]?.reject(problem);
        else for (const job of jobs) await commit([job]).then(answer, job.reject);
      }
    }
    running = undefined;
  };
  const add = (job: Job): void => {
    queue.push(job);
    running ??= work();
  };

  const tellNotes = (notes: readonly AuditNote[]): Promise<number> =>
    notes.length === 0
      ? Promise.resolve(0)
      : new Promise((resolve, reject) => add({ notes, resolve, reject }));

  const { ask } = database;
  const notesOf = async (
    column: 'patient' | 'actor',
    of: string,
    page: AuditPage,
  ): Promise<readonly AuditRow[]> => {
    const { from, last, below, limit } = boundsOf(page);
    const rows = await ask(
      `select ${auditColumns} from {audit} where organisation = $1 and ${column} = $2 and action <> 'kept'
         and ${happened} >= $3 and ${happened} <= $4 and (${happened} < $4 or sequence < $5)
       order by ${happened} desc, sequence desc limit $6`,
      [organisation, of, from, last, below, limit],
      `notes-of-${column}`,
    );
    return rows.map(auditOf);
  };
  if (follows)
    await database.inTransaction(async (inside) => {
      const [held] = await inside.ask(sql.head, [organisation]);
      await followThrough(inside.ask, organisation, (held?.['entries'] as number | undefined) ?? 0, []);
    }, true);
  const listeners = new Set<(head: number) => void>();
  let stopListening: (() => void) | undefined;
  const head = async (): Promise<number> =>
    (await ask('select entries from {head} where organisation = $1', [organisation], 'entries'))[0]?.[
      'entries'
    ] as number;
  const tell = (newest: number): void => {
    for (const listener of listeners) listener(newest);
  };
  const heard = (told: string | undefined): void => {
    if (told === undefined) {
      head().then(tell, () => undefined);
      return;
    }
    const [schema, newest] = [told.slice(0, told.indexOf(' ')), told.slice(told.lastIndexOf(' ') + 1)];
    if (told === `${schema} ${organisation} ${newest}` && schema === database.schema) tell(Number(newest));
  };

  return {
    organisation,
    append: (entries, context) =>
      new Promise((resolve, reject) => add({ entries, context, resolve, reject })),
    after: async (sequence, limit) =>
      (
        await ask(
          `select ${columns} from {entry} where organisation = $1 and sequence > $2 order by sequence limit $3`,
          [organisation, sequence, limit],
          'after',
        )
      ).map(keptOf),
    ofPatient: async (patient) =>
      (
        await ask(
          `select ${columns} from {entry} where organisation = $1 and patient = $2 order by sequence`,
          [organisation, patient],
          'of-patient',
        )
      ).map(keptOf),
    ...followingReads(ask, organisation),
    byId: async (id) => {
      const [row] = await ask(
        `select ${columns} from {entry} where organisation = $1 and id = $2`,
        [organisation, id],
        'by-id',
      );
      return row && keptOf(row);
    },
    head,
    knowsPatient: async (patient) =>
      (
        await ask(
          `select 1 from {entry} where organisation = $1 and patient = $2 and kind = 'patient-registered' limit 1`,
          [organisation, patient],
          'knows-patient',
        )
      ).length > 0,
    onAppended: (listener) => {
      listeners.add(listener);
      stopListening ??= database.onHeard(appendedChannel, heard);
      return () => void listeners.delete(listener);
    },
    note: async (note) => void (await tellNotes([note])),
    noteAll: tellNotes,
    notesOfPatient: (patient, page) => notesOf('patient', patient, page),
    notesOfActor: (actor, page) => notesOf('actor', actor, page),
    auditAfter: async (sequence, limit) =>
      (
        await ask(
          `select ${auditColumns} from {audit} where organisation = $1 and sequence > $2 order by sequence limit $3`,
          [organisation, sequence, limit],
          'audit-after',
        )
      ).map(auditOf),
    auditHead: async () => {
      const [row] = await ask(
        'select audit_rows, chain from {head} where organisation = $1',
        [organisation],
        'audit-head',
      );
      return { auditRows: row?.['audit_rows'] as number, chain: row?.['chain'] as string };
    },
    waiting: async (limit) =>
      (
        await ask(
          'select sequence, id, queued_at from {outbox_waiting} where organisation = $1 order by sequence limit $2',
          [organisation, limit],
          'waiting-page',
        )
      ).map(outboxOf),
    outboxAfter: async (sequence, limit) =>
      (
        await ask(
          `select sequence, id, queued_at, null as sent_at from {outbox_waiting} where organisation = $1 and sequence > $2
           union all select sequence, id, queued_at, sent_at from {outbox_sent} where organisation = $1 and sequence > $2
           order by sequence limit $3`,
          [organisation, sequence, limit],
          'outbox-after',
        )
      ).map(outboxOf),
    markSent: (sequences, sentAt) =>
      database.inTransaction(async (inside) => {
        await inside.ask(
          `with gone as (delete from {outbox_waiting} where organisation = $1 and sequence = any($2::bigint[]) returning organisation, sequence, id, queued_at)
           insert into {outbox_sent} (organisation, sequence, id, queued_at, sent_at) select organisation, sequence, id, queued_at, $3 from gone`,
          [organisation, sequences, sentAt],
        );
      }, true),
    bookmark: async (name) =>
      ((
        await ask(
          'select value from {bookmark} where organisation = $1 and name = $2',
          [organisation, name],
          'bookmark',
        )
      )[0]?.['value'] as number | undefined) ?? 0,
    setBookmark: (name, value) =>
      database.inTransaction(async (inside) => {
        await inside.ask(
          'insert into {bookmark} (organisation, name, value) values ($1, $2, $3) on conflict (organisation, name) do update set value = excluded.value',
          [organisation, name, value],
        );
      }, true),
    close: async () => {
      while (running !== undefined) await running;
      stopListening?.();
      listeners.clear();
      if (ownsDatabase) await database.close();
    },
  };
}
