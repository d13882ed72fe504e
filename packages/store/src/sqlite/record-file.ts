/**
 * A record file from outside, without the port: opened read only, copied whole while a server writes to it.
 *
 * Errors    `store/not-a-record`, `store/newer-version`; a failing disk throws
 */
import { backup, DatabaseSync } from 'node:sqlite';
import { RefusalError } from '@ebbline/core/quantity';
import { notARecord } from '../refusals.ts';
import { checkVersion } from './schema.ts';

/** SQLITE_CORRUPT and SQLITE_NOTADB, the database's own codes. S-sqlite-result-codes */
const unreadable: ReadonlySet<unknown> = new Set([11, 26]);

const mostMappedBytes = 2 ** 36;

export interface RecordFile {
  readonly database: DatabaseSync;
  /** Version of its tables. */
  readonly version: number;
  close(): void;
}

/** Opens a file that must be there. Its tables are left as they are. */
export function openRecordFile(path: string): RecordFile {
  let database: DatabaseSync | undefined;
  try {
    database = new DatabaseSync(path, { readOnly: true });
    // Read through mapped memory, which halves the time of a whole walk. A disk that fails under it ends the process.
    database.exec(`pragma busy_timeout = 3000; pragma mmap_size = ${mostMappedBytes}`);
    const named = database
      .prepare(`select 1 as found from sqlite_schema where name = 'schema_version'`)
      .get();
    if (named === undefined) throw new RefusalError(notARecord());
    const version = checkVersion(database);
    const opened = database;
    return { database, version, close: () => opened.close() };
  } catch (problem) {
    database?.close();
    if (unreadable.has((problem as { readonly errcode?: number }).errcode))
      throw new RefusalError(notARecord());
    throw problem;
  }
}

/** Pages a step: between two steps others get their turn and progress is told. */
const pagesAStep = 1024;

/**
 * Copies the record as it stands at this moment. The read transaction around the copy pins the moment: what a server
 * writes meanwhile neither gets in nor makes the copy begin anew.
 *
 * @param onPages told after each step how many pages of how many are copied
 */
export async function copyRecord(
  from: RecordFile,
  to: string,
  onPages: (done: number, of: number) => void,
): Promise<void> {
  from.database.exec('begin');
  try {
    from.database.prepare('select count(*) from schema_version').get();
    await backup(from.database, to, {
      rate: pagesAStep,
      progress: ({ totalPages, remainingPages }) => onPages(totalPages - remainingPages, totalPages),
    });
  } finally {
    from.database.exec('rollback');
  }
  // One file without companions, readable on a medium that can't be written to.
  const copy = new DatabaseSync(to);
  try {
    copy.exec('pragma journal_mode = delete');
  } finally {
    copy.close();
  }
}
