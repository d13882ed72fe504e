// Proves     a record as it was written is walked whole; a row of it flipped, deleted, swapped or put in anywhere is
//            found, by its place and without a word of a patient; what the chain can't see is said in its header
// Published  none; the aim is "any one record, found every time"
// Tolerance  exact
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync, type SQLOutputValue } from 'node:sqlite';
import { afterAll, describe, expect, it } from 'vitest';
import { seededRandom } from '@ebbline/core/quantity';
import { entryMaker, organisation } from '../testing/entries.ts';
import { openRecordFile, openSqliteStore, walkRecord } from './index.ts';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-walk-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
let count = 0;

/** A dozen entries of two patients, notes between them, some told by a tablet, some sent on. */
async function record(seed: number): Promise<string> {
  const path = join(folder, `${(count += 1)}.sqlite`);
  const make = entryMaker(seed);
  const store = openSqliteStore({ path, organisation });
  const context = { receivedAt: '2026-05-12T08:00:00Z', actor: 'nurse-1' };
  await store.append([make.registered('p1'), make.registered('p2')], context);
  for (let index = 0; index < 5; index += 1) {
    await store.append([make.voided('p1', index), make.voided('p2', 100 + index)], {
      ...context,
      receivedAt: `2026-05-12T09:0${index}:00Z`,
    });
    await store.note({
      at: '2026-05-12T09:30:00Z',
      actor: `nurse-${index}`,
      action: 'read',
      subject: `s${index}`,
    });
  }
  await store.noteAll(
    [1, 2, 3].map((index) => ({
      at: '2026-05-12T09:40:00.000Z',
      actor: 'nurse-1',
      action: 'viewed' as const,
      subject: 'patient',
      patient: 'p1',
      toldAt: `2026-05-12T09:3${index}:00.000Z`,
      noteId: `note-${index}`,
      detail: { tablet: `tablet-${index}`, actorWards: ['harbour-3'] },
    })),
  );
  await store.markSent([1, 2, 3], '2026-05-12T10:00:00Z');
  await store.close();
  return path;
}

function walk(path: string): ReturnType<typeof walkRecord> {
  const file = openRecordFile(path);
  try {
    return walkRecord(file.database);
  } finally {
    file.close();
  }
}

/** What the chain holds of each table; `sent_at` and bookmarks stand outside it. */
const columns = {
  entry: ['id', 'patient', 'kind', 'received_at', 'content', 'organisation'],
  audit: [
    'at',
    'actor',
    'action',
    'subject',
    'patient',
    'content_digest',
    'chain',
    'told_at',
    'note_id',
    'detail',
    'organisation',
  ],
  outbox_waiting: ['id', 'queued_at', 'organisation'],
  outbox_sent: ['id', 'queued_at', 'organisation'],
} as const;
type Table = keyof typeof columns;
const tables = Object.keys(columns) as Table[];
type Row = Record<string, SQLOutputValue>;

/** One change at random behind the store's back; says what it did. */
function spoil(path: string, random: ReturnType<typeof seededRandom>): string {
  const pick = <Item>(list: readonly Item[]): Item => list[random.below(list.length)] as Item;
  const database = new DatabaseSync(path);
  database.exec('pragma synchronous = off');
  try {
    const table = pick(tables);
    const rows = database.prepare(`select * from ${table} order by sequence`).all() as Row[];
    const row = pick(rows);
    const number = row['sequence'] as number;
    const way = pick(['flip', 'delete', 'swap', 'insert'] as const);
    if (way === 'delete') {
      // The last audit row by itself may be a note: only a link kept elsewhere can tell that it is gone.
      const victim = table === 'audit' && number === rows.length ? (rows[0] as Row) : row;
      database.prepare(`delete from ${table} where sequence = ?`).run(victim['sequence'] as number);
      return `${way} ${table} ${String(victim['sequence'])}`;
    }
    if (way === 'flip') {
      const filled = columns[table].filter((name) => row[name] !== null);
      const column = pick(filled);
      const text = row[column] as string;
      const at = random.below(text.length);
      const other = text[at] === '7' ? '8' : '7';
      const after = `${text.slice(0, at)}${other}${text.slice(at + 1)}`;
      database.prepare(`update ${table} set ${column} = ? where sequence = ?`).run(after, number);
      return `${way} ${table}.${column} ${number}`;
    }
    if (way === 'swap') {
      const other = pick(rows.filter((one) => one !== row))['sequence'] as number;
      database.exec(
        `update ${table} set sequence = -1 where sequence = ${number};
         update ${table} set sequence = ${number} where sequence = ${other};
         update ${table} set sequence = ${other} where sequence = -1`,
      );
      return `${way} ${table} ${number} ${other}`;
    }
    // Put in between (those after move up), or at the end.
    const numbers = rows.map((one) => one['sequence'] as number);
    const place = pick([...numbers, Math.max(...numbers) + 1]);
    database.exec(
      `update ${table} set sequence = -sequence where sequence >= ${place};
       update ${table} set sequence = 1 - sequence where sequence < 0`,
    );
    const added: Row = {
      ...row,
      sequence: place,
      ...(table === 'entry' ? { id: `x-${place}` } : {}),
      // One id for one note: the database itself would refuse it.
      ...(table === 'audit' && row['note_id'] !== null ? { note_id: `x-${place}` } : {}),
    };
    const names = Object.keys(added);
    database
      .prepare(`insert into ${table} (${names.join(', ')}) values (${names.map(() => '?').join(', ')})`)
      .run(...Object.values(added));
    return `${way} ${table} ${place}`;
  } finally {
    database.close();
  }
}

