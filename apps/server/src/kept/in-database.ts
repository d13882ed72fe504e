/**
 * What several server processes share: record, books, sessions and tries in one PostgreSQL database. Each process has a
 * folder of its own for its private key of checkpoints alone.
 *
 * Errors    `store/no-database`, `store/newer-version`, `server/which-organisation`
 */
import { mkdirSync } from 'node:fs';
import { randomUUID } from 'node:crypto';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';
import type { Books } from '@ebbline/store/books';
import {
  openPostgres,
  openPostgresStore,
  postgresBooks,
  type PostgresDatabase,
} from '@ebbline/store/postgres';
import { databaseSessions } from '../accounts/database-sessions.ts';
import { databaseTries } from '../accounts/database-tries.ts';
import type { LockAfterS, Sessions } from '../accounts/sessions.ts';
import type { Tries } from '../accounts/tries.ts';
import { defaultOrganisation } from '../directory-book.ts';
import type { Checkpoints } from '../keeping/checkpoints.ts';
import { openDatabaseCheckpoints } from '../keeping/database-checkpoints.ts';
import { openServerBooks, type ServerBooks } from './books-of-server.ts';
import { createLease, type Lease } from './lease.ts';

export interface KeptInDatabase extends ServerBooks {
  readonly store: EntryStore;
  readonly database: PostgresDatabase;
  readonly books: Books;
  readonly checkpoints: Checkpoints;
  readonly sessions: (lockAfterS: LockAfterS) => Sessions;
  readonly secretTries: Tries;
  readonly pinTries: Tries;
  readonly wayTries: Tries;
  readonly lease: Lease;
}

/** Whose record it is: what was said, else the one that is there, else the first name of a unit that starts. */
export async function organisationIn(database: PostgresDatabase, said: string | undefined): Promise<string> {
  if (said !== undefined) return said;
  const rows = await database.ask(
    'select organisation from {head} order by organisation collate "C" limit 2',
  );
  if (rows.length < 2) return (rows[0]?.['organisation'] as string | undefined) ?? defaultOrganisation;
  throw new RefusalError(
    refuse('server/which-organisation', {
      asked: 'Database',
      found: 'records of several organisations',
      allowed: 'one of them, by its name',
      todo: 'Say which one with EBBLINE_ORGANISATION.',
    }),
  );
}

export async function openInDatabase(
  {
    url,
    organisation: said,
    folder,
  }: { readonly url: string; readonly organisation: string | undefined; readonly folder: string },
  failed: (problem: unknown) => void,
): Promise<KeptInDatabase> {
  const database = await openPostgres({ url, onProblem: failed });
  try {
    const organisation = await organisationIn(database, said);
    const books = postgresBooks(database, organisation);
    const kept = await openServerBooks(books, failed, organisation);
    const store = await openPostgresStore({ database, organisation, ownsDatabase: true });
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    return {
      ...kept,
      store,
      database,
      books,
      checkpoints: await openDatabaseCheckpoints(books, folder, store),
      sessions: (lockAfterS) => databaseSessions(database, organisation, lockAfterS),
      secretTries: databaseTries(database, organisation, 'secret'),
      pinTries: databaseTries(database, organisation, 'pin'),
      wayTries: databaseTries(database, organisation, 'way'),
      lease: createLease(database, organisation, randomUUID()),
    };
  } catch (problem) {
    await database.close();
    throw problem;
  }
}
