/**
 * Walks a whole record file, read only: every audit row follows from the one before it; the nth `kept` row, the nth entry
 * and the nth outbox row are of one entry; each entry's bytes have the digest that was noted when it was kept; the
 * columns that are searched say what the bytes say.
 *
 * Out       counts and the newest link of each organisation, or the first place that does not fit; nothing of a patient
 * Not seen  rows cut off the end together with their entries, a chain worked out anew from the start: both need a link
 *           kept elsewhere (`onLink`). When an outbox row was sent, and bookmarks, stand outside the chain
 */
import type { DatabaseSync, SQLOutputValue } from 'node:sqlite';
import { isRefusal, readInstant } from '@ebbline/core/quantity';
import { entryKinds, type Entry } from '@ebbline/core/record';
import { chainAfter, chainStart } from '../audit-chain.ts';
import { auditActions, type AuditAction } from '../port.ts';
import { nodeDigest } from './sqlite-store.ts';

/** The first place that does not fit. */
export interface RecordFault {
  readonly place: 'audit row' | 'entry' | 'outbox row' | 'file';
  /** From 1, in its table. */
  readonly number?: number;
  /** When it was received, as far as it still reads as an instant. */
  readonly at?: string;
  /** The entry's kind or the audit's action, as far as it is one. */
  readonly kind?: string;
  /** Ends a sentence that begins with the place: "is missing". */
  readonly what: string;
}

export interface WalkedOrganisation {
  readonly organisation: string;
  readonly entries: number;
  readonly auditRows: number;
  readonly chain: string;
  /** Corrections and withdrawals of an entry that has not arrived: told, no fault, since a tablet may be late. */
  readonly openReferences: number;
}

/** Told of each audit row's link; a text is what is wrong with it. */
export type OnLink = (organisation: string, auditRows: number, chain: string) => string | undefined;

type Row = Record<string, SQLOutputValue>;
class Found extends Error {
  readonly fault: RecordFault;
  constructor(fault: RecordFault) {
    super(fault.what);
    this.fault = fault;
  }
}

const known: ReadonlySet<unknown> = new Set<string>([...entryKinds, ...auditActions]);

function found(place: RecordFault['place'], number: number, what: string, row: Row | undefined): Found {
  const at = row?.['received_at'] ?? row?.['at'] ?? row?.['queued_at'];
  const kind = row?.['kind'] ?? row?.['action'];
  return new Found({
    place,
    number,
    ...(typeof at === 'string' && !isRefusal(readInstant(at)) ? { at } : {}),
    ...(typeof kind === 'string' && known.has(kind) ? { kind } : {}),
    what,
  });
}

const entrySql =
  'select sequence, id, patient, kind, received_at, content from entry where organisation = ? order by sequence';
const auditSql = 'select * from audit where organisation = ? order by sequence';
// A row that stands in both tables comes twice, and is found as one too many.
const outboxSql = `select sequence, id, queued_at from outbox_waiting where organisation = :organisation
  union all select sequence, id, queued_at from outbox_sent where organisation = :organisation order by sequence`;

/** What an entry points at. */
function referencesOf(entry: Entry): readonly string[] {
  const of = (entry.payload as { readonly of?: unknown }).of;
  return [entry.corrects, typeof of === 'string' ? of : undefined].filter((one) => one !== undefined);
}

function checkEntry(row: Row | undefined, audit: Row, number: number, organisation: string): Entry {
  if (row === undefined || row['sequence'] !== number)
    throw found('entry', number, 'is missing', row === undefined ? audit : undefined);
  if (row['id'] !== audit['subject'])
    throw found('entry', number, 'is not the one that was kept in this place', row);
  const content = row['content'] as string;
  if (nodeDigest(content) !== audit['content_digest'])
    throw found('entry', number, 'reads other than when it was kept', row);
  const entry = JSON.parse(content) as Entry;
  const columnsFit =
    entry.id === row['id'] &&
    entry.kind === row['kind'] &&
    entry.patient === row['patient'] &&
    entry.patient === audit['patient'] &&
    entry.organisation === organisation &&
    row['received_at'] === audit['at'];
  if (!columnsFit) throw found('entry', number, 'is filed under something that it does not say', row);
  return entry;
}

