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
import { chainStart, linkText } from '../audit-chain.ts';
import { auditActions } from '../port.ts';
import { checkVersion } from './schema.ts';
import { nodeDigest } from '../rows.ts';

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

type Column = SQLOutputValue;
/** A row as its columns in the order of its query: no object with names is made of it, which halves the walk. */
type Columns = readonly Column[];
class Found extends Error {
  readonly fault: RecordFault;
  constructor(fault: RecordFault) {
    super(fault.what);
    this.fault = fault;
  }
}

const known: ReadonlySet<unknown> = new Set<string>([...entryKinds, ...auditActions]);

/** What a fault may say of a row. */
interface Told {
  readonly at: Column;
  readonly kind?: Column;
}

function found(
  place: RecordFault['place'],
  number: number,
  what: string,
  { at, kind }: Partial<Told> = {},
): Found {
  return new Found({
    place,
    number,
    ...(typeof at === 'string' && !isRefusal(readInstant(at)) ? { at } : {}),
    ...(typeof kind === 'string' && known.has(kind) ? { kind } : {}),
    what,
  });
}

const pageSize = 2_000;
const entrySql =
  'select sequence, id, patient, kind, received_at, content from entry where organisation = ? and sequence > ? order by sequence limit ?';
// The newer columns of the audit come last and are none in a file of an older version.
const auditSql = (version: number): string =>
  `select sequence, at, actor, action, subject, patient, content_digest, chain, ${version >= 2 ? 'told_at, note_id, detail' : 'null, null, null'}
   from audit where organisation = ? and sequence > ? order by sequence limit ?`;
const outboxSql = (table: 'waiting' | 'sent'): string =>
  `select sequence, id, queued_at from outbox_${table} where organisation = ? and sequence > ? order by sequence limit ?`;

/** Rows in order of their sequence, read page by page. */
function reader(database: DatabaseSync, sql: string, organisation: string): () => Columns | undefined {
  const statement = database.prepare(sql);
  statement.setReturnArrays(true);
  let page: readonly Columns[] = [];
  let at = 0;
  let after: Column = 0;
  return () => {
    if (at === page.length) {
      if (at !== 0 && at < pageSize) return undefined;
      page = statement.all(organisation, after, pageSize) as unknown as Columns[];
      at = 0;
      after = page.at(-1)?.[0] ?? after;
    }
    return page[at++];
  };
}

/** Both tables of the outbox as one. A row that stands in both comes twice, and is found as one too many. */
function outboxReader(database: DatabaseSync, organisation: string): () => Columns | undefined {
  const [nextWaiting, nextSent] = [
    reader(database, outboxSql('waiting'), organisation),
    reader(database, outboxSql('sent'), organisation),
  ];
  let [waiting, sent] = [nextWaiting(), nextSent()];
  return () => {
    const takeWaiting =
      sent === undefined || (waiting !== undefined && Number(waiting[0]) <= Number(sent[0]));
    const row = takeWaiting ? waiting : sent;
    if (takeWaiting) waiting = nextWaiting();
    else sent = nextSent();
    return row;
  };
}

/** What an entry points at. */
function referencesOf(entry: Entry): readonly string[] {
  const of = (entry.payload as { readonly of?: unknown }).of;
  return [entry.corrects, typeof of === 'string' ? of : undefined].filter((one) => one !== undefined);
}

interface Kept {
  readonly at: Column;
  readonly subject: Column;
  readonly patient: Column;
  readonly contentDigest: Column;
}

function checkEntry(row: Columns | undefined, kept: Kept, number: number, organisation: string): Entry {
  if (row?.[0] !== number)
    throw found('entry', number, 'is missing', row === undefined ? { at: kept.at, kind: 'kept' } : {});
  const [, id, patient, kind, receivedAt, content] = row;
  const told: Told = { at: receivedAt as Column, kind: kind as Column };
  if (id !== kept.subject) throw found('entry', number, 'is not the one that was kept in this place', told);
  if (nodeDigest(content as string) !== kept.contentDigest)
    throw found('entry', number, 'reads other than when it was kept', told);
  const entry = JSON.parse(content as string) as Entry;
  const columnsFit =
    entry.id === id &&
    entry.kind === kind &&
    entry.patient === patient &&
    entry.patient === kept.patient &&
    entry.organisation === organisation &&
    receivedAt === kept.at;
  if (!columnsFit) throw found('entry', number, 'is filed under something that it does not say', told);
  return entry;
}

function walkOne(
  database: DatabaseSync,
  version: number,
  organisation: string,
  onLink: OnLink,
): WalkedOrganisation {
  const nextAudit = reader(database, auditSql(version), organisation);
  const nextEntry = reader(database, entrySql, organisation);
  const nextOutbox = outboxReader(database, organisation);
  const hasId = database.prepare('select 1 as found from entry where organisation = ? and id = ?');
  let [chain, auditRows, entries, openReferences] = [chainStart, 0, 0, 0];
  for (let row = nextAudit(); row !== undefined; row = nextAudit()) {
    const [sequence, at, actor, action, subject, patient, contentDigest, link, toldAt, noteId, detail] =
      row as [
        number,
        string,
        string,
        string,
        string,
        string | null,
        string | null,
        string,
        string | null,
        string | null,
        string | null,
      ];
    auditRows += 1;
    if (sequence !== auditRows) throw found('audit row', auditRows, 'is missing');
    chain = nodeDigest(
      linkText(chain, auditRows, at, actor, action, subject, patient, contentDigest, toldAt, noteId, detail),
    );
    if (link !== chain)
      throw found('audit row', auditRows, 'does not follow from the row before it', { at, kind: action });
    const wrong = onLink(organisation, auditRows, chain);
    if (wrong !== undefined) throw found('audit row', auditRows, wrong, { at, kind: action });
    if (action !== 'kept') continue;
    entries += 1;
    const entryRow = nextEntry();
    const entry = checkEntry(entryRow, { at, subject, patient, contentDigest }, entries, organisation);
    for (const id of referencesOf(entry)) if (hasId.get(organisation, id) === undefined) openReferences += 1;
    const outbox = nextOutbox();
    if (outbox?.[0] !== entries || outbox[1] !== entry.id || outbox[2] !== at)
      throw found('outbox row', entries, 'is missing, or not of the entry in this place', {
        at,
        kind: entry.kind,
      });
  }
  const extra = nextEntry();
  if (extra)
    throw found('entry', entries + 1, 'stands in no row of the audit', {
      at: extra[4] as Column,
      kind: extra[3] as Column,
    });
  const extraOutbox = nextOutbox();
  if (extraOutbox) throw found('outbox row', entries + 1, 'is of no entry', { at: extraOutbox[2] as Column });
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
    const version = checkVersion(database);
    return database
      .prepare(organisationsSql)
      .all()
      .map((row) => walkOne(database, version, row['organisation'] as string, onLink));
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
