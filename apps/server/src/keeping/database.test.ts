// Proves     a folder moves into a database whole, with the same chain, or not at all, whenever the move is killed; a
//            backup of a database is one like any other and comes back into a folder or a database; a changed row is found
// Published  none
// Tolerance  exact; waits end with what they wait for
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { instantOfMs, seededRandom, uuidV7 } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { verifyStore, type EntryStore } from '@ebbline/store';
import { fileBooks } from '@ebbline/store/books';
import { openPostgres, openPostgresStore, postgresBooks } from '@ebbline/store/postgres';
import { privatePostgres, type PrivatePostgres } from '@ebbline/store/postgres/testing';
import { openSqliteStore } from '@ebbline/store/sqlite';
import { openServerBooks } from '../kept/books-of-server.ts';
import { openCheckpoints } from './checkpoints.ts';
import {
  backupDatabase,
  bringDatabaseUp,
  moveToDatabase,
  restoreDatabase,
  restoreFolder,
  verifyDatabase,
  verifyPath,
} from './index.ts';

const found = await privatePostgres();
const missing = 'missing' in found;
const postgres = found as PrivatePostgres;
const organisation = 'saltmarsh';
const root = mkdtempSync(join(tmpdir(), 'ebbline-move-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
let count = 0;
const fresh = (): string => join(root, String((count += 1)));
const nowMs = Date.parse('2026-05-12T08:00:00Z');
const keeping = { nowMs };
const served = (): boolean => false;

function maker(seed: number) {
  const random = seededRandom(seed);
  let made = 0;
  return (kind: string, payload: unknown, patient = 'p1'): Entry => {
    made += 1;
    const at = nowMs + made * 60_000;
    return {
      id: uuidV7(
        at,
        Array.from({ length: 10 }, () => random.below(256)),
      ),
      organisation,
      patient,
      effectiveAt: instantOfMs(at),
      timeQuality: 'exact',
      recordedAt: instantOfMs(at),
      author: 'nurse-1',
      madeOn: 'tablet-1',
      kind,
      payload,
    } as Entry;
  };
}
const context = { receivedAt: instantOfMs(nowMs), actor: 'nurse-1' };
const registered = {
  familyName: 'Ostränder “W”',
  givenName: 'Wilma',
  sex: 'female',
  identifierSystem: 'urn:made-up',
  identifierValue: 'p1',
  ward: 'harbour-3',
  bed: '4',
};

/** A folder as a server leaves it: record, notes of every shape, sent and waiting, a bookmark, books, a checkpoint. */
async function aFolder(many: number): Promise<string> {
  const folder = fresh();
  const books = fileBooks(folder);
  await openServerBooks(books, () => undefined, organisation);
  await books.book('tokens/a1b2c3d4e5f6.json').change(() => '{}');
  const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
  const make = maker(many);
  await store.append([make('patient-registered', registered)], context);
  for (let done = 0; done < many; done += 100)
    await store.append(
      Array.from({ length: 100 }, (_, index) => make('void', { how: 'measured', volumeMl: index })),
      context,
    );
  await store.note({ at: context.receivedAt, actor: 'nurse-1', action: 'signed-in', subject: 'nurse-1' });
  await store.noteAll([
    {
      at: context.receivedAt,
      actor: 'nurse-1',
      action: 'viewed',
      subject: 'patient',
      patient: 'p1',
      toldAt: context.receivedAt,
      noteId: 'view-1',
      detail: { ward: 'harbour-3', actorWards: ['harbour-3'] },
    },
  ]);
  await store.markSent([1, 3], context.receivedAt);
  await store.setBookmark('notice', 41);
  await openCheckpoints(folder, store).now(nowMs);
  await store.close();
  return folder;
}

async function withStore<Answer>(url: string, work: (store: EntryStore) => Promise<Answer>): Promise<Answer> {
  const database = await openPostgres({ url, connections: 2 });
  const store = await openPostgresStore({ database, organisation, ownsDatabase: true });
  try {
    return await work(store);
  } finally {
    await store.close();
  }
}

describe.skipIf(missing)('a record in a database', () => {
  it('is what the folder held: every row, every book, the same chain, and goes on from there', async () => {
    const folder = await aFolder(200);
    const url = await postgres.newDatabase();
    const moved = await moveToDatabase(folder, url, served, keeping);
    expect(moved).toMatchObject({ entries: 201, auditRows: 203 });
    const sqlite = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
    await withStore(url, async (store) => {
      // Before anything is kept there: a ward finds its patient.
      const reach = { wards: [{ ward: 'harbour-3', heardSinceMs: 0 }], nowMs };
      expect(await store.patientsInReach(reach)).toEqual(['p1']);
      for (const one of ['after', 'auditAfter', 'outboxAfter'] as const)
        expect(await store[one](0, 999)).toEqual(await sqlite[one](0, 999));
      expect(await store.auditHead()).toEqual(await sqlite.auditHead());
      expect(await store.bookmark('notice')).toBe(41);
      await store.append([maker(9)('void', { how: 'measured', volumeMl: 5 })], context);
      expect(await verifyStore(store)).toMatchObject({ entries: 202, auditRows: 204 });
    });
    await sqlite.close();
    const database = await openPostgres({ url, connections: 1 });
    const books = postgresBooks(database, organisation);
    const names = await books.names();
    expect(names).toEqual([
      'accounts.json',
      'checkpoint-keys.pem',
      'checkpoints.ndjson',
      'directory.json',
      'sealing-key.json',
      'tokens/a1b2c3d4e5f6.json',
    ]);
    for (const name of names)
      expect(await books.book(name).read()).toBe(await fileBooks(folder).book(name).read());
    await database.close();
    expect(await verifyDatabase({ url }, keeping)).toMatchObject({ sound: true, checkpoints: 1 });
    await expect(moveToDatabase(folder, url, served, keeping)).rejects.toThrow('store/not-empty');
    expect(await bringDatabaseUp(url)).toMatchObject({ before: expect.any(Number) });
  });

  it('is not begun from a folder on which a server runs, or one that is not sound', async () => {
    const folder = await aFolder(100);
    const url = await postgres.newDatabase();
    await expect(moveToDatabase(folder, url, () => true, keeping)).rejects.toThrow('keep/data-in-use');
    const { DatabaseSync } = await import('node:sqlite');
    const file = new DatabaseSync(join(folder, 'record.sqlite'));
    file.exec(`update entry set content = replace(content, '"volumeMl":7}', '"volumeMl":907}')`);
    file.close();
    await expect(moveToDatabase(folder, url, served, keeping)).rejects.toThrow('keep/unsound');
    await withStore(url, async (store) => expect(await store.head()).toBe(0));
  });

  it('is there whole or not at all when the move is killed at any moment, and the move can be run again', async () => {
    const folder = await aFolder(1_000);
    const main = fileURLToPath(new URL('../../../cli/src/main.ts', import.meta.url));
    const random = seededRandom(5);
    const url = await postgres.newDatabase();
    const looking = await openPostgres({ url, connections: 1 });
    const move = async (killAfterMs: number | undefined): Promise<number | null> => {
      const child = spawn(process.execPath, [main, 'migrate', '--from', folder], {
        env: { ...process.env, EBBLINE_DATABASE: url },
        stdio: 'ignore',
      });
      const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
      if (killAfterMs !== undefined)
        // Killed once its one transaction has been open so long.
        while (child.exitCode === null && child.signalCode === null) {
          const open = await looking.ask(
            `select 1 from pg_stat_activity where application_name = 'ebbline' and datname = current_database() and pid <> pg_backend_pid() and xact_start < clock_timestamp() - $1 * interval '1 millisecond'`,
            [killAfterMs],
          );
          if (open.length > 0) child.kill('SIGKILL');
        }
      return ended;
    };
    let killed = 0;
    for (let round = 0; round < 3; round += 1) {
      if ((await move(random.below(40))) !== null) break;
      killed += 1;
      const database = await openPostgres({ url, connections: 1 });
      expect(await database.ask('select count(*) as count from {entry}')).toEqual([{ count: 0 }]);
      expect(await postgresBooks(database, organisation).names()).toEqual([]);
      await database.close();
    }
    expect(killed).toBeGreaterThan(0);
    await looking.close();
    // Killed before or after the commit, it is one or the other; run to its end it is there.
    const code = await move(undefined);
    expect([0, 3]).toContain(code);
    expect(await verifyDatabase({ url }, keeping)).toMatchObject({
      sound: true,
      organisations: [{ entries: 1_001 }],
    });
  }, 120_000);

  it('is backed up while others write, and comes back into a folder and into another database', async () => {
    const url = await postgres.newDatabase();
    await moveToDatabase(await aFolder(100), url, served, keeping);
    const target = fresh();
    const make = maker(31);
    let going = true;
    await withStore(url, async (store) => {
      const writing = (async () => {
        while (going) await store.append([make('void', { how: 'measured', volumeMl: 1 })], context);
      })();
      await backupDatabase({ url }, target, keeping);
      going = false;
      await writing;
    });
    const backup = verifyPath(target);
    expect(backup).toMatchObject({ sound: true, backup: true, checkpoints: 1 });
    if (!backup.sound) throw new Error('not sound');
    const folder = fresh();
    expect((await restoreFolder(target, folder, keeping)).organisations).toEqual(backup.organisations);
    const other = await postgres.newDatabase();
    await restoreDatabase(target, other, keeping);
    const again = await verifyDatabase({ url: other }, keeping);
    expect(again).toMatchObject({ sound: true, organisations: backup.organisations });
    await expect(restoreDatabase(target, other, keeping)).rejects.toThrow('store/not-empty');
  });

  const tampering: readonly (readonly [string, string])[] = [
    [
      'entry was changed',
      `update {entry} set content = replace(content, '"volumeMl":7}', '"volumeMl":907}') where sequence > 2`,
    ],
    ['entry was dropped', 'delete from {entry} where sequence = 5'],
    ['audit row was changed', `update {audit} set actor = 'nobody' where sequence = 5`],
    [
      'told time was changed',
      `update {audit} set told_at = '2026-05-12T07:00:00Z' where told_at is not null`,
    ],
    ['outbox row was dropped', 'delete from {outbox_waiting} where sequence = 6'],
    ['head counts another', 'update {head} set audit_rows = audit_rows - 1'],
  ];
  it('is found not sound wherever one row of it was changed behind its back', async () => {
    const folder = await aFolder(100);
    for (const [what, statement] of tampering) {
      const url = await postgres.newDatabase();
      await moveToDatabase(folder, url, served, keeping);
      const database = await openPostgres({ url, connections: 1 });
      await database.ask(statement);
      await database.close();
      const verified = await verifyDatabase({ url }, keeping);
      expect(verified.sound, what).toBe(false);
      expect(JSON.stringify(verified)).not.toMatch(/Ostr|Wilma/);
      await expect(backupDatabase({ url }, fresh(), keeping), what).rejects.toThrow('keep/unsound');
    }
  });
});
