/**
 * Entries in one SQLite file: write-ahead log, synchronous=FULL, so that what is answered "kept" survives a
 * killed process and, on a disk that honours fsync, a power cut. Appends that arrive in the same turn of the
 * event loop share one commit; each is whole or not at all by itself.
 *
 * Errors    a failing disk or step throws to the caller whose append it was; nothing of that append is kept
 */
import { DatabaseSync, type SQLOutputValue } from 'node:sqlite';
import { controlIsOn, RefusalError } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { chainAfter, chainStart, detailText } from '../audit-chain.ts';
import { boundsOf } from '../audit-page.ts';
import { auditOf, keptOf, nodeDigest, outboxOf } from '../rows.ts';
import { canonicalText } from '../canonical.ts';
import { listeners } from '../listeners.ts';
import { idReused, notARecord, otherOrganisation } from '../refusals.ts';
import type {
  AppendContext,
  AppendResult,
  Appended,
  AuditNote,
  EntryStore,
  NotAppended,
  StepProbe,
} from '../port.ts';
import { followingRows } from './following-rows.ts';
import { prepareSchema } from './schema.ts';
import type { Touches } from '../following-plan.ts';

export interface SqliteStoreOptions {
  /** File, or `:memory:`. */
  readonly path: string;
  readonly organisation: string;
  /** Test-only: called before each step, may throw. */
  readonly onStep?: StepProbe;
}

type Row = Record<string, SQLOutputValue>;

interface Job {
  readonly entries: readonly Entry[];
  readonly context: AppendContext;
  readonly resolve: (result: AppendResult) => void;
  readonly reject: (problem: unknown) => void;
}

/** SQLITE_NOTADB, the database's own code. S-sqlite-result-codes */
const notADatabase = 26;

/** The file with its journal and durability set: every commit waits until the disk has it. */
export function openDatabase(path: string): DatabaseSync {
  const database = new DatabaseSync(path);
  try {
    database.exec(
      'pragma journal_mode = wal; pragma synchronous = full; pragma foreign_keys = on; pragma busy_timeout = 3000',
    );
  } catch (problem) {
    database.close();
    if ((problem as { readonly errcode?: number }).errcode === notADatabase)
      throw new RefusalError(notARecord());
    throw problem;
  }
  return database;
}