function walkOne(database: DatabaseSync, organisation: string, onLink: OnLink): WalkedOrganisation {
  const entryRows = database.prepare(entrySql).iterate(organisation);
  const outboxRows = database.prepare(outboxSql).iterate({ organisation });
  const hasId = database.prepare('select 1 as found from entry where organisation = ? and id = ?');
  const next = (rows: Iterator<Row>): Row | undefined => {
    const step = rows.next();
    return step.done === true ? undefined : step.value;
  };
  let [chain, auditRows, entries, openReferences] = [chainStart, 0, 0, 0];
  for (const row of database.prepare(auditSql).iterate(organisation) as Iterable<Row>) {
    auditRows += 1;
    if (row['sequence'] !== auditRows) throw found('audit row', auditRows, 'is missing', undefined);
    const expected = chainAfter(
      chain,
      auditRows,
      {
        at: row['at'] as string,
        actor: row['actor'] as string,
        action: row['action'] as AuditAction,
        subject: row['subject'] as string,
        ...(row['patient'] === null ? {} : { patient: row['patient'] as string }),
        ...(row['content_digest'] === null ? {} : { contentDigest: row['content_digest'] as string }),
      },
      nodeDigest,
    );
    if (row['chain'] !== expected)
      throw found('audit row', auditRows, 'does not follow from the row before it', row);
    chain = expected;
    const wrong = onLink(organisation, auditRows, chain);
    if (wrong !== undefined) throw found('audit row', auditRows, wrong, row);
    if (row['action'] !== 'kept') continue;
    entries += 1;
    const entryRow = next(entryRows);
    const entry = checkEntry(entryRow, row, entries, organisation);
    for (const id of referencesOf(entry)) if (hasId.get(organisation, id) === undefined) openReferences += 1;
    const outbox = next(outboxRows);
    if (outbox?.['sequence'] !== entries || outbox['id'] !== entry.id || outbox['queued_at'] !== row['at'])
      throw found('outbox row', entries, 'is missing, or not of the entry in this place', entryRow);
  }
  const extraEntry = next(entryRows);
  if (extraEntry) throw found('entry', entries + 1, 'stands in no row of the audit', extraEntry);
  const extraOutbox = next(outboxRows);
  if (extraOutbox) throw found('outbox row', entries + 1, 'is of no entry', extraOutbox);
  return { organisation, entries, auditRows, chain, openReferences };
}

const organisationsSql = `select organisation from entry union select organisation from audit
  union select organisation from outbox_waiting union select organisation from outbox_sent order by 1`;

/**
 * @param database opened read only; the walk is one read transaction, so a server may write meanwhile
 * @returns all organisations of the file, or the first fault
 */
export function walkRecord(
  database: DatabaseSync,
  onLink: OnLink = () => undefined,
): readonly WalkedOrganisation[] | RecordFault {
  const alreadyInside = database.isTransaction;
  if (!alreadyInside) database.exec('begin');
  try {
    const pages = database.prepare('pragma integrity_check(1)').get();
    if (pages?.['integrity_check'] !== 'ok')
      return { place: 'file', what: 'is damaged: its pages or indexes do not fit together' };
    return database
      .prepare(organisationsSql)
      .all()
      .map((row) => walkOne(database, row['organisation'] as string, onLink));
  } catch (problem) {
    if (problem instanceof Found) return problem.fault;
    const { code } = problem as NodeJS.ErrnoException;
    if (code === 'ERR_SQLITE_ERROR' || code === 'ERR_OUT_OF_RANGE' || problem instanceof SyntaxError)
      return { place: 'file', what: 'is damaged: a row of it does not read' };
    throw problem;
  } finally {
    if (!alreadyInside && database.isTransaction) database.exec('rollback');
  }
}
