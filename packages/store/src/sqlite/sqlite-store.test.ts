// Proves     the SQLite adapter keeps the port's promises; a file opens
//            again; a row changed behind its back is found
// Published  none; that what it answered "kept" outlives kill -9 and a power cut: faults/kills, faults/power
// Tolerance  exact
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterAll, describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { verifyStore } from '../audit-chain.ts';
import { storeContract } from '../store.contract.ts';
import { entryMaker, followingMaker, organisation } from '../testing/entries.ts';
import { nodeDigest, openSqliteStore, schemaVersion } from './index.ts';
import { openDatabase } from './sqlite-store.ts';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-store-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
let count = 0;
const newPath = (): string => join(folder, `${(count += 1)}.sqlite`);

storeContract('sqlite', async (onStep) =>
  openSqliteStore({ path: ':memory:', organisation, ...(onStep ? { onStep } : {}) }),
);

describe('a file store', () => {
  it('opens again with what it kept and goes on counting', async () => {
    const path = newPath();
    const make = entryMaker(1);
    const context = { receivedAt: '2026-05-12T08:00:00Z', actor: 'nurse-1' };
    const first = openSqliteStore({ path, organisation });
    await first.append([make.registered('p1')], context);
    await first.close();
    const second = openSqliteStore({ path, organisation });
    expect((await second.append([make.voided('p1')], context)).kept[0]?.sequence).toBe(2);
    expect(await verifyStore(second, nodeDigest)).toMatchObject({ entries: 2, auditRows: 2 });
    await second.close();
  });

  it('waits for full durability: write-ahead log and synchronous=FULL', () => {
    const database = openDatabase(newPath());
    expect(database.prepare('pragma journal_mode').get()).toMatchObject({ journal_mode: 'wal' });
    expect(database.prepare('pragma synchronous').get()).toMatchObject({ synchronous: 2 });
    database.close();
  });

  it('keeps two organisations apart in one file', async () => {
    const path = newPath();
    const ours = openSqliteStore({ path, organisation });
    const theirs = openSqliteStore({ path, organisation: 'dunes' });
    const entry = entryMaker(1).registered('p1');
    await ours.append([entry], { receivedAt: entry.recordedAt, actor: 'nurse-1' });
    expect(await theirs.head()).toBe(0);
    expect(await theirs.knowsPatient('p1')).toBe(false);
    await theirs.append([{ ...entry, organisation: 'dunes' }], {
      receivedAt: entry.recordedAt,
      actor: 'nurse-9',
    });
    expect(await ours.head()).toBe(1);
    await ours.close();
    await theirs.close();
  });

  it('counts on when another process writes to the same file between its appends', async () => {
    const path = newPath();
    const make = entryMaker(1);
    const context = { receivedAt: '2026-05-12T08:00:00Z', actor: 'nurse-1' };
    const stores = [openSqliteStore({ path, organisation }), openSqliteStore({ path, organisation })];
    for (let round = 0; round < 6; round += 1)
      await stores[round % 3 === 0 ? 0 : 1]?.append([make.voided('p1')], context);
    await stores[0]?.note({
      at: '2026-05-12T08:00:00Z',
      actor: 'nurse-1',
      action: 'read',
      subject: 'record',
    });
    await stores[1]?.append([make.voided('p1')], context);
    for (const store of stores) {
      expect(await verifyStore(store, nodeDigest)).toMatchObject({ entries: 7, auditRows: 8 });
      await store.close();
    }
  });

  it('of an earlier release is filled with who follows whom, and gives the same as one that was kept so from the start', async () => {
    const path = newPath();
    const make = followingMaker(1);
    const context = { receivedAt: '2026-05-12T08:00:00Z', actor: 'nurse-1' };
    const first = openSqliteStore({ path, organisation });
    const wrong = make.voided('p1', 300);
    const begun = [make.registered('p1', 'gull'), make.registered('p2', 'tern'), make.watch('p1', 'nurse-g')];
    const move = make.movedToPatient('p1', wrong.id, 'p2');
    await first.append([...begun, wrong, move, make.moved('p1', 'plover'), make.voided('p3')], context);
    const stands = async (store: typeof first) =>
      Promise.all(
        ['p1', 'p2', 'p3', 'nobody'].map(async (patient) => ({
          record: await store.recordFor(patient),
          following: {
            ...(await store.followingOf(patient)),
            followers: (await store.followingOf(patient))?.followers.map(({ since: _since, ...one }) => one),
          },
        })),
      );
    const wanted = await stands(first);
    await first.close();
    const database = new DatabaseSync(path);
    database.exec(
      'drop table reference; drop table elsewhere; drop table following; drop table follower; delete from schema_version where version > 2',
    );
    database.close();
    const again = openSqliteStore({ path, organisation });
    expect(await stands(again)).toEqual(wanted);
    expect(wanted[1]?.record).toHaveLength(3);
    await again.close();
  });

  it('is refused when a newer release has written it', async () => {
    const path = newPath();
    await openSqliteStore({ path, organisation }).close();
    const database = new DatabaseSync(path);
    database.prepare('insert into schema_version (version) values (?)').run(schemaVersion + 1);
    database.close();
    expect(() => openSqliteStore({ path, organisation })).toThrow('store/newer-version');
  });

  const tampering: readonly (readonly [string, string])[] = [
    [
      'an entry was changed',
      `update entry set content = replace(content, '"volumeMl":120', '"volumeMl":920') where sequence = 3`,
    ],
    [
      'two entries were swapped',
      'update entry set sequence = case sequence when 2 then 1003 else 1002 end where sequence in (2, 3); update entry set sequence = sequence - 1000 where sequence > 1000',
    ],
    ['an entry was dropped', 'delete from entry where sequence = 3'],
    ['an audit row was changed', `update audit set actor = 'nobody' where sequence = 2`],
    ['an audit row was dropped', 'delete from audit where sequence = 2'],
    [
      'two audit rows were swapped',
      'update audit set sequence = case sequence when 2 then 1003 else 1002 end where sequence in (2, 3); update audit set sequence = sequence - 1000 where sequence > 1000',
    ],
  ];
  for (const [what, statement] of tampering) {
    it(`is found out when ${what}`, async () => {
      const path = newPath();
      const make = entryMaker(1);
      const store = openSqliteStore({ path, organisation });
      await store.append(
        [make.registered('p1'), make.voided('p1', 60), make.voided('p1', 120), make.voided('p1', 180)],
        {
          receivedAt: '2026-05-12T08:00:00Z',
          actor: 'nurse-1',
        },
      );
      expect(isRefusal(await verifyStore(store, nodeDigest))).toBe(false);
      const database = new DatabaseSync(path);
      database.exec(statement);
      database.close();
      expect(await verifyStore(store, nodeDigest)).toMatchObject({ code: 'store/chain-broken' });
      await store.close();
    });
  }
});
