/**
 * A record and its books between a database and a folder's files, whole, as they stand at one moment; row by row, so that
 * what was `kept` here is `kept` there, with the same chain. Who follows whom is worked out anew.
 *
 * Errors    `store/not-empty`, `store/several-organisations`; nothing of a copy that broke off is left in the database
 */
import { createHash } from 'node:crypto';
import type { DatabaseSync, SQLInputValue, SQLOutputValue } from 'node:sqlite';
import type pg from 'pg';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { chainStart } from '../audit-chain.ts';
import { fillFollowing } from '../sqlite/following-rows.ts';
import { openRecordFile } from '../sqlite/record-file.ts';
import { prepareSchema } from '../sqlite/schema.ts';
import { openDatabase } from '../sqlite/sqlite-store.ts';
import { followThrough } from './following-rows.ts';
import type { Ask, PostgresDatabase, Row } from './database.ts';
import { inSchema } from './schema.ts';

/** Columns beside the organisation, with their types there; in order of the first. */
const tables = {
  entry: {
    sequence: 'bigint',
    id: 'text',
    patient: 'text',
    kind: 'text',
    received_at: 'text',
    content: 'text',
  },
  audit: {
    sequence: 'bigint',
    at: 'text',
    actor: 'text',
    action: 'text',
    subject: 'text',
    patient: 'text',
    content_digest: 'text',
    chain: 'text',
    told_at: 'text',
    note_id: 'text',
    detail: 'text',
  },
  outbox_waiting: { sequence: 'bigint', id: 'text', queued_at: 'text' },
  outbox_sent: { sequence: 'bigint', id: 'text', queued_at: 'text', sent_at: 'text' },
  bookmark: { name: 'text', value: 'bigint' },
} as const;
type Table = keyof typeof tables;
const names = Object.keys(tables) as Table[];
const columnsOf = (table: Table): readonly string[] => Object.keys(tables[table]);
/** By bytes at both ends, whatever the database's own language. */
const orderOf = (table: Table): string => (table === 'bookmark' ? 'name collate "C"' : 'sequence');

const pageRows = 2_000;

/** Told how many rows of which table are done. */
export type OnRows = (table: string, rows: number) => void;

export interface CopiedOut {
  readonly books: readonly { readonly name: string; readonly text: string }[];
  readonly entries: number;
  readonly auditRows: number;
  readonly chain: string;
  readonly version: number;
}

async function copyTableOut(
  client: pg.ClientBase,
  { schema }: PostgresDatabase,
  organisation: string,
  table: Table,
  file: DatabaseSync,
  onRows: OnRows,
): Promise<void> {
  const columns = columnsOf(table);
  const add = file.prepare(
    `insert into ${table} (organisation, ${columns.join(', ')}) values (?${', ?'.repeat(columns.length)})`,
  );
  await client.query(
    inSchema(
      schema,
      `declare rows no scroll cursor for select ${columns.join(', ')} from {${table}} where organisation = $1 order by ${orderOf(table)}`,
    ),
    [organisation],
  );
  for (let done = 0; ;) {
    const { rows } = await client.query(`fetch ${pageRows} from rows`);
    for (const row of rows as Record<string, SQLInputValue>[])
      add.run(organisation, ...columns.map((column) => row[column] ?? null));
    done += rows.length;
    onRows(table, done);
    if (rows.length < pageRows) break;
  }
  await client.query('close rows');
}

/**
 * @param path a record file that is not there yet
 * @returns the books of the same moment, and what the head of the record counts
 */
export function copyOut(
  database: PostgresDatabase,
  organisation: string,
  path: string,
  onRows: OnRows = () => undefined,
): Promise<CopiedOut> {
  return database.atOneMoment(async (client) => {
    const file = openDatabase(path);
    try {
      prepareSchema(file);
      // On the disk once, whole: the caller sees to it.
      file.exec('pragma synchronous = off; begin');
      for (const table of names) await copyTableOut(client, database, organisation, table, file, onRows);
      fillFollowing(file);
      file.exec('commit; pragma journal_mode = delete');
    } finally {
      file.close();
    }
    const ask = async (statement: string): Promise<Row[]> =>
      (await client.query(inSchema(database.schema, statement), [organisation])).rows as Row[];
    const [head] = await ask('select entries, audit_rows, chain from {head} where organisation = $1');
    const books = await ask(
      'select name, content from {book} where organisation = $1 and content is not null order by name collate "C"',
    );
    return {
      books: books.map((row) => ({ name: row['name'] as string, text: row['content'] as string })),
      entries: (head?.['entries'] as number | undefined) ?? 0,
      auditRows: (head?.['audit_rows'] as number | undefined) ?? 0,
      chain: (head?.['chain'] as string | undefined) ?? chainStart,
      version: database.version,
    };
  });
}

const notEmpty = (): RefusalError =>
  new RefusalError(
    refuse('store/not-empty', {
      asked: 'Database',
      found: 'a record, or books of a server, of this organisation already',
      allowed: 'a database on which no server of this organisation has been started',
      todo: 'Choose another database; a record is never written over.',
    }),
  );