describe('a walk over a record', () => {
  it('gives the counts and the newest link of a record as it was written', async () => {
    expect(walk(await record(1))).toEqual([
      {
        organisation,
        entries: 12,
        auditRows: 20,
        chain: expect.stringMatching(/^[0-9a-f]{64}$/),
        openReferences: 0,
      },
    ]);
  });

  it('walks a file of the first version as it stands, and again once it was brought up', async () => {
    const path = await record(2);
    const database = new DatabaseSync(path);
    // The chain of rows that say nothing new is the chain of the first version.
    database.exec(
      `delete from audit where note_id is not null;
       drop table reference; drop table elsewhere; drop table following; drop table follower;
       drop index note_by_id; drop index note_by_patient; drop index note_by_actor;
       alter table audit drop column told_at; alter table audit drop column note_id; alter table audit drop column detail;
       delete from schema_version where version >= 2`,
    );
    database.close();
    const before = walk(path);
    expect(before).toMatchObject([{ entries: 12, auditRows: 17 }]);
    const store = openSqliteStore({ path, organisation });
    const note = {
      at: '2026-05-12T10:00:00.000Z',
      actor: 'nurse-1',
      action: 'viewed',
      subject: 'board',
    } as const;
    expect(await store.noteAll([{ ...note, noteId: 'a' }])).toBe(1);
    expect(await store.notesOfActor('nurse-3', { limit: 99 })).toHaveLength(1);
    await store.close();
    expect(walk(path)).toMatchObject([{ entries: 12, auditRows: 18 }]);
  });

  const rounds = 300;
  it(`finds each of ${rounds} rows that were flipped, deleted, swapped or put in at random`, async () => {
    const random = seededRandom(1848);
    const sound = await Promise.all([11, 12, 13, 14].map(record));
    const ways = new Set<string>();
    for (let round = 0; round < rounds; round += 1) {
      const path = join(folder, 'spoilt.sqlite');
      copyFileSync(sound[round % sound.length] as string, path);
      const what = spoil(path, random);
      ways.add(what.split(' ').slice(0, 2).join(' ').split('.')[0] as string);
      const result = walk(path);
      expect(result, `round ${round}: ${what}`).toHaveProperty('what');
      expect(JSON.stringify(result)).not.toMatch(/Ostrander|Wilma|"p1"|"p2"|urn:made-up/);
      rmSync(path);
    }
    expect(ways.size).toBe(4 * tables.length);
  });

  it('names the first place: the entry by number, time and kind', async () => {
    const path = await record(3);
    const database = new DatabaseSync(path);
    database.exec(
      `update entry set content = replace(content, '"volumeMl":2}', '"volumeMl":902}') where sequence > 4`,
    );
    database.close();
    expect(walk(path)).toEqual({
      place: 'entry',
      number: 7,
      at: '2026-05-12T09:02:00Z',
      kind: 'void',
      what: 'reads other than when it was kept',
    });
  });

  it('does not repeat what stands where a time or a kind should', async () => {
    const path = await record(4);
    const database = new DatabaseSync(path);
    database.exec(`update entry set kind = 'Wilma', received_at = 'Ostrander' where sequence = 2`);
    database.close();
    expect(walk(path)).toEqual({
      place: 'entry',
      number: 2,
      what: 'is filed under something that it does not say',
    });
  });

  it('counts a correction whose entry has not arrived, and calls it no fault', async () => {
    const path = join(folder, 'late.sqlite');
    const make = entryMaker(5);
    const store = openSqliteStore({ path, organisation });
    const [first, second] = [make.voided('p1'), make.voided('p1')];
    await store.append([{ ...second, corrects: first.id }], {
      receivedAt: '2026-05-12T08:00:00Z',
      actor: 'n',
    });
    await store.close();
    expect(walk(path)).toMatchObject([{ entries: 1, openReferences: 1 }]);
  });

  it('finds pages that were overwritten, and refuses what is no database', async () => {
    const path = await record(6);
    const bytes = readFileSync(path);
    // The middle of the file: pages of tables and indexes, not the header.
    bytes.fill(0x5a, 4096 * 3, 4096 * 5);
    writeFileSync(path, bytes);
    expect(walk(path)).toMatchObject({ place: 'file' });
    const none = join(folder, 'none.sqlite');
    writeFileSync(none, 'hello, this is no database at all'.repeat(200));
    expect(() => openRecordFile(none)).toThrow('store/not-a-record');
    const empty = join(folder, 'empty.sqlite');
    writeFileSync(empty, '');
    expect(() => openRecordFile(empty)).toThrow('store/not-a-record');
  });
});
