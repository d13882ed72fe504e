/** Sessions in a database: one opened, locked or ended at one server is so at every other. */
import type { PostgresDatabase, Row } from '@ebbline/store/postgres';
import {
  heldSession,
  longestSessionMs,
  newSessionToken,
  sessionDigest,
  type LockAfterS,
  type Session,
  type Sessions,
} from './sessions.ts';

/**
 * A session in use is written down again only when so much has passed: it then rests that much too long at most in the
 * eyes of a server, never too short a time for whoever works. S-common-practice
 */
const useWithinMs = 5_000;
const mostRemembered = 20_000;

const sessionOf = (row: Row): Session => ({
  person: row['person'] as string,
  openedMs: row['opened_ms'] as number,
  usedMs: row['used_ms'] as number,
  locked: row['locked'] as boolean,
});

export function databaseSessions(
  database: PostgresDatabase,
  organisation: string,
  lockAfterS: LockAfterS,
): Sessions {
  const { ask } = database;
  /** When each was last seen used: whoever asks for one nearly always uses it next. */
  const usedAt = new Map<string, number>();
  /** Written statements go through a transaction of their own, which is done again when a connection was lost. */
  const write = (statement: string, values: readonly unknown[]): Promise<readonly Row[]> =>
    database.inTransaction((inside) => inside.ask(statement, values), true);
  const find = async (token: string | undefined): Promise<Session | undefined> => {
    if (token === undefined) return undefined;
    const [row] = await ask(
      'select person, opened_ms, used_ms, locked from {session} where organisation = $1 and digest = $2',
      [organisation, sessionDigest(token)],
      'session',
    );
    if (row === undefined) return undefined;
    const session = sessionOf(row);
    if (usedAt.size >= mostRemembered) usedAt.clear();
    usedAt.set(sessionDigest(token), session.usedMs);
    return session;
  };
  const sweep = (nowMs: number): Promise<readonly Row[]> =>
    write('delete from {session} where organisation = $1 and opened_ms <= $2', [
      organisation,
      nowMs - longestSessionMs,
    ]);
  return {
    open: async (person, nowMs, openedMs = nowMs) => {
      await sweep(nowMs);
      const token = newSessionToken();
      await write(
        `insert into {session} (organisation, digest, person, opened_ms, used_ms, locked, read_noted)
         values ($1, $2, $3, $4, $5, false, false) on conflict do nothing`,
        [organisation, sessionDigest(token), person, openedMs, nowMs],
      );
      return token;
    },
    find: async (token, nowMs) => heldSession(await find(token), nowMs, lockAfterS),
    use: async (token, nowMs) => {
      if (token === undefined) return;
      const digest = sessionDigest(token);
      const before = usedAt.get(digest);
      if (before !== undefined && nowMs - before < useWithinMs) return;
      usedAt.set(digest, nowMs);
      await write(
        'update {session} set used_ms = $3 where organisation = $1 and digest = $2 and not locked and used_ms < $3',
        [organisation, digest, nowMs],
      );
    },
    lock: async (token) => {
      if (token === undefined) return;
      await write('update {session} set locked = true where organisation = $1 and digest = $2', [
        organisation,
        sessionDigest(token),
      ]);
    },
    firstReading: async (token) => {
      if (token === undefined) return false;
      // Asked first: nearly every reading is a later one.
      const [seen] = await ask(
        'select read_noted from {session} where organisation = $1 and digest = $2',
        [organisation, sessionDigest(token)],
        'read-noted',
      );
      if (seen?.['read_noted'] !== false) return false;
      const first = await database.inTransaction((inside) =>
        inside.ask(
          'update {session} set read_noted = true where organisation = $1 and digest = $2 and not read_noted returning person',
          [organisation, sessionDigest(token)],
        ),
      );
      return first.length === 1;
    },
    end: async (token) => {
      if (token === undefined) return;
      await write('delete from {session} where organisation = $1 and digest = $2', [
        organisation,
        sessionDigest(token),
      ]);
    },
    count: async (nowMs) => {
      await sweep(nowMs);
      const [row] = await ask('select count(*) as count from {session} where organisation = $1', [
        organisation,
      ]);
      return row?.['count'] as number;
    },
  };
}