/** The one organisation of a record file; nothing for an empty one. */
export function organisationOfFile(path: string): string | undefined {
  const file = openRecordFile(path);
  try {
    const rows = file.database
      .prepare('select organisation from entry union select organisation from audit')
      .all();
    if (rows.length < 2) return rows[0]?.['organisation'] as string | undefined;
  } finally {
    file.close();
  }
  throw new RefusalError(
    refuse('store/several-organisations', {
      asked: 'Record',
      found: 'entries of several organisations in one file',
      allowed: 'one organisation',
      todo: 'Such a file was not made by `serve`: ask whoever made it.',
    }),
  );
}

type FileRow = Record<string, SQLOutputValue>;

async function copyTableIn(
  ask: Ask,
  organisation: string,
  table: Table,
  file: DatabaseSync,
  onRows: OnRows,
): Promise<{ readonly digest: string; readonly rows: number }> {
  const columns = Object.entries(tables[table]);
  const list = columns.map(([name]) => name).join(', ');
  const arrays = columns.map(([, type], index) => `$${index + 2}::${type}[]`).join(', ');
  const digest = createHash('sha256');
  let [page, done]: [FileRow[], number] = [[], 0];
  const flush = async (): Promise<void> => {
    if (page.length === 0) return;
    const rows = page;
    page = [];
    await ask(`insert into {${table}} (organisation, ${list}) select $1, * from unnest(${arrays})`, [
      organisation,
      ...columns.map(([name]) => rows.map((row) => row[name] ?? null)),
    ]);
    done += rows.length;
    onRows(table, done);
  };
  const order = table === 'bookmark' ? 'name' : 'sequence';
  const all = file.prepare(`select ${list} from ${table} where organisation = ? order by ${order}`);
  for (const row of all.iterate(organisation) as Iterable<FileRow>) {
    digest.update(`${JSON.stringify(columns.map(([name]) => row[name] ?? null))}\n`);
    if (page.push(row) === pageRows) await flush();
  }
  await flush();
  return { digest: digest.digest('hex'), rows: done };
}

/** The digest of a table as the database has it now. */
async function digestIn(ask: Ask, organisation: string, table: Table): Promise<string> {
  const columns = columnsOf(table);
  const digest = createHash('sha256');
  await ask(
    `declare proof no scroll cursor for select ${columns.join(', ')} from {${table}} where organisation = $1 order by ${orderOf(table)}`,
    [organisation],
  );
  for (;;) {
    const rows = await ask(`fetch ${pageRows} from proof`);
    for (const row of rows)
      digest.update(`${JSON.stringify(columns.map((column) => row[column] ?? null))}\n`);
    if (rows.length < pageRows) break;
  }
  await ask('close proof');
  return digest.digest('hex');
}

export interface CopiedIn {
  readonly entries: number;
  readonly auditRows: number;
  /** The newest link: the same at both ends. */
  readonly chain: string;
}

/**
 * Copies a record file and books in, all in one transaction: read back and compared row by row before it counts.
 *
 * @param path a record file of this release's version, sound
 */
export async function copyIn(
  database: PostgresDatabase,
  organisation: string,
  path: string,
  books: CopiedOut['books'],
  onRows: OnRows = () => undefined,
): Promise<CopiedIn> {
  const opened = openRecordFile(path);
  try {
    return await database.inTransaction(async ({ ask }) => {
      await ask(
        'insert into {head} (organisation, entries, audit_rows, chain) values ($1, 0, 0, $2) on conflict do nothing',
        [organisation, chainStart],
      );
      const [head] = await ask('select entries, audit_rows from {head} where organisation = $1 for update', [
        organisation,
      ]);
      const [held] = await ask(
        'select count(*) as count from {book} where organisation = $1 and content is not null',
        [organisation],
      );
      if (Number(head?.['entries']) + Number(head?.['audit_rows']) + Number(held?.['count']) > 0)
        throw notEmpty();
      const given = new Map<Table, { readonly digest: string; readonly rows: number }>();
      for (const table of names)
        given.set(table, await copyTableIn(ask, organisation, table, opened.database, onRows));
      for (const table of names) {
        onRows(`${table}, compared`, given.get(table)?.rows ?? 0);
        if ((await digestIn(ask, organisation, table)) !== given.get(table)?.digest)
          throw new Error(`${table} reads other in the database than in the file`);
      }
      const [last] = await ask(
        'select chain from {audit} where organisation = $1 order by sequence desc limit 1',
        [organisation],
      );
      const copied: CopiedIn = {
        entries: given.get('entry')?.rows ?? 0,
        auditRows: given.get('audit')?.rows ?? 0,
        chain: (last?.['chain'] as string | undefined) ?? chainStart,
      };
      await ask('update {head} set entries = $2, audit_rows = $3, chain = $4 where organisation = $1', [
        organisation,
        copied.entries,
        copied.auditRows,
        copied.chain,
      ]);
      await followThrough(ask, organisation, copied.entries, []);
      for (const { name, text } of books)
        await ask('insert into {book} (organisation, name, content) values ($1, $2, $3)', [
          organisation,
          name,
          text,
        ]);
      return copied;
    });
  } finally {
    opened.close();
  }
}
