/**
 * The same keeping for a record in a database: proved, backed up into the same open folder as any other, brought back from
 * one, and moved in from a server's folder.
 *
 * Errors    those of `backupFolder`, `restoreFolder`; `store/not-empty`, `keep/data-in-use`
 */
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { readIfThere } from '@ebbline/store/books';
import {
  copyIn,
  copyOut,
  openPostgres,
  organisationOfFile,
  type CopiedIn,
  type CopiedOut,
  type PostgresDatabase,
} from '@ebbline/store/postgres';
import { openSqliteStore } from '@ebbline/store/sqlite';
import { defaultOrganisation, fileDirectory } from '../directory-book.ts';
import { organisationIn } from '../kept/in-database.ts';
import { finishCopy, targetThere, underAnotherName, unsound, type Keeping } from './backup.ts';
import { syncFile, writeNew } from './disk.ts';
import { isBackedUp, recordName } from './manifest.ts';
import { restoreFolder } from './restore.ts';
import { verifyFolder, type SoundFolder, type VerifiedFolder } from './verify-folder.ts';

/** Where a database is, and whose record of it. */
export interface DatabaseAt {
  readonly url: string;
  readonly organisation?: string | undefined;
}

async function withDatabase<Answer>(
  { url, organisation: said }: DatabaseAt,
  prepare: boolean,
  work: (database: PostgresDatabase, organisation: string) => Promise<Answer>,
): Promise<Answer> {
  const database = await openPostgres({ url, connections: 2, prepare });
  try {
    return await work(database, await organisationIn(database, said));
  } finally {
    await database.close();
  }
}

/** Record and books of one moment, as files of a folder. */
async function gather(
  database: PostgresDatabase,
  organisation: string,
  folder: string,
  { onProgress = () => undefined, onStep = () => undefined }: Keeping,
): Promise<CopiedOut> {
  onStep(recordName);
  const copied = await copyOut(database, organisation, join(folder, recordName), (table, rows) =>
    onProgress(`Copying ${table}: ${rows}`),
  );
  syncFile(join(folder, recordName));
  for (const { name, text } of copied.books) {
    if (!isBackedUp(name)) continue;
    onStep(name);
    mkdirSync(dirname(join(folder, name)), { recursive: true, mode: 0o700 });
    writeNew(join(folder, name), text);
  }
  return copied;
}

/** What was walked is what the head counts; whoever appends next goes on from there. */
function asCounted(verified: VerifiedFolder, copied: CopiedOut): VerifiedFolder {
  if (!verified.sound) return verified;
  const [walked] = verified.organisations;
  const fits =
    (walked?.entries ?? 0) === copied.entries &&
    (walked?.auditRows ?? 0) === copied.auditRows &&
    (walked === undefined || walked.chain === copied.chain);
  if (fits) return { ...verified, schemaVersion: copied.version };
  return {
    sound: false,
    fault: {
      place: 'audit row',
      number: (walked?.auditRows ?? 0) + 1,
      what: `is missing, or one too many: the head counts ${copied.auditRows}`,
    },
  };
}

/** Proves a database, read only, beside running servers: by a copy in a folder of this process, which is deleted. */
export async function verifyDatabase(at: DatabaseAt, keeping: Keeping): Promise<VerifiedFolder> {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-verify-'));
  try {
    return await withDatabase(at, false, async (database, organisation) => {
      const copied = await gather(database, organisation, folder, keeping);
      keeping.onProgress?.('Proving the copy');
      return asCounted(verifyFolder(folder), copied);
    });
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** A backup in the same form as of a folder: `verify` and `restore` take it, into a folder or a database. */
export async function backupDatabase(at: DatabaseAt, to: string, keeping: Keeping): Promise<SoundFolder> {
  if (existsSync(to)) throw targetThere(to);
  return withDatabase(at, false, (database, organisation) =>
    underAnotherName(to, async (beside) => {
      const copy = join(beside, 'copy');
      mkdirSync(copy, { mode: 0o700 });
      const copied = await gather(database, organisation, copy, keeping);
      const counted = asCounted(verifyFolder(copy), copied);
      if (!counted.sound) throw unsound('Backup', counted.fault);
      return finishCopy(copy, beside, to, keeping);
    }),
  );
}

const booksIn = (folder: string): CopiedOut['books'] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name !== recordName && isBackedUp(name))
    .sort()
    .map((name) => ({ name, text: readIfThere(join(folder, name)) ?? '' }));

/** Whose folder it is: as its record says, else its directory. */
async function organisationOf(folder: string): Promise<string> {
  const inRecord = organisationOfFile(join(folder, recordName));
  if (inRecord !== undefined) return inRecord;
  if (readIfThere(join(folder, 'directory.json')) === undefined) return defaultOrganisation;
  return (await fileDirectory(join(folder, 'directory.json'))).current().organisation;
}

async function bringIn(folder: string, url: string, { onProgress }: Keeping): Promise<CopiedIn> {
  const organisation = await organisationOf(folder);
  return withDatabase({ url, organisation }, true, (database) =>
    copyIn(database, organisation, join(folder, recordName), booksIn(folder), (table, rows) =>
      onProgress?.(`Moving ${table}: ${rows}`),
    ),
  );
}

/** A backup becomes the record of an empty database: proved first, then all in one transaction. */
export async function restoreDatabase(from: string, url: string, keeping: Keeping): Promise<SoundFolder> {
  const beside = mkdtempSync(join(tmpdir(), 'ebbline-restore-'));
  try {
    const folder = join(beside, 'data');
    const sound = await restoreFolder(from, folder, keeping);
    bringUp(folder);
    await bringIn(folder, url, keeping);
    return sound;
  } finally {
    rmSync(beside, { recursive: true, force: true });
  }
}

/** Tables of an earlier release become those of this one. */
function bringUp(folder: string): void {
  void openSqliteStore({ path: join(folder, recordName), organisation: defaultOrganisation }).close();
}

const inUse = (folder: string): RefusalError =>
  new RefusalError(
    refuse('keep/data-in-use', {
      asked: 'Move',
      found: `a server that runs on ${folder}`,
      allowed: 'a folder on which no server runs, so that nothing is kept in it afterwards',
      todo: 'Stop the server, then move.',
    }),
  );

export interface Moved extends CopiedIn {
  readonly from: SoundFolder;
}

/**
 * Moves a server's folder into an empty database. The folder stays as it is; after a move that broke off nothing of it is
 * in the database.
 *
 * @param isServed whether a server runs on the folder
 */
export async function moveToDatabase(
  folder: string,
  url: string,
  isServed: (folder: string) => boolean,
  keeping: Keeping,
): Promise<Moved> {
  if (isServed(folder)) throw inUse(folder);
  keeping.onProgress?.('Proving the folder');
  const proved = verifyFolder(folder);
  if (!proved.sound) throw unsound('Move', proved.fault);
  bringUp(folder);
  const moved = await bringIn(folder, url, keeping);
  const [walked] = proved.organisations;
  if (walked !== undefined && walked.chain !== moved.chain)
    throw new Error('the folder was written to while it was moved');
  return { ...moved, from: proved };
}

/** Brings the tables of a database, or of a folder's record, to this release; gives the versions before and after. */
export async function bringDatabaseUp(
  url: string,
): Promise<{ readonly before: number; readonly after: number }> {
  const looked = await openPostgres({ url, connections: 1, prepare: false });
  await looked.close();
  const brought = await openPostgres({ url, connections: 1 });
  await brought.close();
  return { before: looked.version, after: brought.version };
}