export function openSqliteStore({ path, organisation, onStep }: SqliteStoreOptions): EntryStore {
  const database = openDatabase(path);
  prepareSchema(database);
  const following = followingRows(database, organisation);

  const columns = 'sequence, received_at, content';
  const begin = database.prepare('begin immediate');
  const commit = database.prepare('commit');
  const rollback = database.prepare('rollback');
  const mark = database.prepare('savepoint one_append');
  const unmark = database.prepare('release one_append');
  const backToMark = database.prepare('rollback to one_append');
  const newestEntry = database.prepare(
    'select coalesce(max(sequence), 0) as sequence from entry where organisation = ?',
  );
  const newestAudit = database.prepare(
    'select sequence, chain from audit where organisation = ? order by sequence desc limit 1',
  );
  const findId = database.prepare(`select ${columns} from entry where organisation = ? and id = ?`);
  const addEntry = database.prepare(
    'insert into entry (organisation, sequence, id, patient, kind, received_at, content) values (?, ?, ?, ?, ?, ?, ?) on conflict (organisation, id) do nothing',
  );
  const addAudit = database.prepare(
    'insert into audit (organisation, sequence, at, actor, action, subject, patient, content_digest, chain, told_at, note_id, detail) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)',
  );
  const findNote = database.prepare('select 1 as found from audit where organisation = ? and note_id = ?');
  // Written so that the index of notes answers it: what it leaves out, where it begins and ends, the rest of one instant.
  const notesOf = (column: 'patient' | 'actor') =>
    database.prepare(
      `select * from audit where organisation = :organisation and ${column} = :of and action <> 'kept'
         and coalesce(told_at, at) >= :from and coalesce(told_at, at) <= :last
         and (coalesce(told_at, at) < :last or sequence < :below)
       order by coalesce(told_at, at) desc, sequence desc limit :limit`,
    );
  const notesOfPatient = notesOf('patient');
  const notesOfActor = notesOf('actor');
  const addWaiting = database.prepare(
    'insert into outbox_waiting (organisation, sequence, id, queued_at) values (?, ?, ?, ?)',
  );
  const addSent = database.prepare(
    'insert into outbox_sent (organisation, sequence, id, queued_at, sent_at) values (?, ?, ?, ?, ?)',
  );
  const pageAfter = database.prepare(
    `select ${columns} from entry where organisation = ? and sequence > ? order by sequence limit ?`,
  );
  const pageOfPatient = database.prepare(
    `select ${columns} from entry where organisation = ? and patient = ? order by sequence`,
  );
  const registered = database.prepare(
    `select 1 as found from entry where organisation = ? and patient = ? and kind = 'patient-registered' limit 1`,
  );
  const auditPage = database.prepare(
    'select * from audit where organisation = ? and sequence > ? order by sequence limit ?',
  );
  const waitingPage = database.prepare(
    'select * from outbox_waiting where organisation = ? order by sequence limit ?',
  );
  const outboxPage = database.prepare(
    `select sequence, id, queued_at, null as sent_at from outbox_waiting where organisation = :organisation and sequence > :sequence
     union all select sequence, id, queued_at, sent_at from outbox_sent where organisation = :organisation and sequence > :sequence
     order by sequence limit :limit`,
  );
  const copySent = database.prepare(
    'insert into outbox_sent select organisation, sequence, id, queued_at, ? from outbox_waiting where organisation = ? and sequence = ?',
  );
  const dropWaiting = database.prepare('delete from outbox_waiting where organisation = ? and sequence = ?');
  const readBookmark = database.prepare('select value from bookmark where organisation = ? and name = ?');
  const writeBookmark = database.prepare(
    'insert into bookmark (organisation, name, value) values (?, ?, ?) on conflict (organisation, name) do update set value = excluded.value',
  );

  /** Where the chain and the sequences stand inside one commit. */
  interface Tail {
    entry: number;
    audit: number;
    chain: string;
  }
  const version = database.prepare('pragma data_version');
  /** The tail after our last commit, good as long as nobody else has committed since. */
  let known: { readonly version: unknown; readonly tail: Tail } | undefined;
  /** Only inside a transaction that has begun to write. */
  const readTail = (): Tail => {
    const now = version.get()?.['data_version'];
    if (known !== undefined && known.version === now) return known.tail;
    const audit = newestAudit.get(organisation);
    const tail = {
      entry: newestEntry.get(organisation)?.['sequence'] as number,
      audit: (audit?.['sequence'] as number | undefined) ?? 0,
      chain: (audit?.['chain'] as string | undefined) ?? chainStart,
    };
    known = { version: now, tail };
    return tail;
  };
  const takeBack = (): void => {
    known = undefined;
    if (database.isTransaction) rollback.run();
  };
  const writeAudit = (note: AuditNote, tail: Tail): void => {
    tail.audit += 1;
    tail.chain = chainAfter(tail.chain, tail.audit, note, nodeDigest);
    addAudit.run(
      organisation,
      tail.audit,
      note.at,
      note.actor,
      note.action,
      note.subject,
      note.patient ?? null,
      note.contentDigest ?? null,
      tail.chain,
      note.toldAt ?? null,
      note.noteId ?? null,
      detailText(note.detail),
    );
  };

  const appendInside = (
    entries: readonly Entry[],
    { receivedAt, actor, origin }: AppendContext,
    tail: Tail,
    touches: Touches,
  ): AppendResult => {
    const kept: Appended[] = [];
    const refused: NotAppended[] = [];
    for (const entry of entries) {
      if (entry.organisation !== organisation) {
        refused.push({ id: entry.id, refusal: otherOrganisation() });
        continue;
      }
      const content = canonicalText(entry);
      const at = typeof receivedAt === 'function' ? receivedAt(entry) : receivedAt;
      onStep?.('entry', entry.id);
      const { changes } = addEntry.run(
        organisation,
        tail.entry + 1,
        entry.id,
        entry.patient,
        entry.kind,
        at,
        content,
      );
      if (changes === 0 && controlIsOn('H5-idempotent')) {
        const before = findId.get(organisation, entry.id) as Row;
        if (before['content'] === content) kept.push({ ...keptOf(before), known: true });
        else refused.push({ id: entry.id, refusal: idReused() });
        continue;
      }
      tail.entry += 1;
      onStep?.('audit', entry.id);
      writeAudit(
        {
          at,
          actor,
          action: 'kept',
          subject: entry.id,
          patient: entry.patient,
          contentDigest: nodeDigest(content),
        },
        tail,
      );
      onStep?.('outbox', entry.id);
      if (origin === 'elsewhere') addSent.run(organisation, tail.entry, entry.id, at, at);
      else addWaiting.run(organisation, tail.entry, entry.id, at);
      onStep?.('following', entry.id);
      following.noteEntry({ entry, receivedAt: at, sequence: tail.entry }, touches);
      kept.push({ entry, receivedAt: at, sequence: tail.entry, known: false });
    }
    return { kept, refused };
  };

  interface Done {
    readonly job: Job;
    readonly result: AppendResult;
  }
  /** One job after the other inside the open transaction; with marks, a job that fails is taken back by itself. */
  const runJobs = (jobs: readonly Job[], failed: Map<Job, unknown> | undefined): Done[] => {
    const done: Done[] = [];
    const tail = readTail();
    // Who follows a patient is settled once for all that the commit says of them.
    const touched: Touches = new Map();
    for (const job of jobs) {
      if (failed === undefined) {
        done.push({ job, result: appendInside(job.entries, job.context, tail, touched) });
        continue;
      }
      const before = { ...tail };
      mark.run();
      try {
        const own: Touches = new Map();
        const result = appendInside(job.entries, job.context, tail, own);
        following.settle(own);
        unmark.run();
        done.push({ job, result });
      } catch (problem) {
        backToMark.run();
        unmark.run();
        Object.assign(tail, before);
        failed.set(job, problem);
      }
    }
    following.settle(touched);
    return done;
  };
  /** One commit for these jobs; throws after taking everything back. */
  const commitJobs = (jobs: readonly Job[], failed: Map<Job, unknown> | undefined): Done[] => {
    begin.run();
    try {
      const done = runJobs(jobs, failed);
      onStep?.('commit');
      commit.run();
      return done;
    } catch (problem) {
      takeBack();
      throw problem;
    }
  };

  const listening = listeners();
  let queue: Job[] = [];
  /**
   * One commit for everything that waits. When that fails and there are several, it is done again with a mark before
   * each: the one that fails is taken back to its mark, the others stand.
   */
  const flush = (): void => {
    const jobs = queue;
    if (jobs.length === 0) return;
    queue = [];
    const failed = new Map<Job, unknown>();
    let done: Done[] = [];
    try {
      done = commitJobs(jobs, undefined);
    } catch (problem) {
      try {
        if (jobs.length === 1) throw problem;
        done = commitJobs(jobs, failed);
      } catch (again) {
        for (const job of jobs) job.reject(failed.get(job) ?? again);
        return;
      }
    }
    for (const [job, problem] of failed) job.reject(problem);
    for (const { job, result } of done) job.resolve(result);
    const newest = done.flatMap(({ result }) => result.kept).findLast((one) => !one.known);
    if (newest) listening.tell(newest.sequence);
  };

  const inTransaction = (work: () => void): void => {
    begin.run();
    try {
      work();
      commit.run();
    } catch (problem) {
      takeBack();
      throw problem;
    }
  };

  return {
    organisation,
    append: (entries, context) =>
      new Promise((resolve, reject) => {
        if (queue.push({ entries, context, resolve, reject }) === 1) setImmediate(flush);
      }),
    after: async (sequence, limit) => pageAfter.all(organisation, sequence, limit).map(keptOf),
    ofPatient: async (patient) => pageOfPatient.all(organisation, patient).map(keptOf),
    recordFor: async (patient) => following.recordFor(patient),
    followingOf: async (patient) => following.followingOf(patient),
    patientsInReach: async (reach) => following.patientsInReach(reach),
    afterInReach: async (sequence, reach, limit) => following.afterInReach(sequence, reach, limit),
    byId: async (id) => {
      const row = findId.get(organisation, id);
      return row && keptOf(row);
    },
    head: async () => newestEntry.get(organisation)?.['sequence'] as number,
    knowsPatient: async (patient) => registered.get(organisation, patient) !== undefined,
    onAppended: listening.add,
    note: async (note) => inTransaction(() => writeAudit(note, readTail())),
    noteAll: async (notes) => {
      let added = 0;
      inTransaction(() => {
        const tail = readTail();
        for (const note of notes) {
          if (note.noteId !== undefined && findNote.get(organisation, note.noteId) !== undefined) continue;
          writeAudit(note, tail);
          added += 1;
        }
      });
      return added;
    },
    notesOfPatient: async (of, page) =>
      notesOfPatient.all({ organisation, of, ...boundsOf(page) }).map(auditOf),
    notesOfActor: async (of, page) => notesOfActor.all({ organisation, of, ...boundsOf(page) }).map(auditOf),
    auditAfter: async (sequence, limit) => auditPage.all(organisation, sequence, limit).map(auditOf),
    auditHead: async () => {
      const row = newestAudit.get(organisation);
      return row === undefined
        ? { auditRows: 0, chain: chainStart }
        : { auditRows: row['sequence'] as number, chain: row['chain'] as string };
    },
    waiting: async (limit) => waitingPage.all(organisation, limit).map(outboxOf),
    outboxAfter: async (sequence, limit) => outboxPage.all({ organisation, sequence, limit }).map(outboxOf),
    markSent: async (sequences, sentAt) =>
      inTransaction(() => {
        for (const sequence of sequences) {
          if (copySent.run(sentAt, organisation, sequence).changes === 1)
            dropWaiting.run(organisation, sequence);
        }
      }),
    bookmark: async (name) => (readBookmark.get(organisation, name)?.['value'] as number | undefined) ?? 0,
    setBookmark: async (name, value) => void writeBookmark.run(organisation, name, value),
    close: async () => {
      if (queue.length > 0) flush();
      database.close();
    },
  };
}
