/**
 * Durable appends against the database alone: our store (entry, audit link and outbox row in one commit) beside raw
 * single inserts of the same content into one table, alternately, in one process, on the same disk. Prints ratios only:
 * disks differ and so does their mood.
 *
 *     node bench/append.ts [rounds]
 *
 * Peer      node:sqlite, write-ahead log, synchronous=FULL, one row a commit, id unique and the patient indexed
 * Aim       at least 0.8 of the peer one at a time; at least 0.5 of the peer with 32 a commit (S-server-measuring)
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { openSqliteStore } from '../packages/store/src/sqlite/index.ts';
import { canonicalText } from '../packages/store/src/index.ts';
import { entryMaker, organisation } from '../packages/store/src/testing/entries.ts';

const rounds = Math.max(7, Math.min(25, Number(process.argv[2] ?? 9)));
const single = 300;
const together = 32;
const groups = 60;

const folder = mkdtempSync(join(tmpdir(), 'ebbline-bench-'));
const raw = new DatabaseSync(join(folder, 'raw.sqlite'));
raw.exec(
  'pragma journal_mode = wal; pragma synchronous = full; create table entry (id text primary key, patient text not null, content text not null) strict; create index by_patient on entry (patient)',
);
const insert = raw.prepare('insert into entry (id, patient, content) values (?, ?, ?)');
const store = openSqliteStore({ path: join(folder, 'ours.sqlite'), organisation });
const make = entryMaker(1);
const context = { receivedAt: '2026-05-12T08:00:00Z', actor: 'bench' };
// Both get entries that are made beforehand; the peer gets its text ready made.
const made = (count: number) => Array.from({ length: count }, () => make.voided('p1'));

async function timed(work: () => void | Promise<void>): Promise<number> {
  const start = performance.now();
  await work();
  return performance.now() - start;
}

const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] as number;
const report = (name: string, ratios: readonly number[], aim: number): boolean => {
  const middle = median(ratios);
  const spread = `${Math.min(...ratios).toFixed(2)} to ${Math.max(...ratios).toFixed(2)}`;
  process.stdout.write(
    `${name}: ${middle.toFixed(2)} of raw (${spread} over ${ratios.length} pairs; aim ${aim})\n`,
  );
  return middle >= aim;
};

const oneByOne: number[] = [];
const grouped: number[] = [];
for (let round = 0; round <= rounds; round += 1) {
  const rawRows = made(single).map((entry) => [entry.id, entry.patient, canonicalText(entry)] as const);
  const ownRows = made(single);
  const rawMs = await timed(() => {
    for (const row of rawRows) insert.run(...row);
  });
  const ownMs = await timed(async () => {
    for (const entry of ownRows) await store.append([entry], context);
  });
  const rawGroups = Array.from({ length: groups }, () =>
    made(together).map((entry) => [entry.id, entry.patient, canonicalText(entry)] as const),
  );
  const ownGroups = Array.from({ length: groups }, () => made(together));
  const rawGroupMs = await timed(() => {
    for (const group of rawGroups) {
      raw.exec('begin immediate');
      for (const row of group) insert.run(...row);
      raw.exec('commit');
    }
  });
  const ownGroupMs = await timed(async () => {
    for (const group of ownGroups) await Promise.all(group.map((entry) => store.append([entry], context)));
  });
  // The first round warms both up.
  if (round === 0) continue;
  oneByOne.push(rawMs / ownMs);
  grouped.push(rawGroupMs / ownGroupMs);
}
report('append one at a time', oneByOne, 0.8);
report(`append, ${together} callers at once`, grouped, 0.5);
await store.close();
raw.close();
rmSync(folder, { recursive: true, force: true });
