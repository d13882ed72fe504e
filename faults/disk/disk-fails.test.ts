// Proves     a disk that fails one call (write, sync, cut, new name) loses nothing that was answered "kept": the record opens,
//            its chain verifies, checkpoints and book are whole, and writing goes on
// Method     a real process under the system's tracer, which answers the nth call of a kind with an input/output error; three
//            failures, 120 in `npm run long`
// Tolerance  exact
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { isRefusal, seededRandom } from '@ebbline/core/quantity';
import { verifyStore } from '@ebbline/store';
import { readIfThere } from '@ebbline/store/books';
import { nodeDigest, openSqliteStore } from '@ebbline/store/sqlite';
import { readCheckpoints } from '../../apps/server/src/keeping/checkpoints.ts';
import { entryMaker, organisation } from '../../packages/store/src/testing/entries.ts';
import { tracerIsHere } from '../power/recording.ts';

const long = process.env['EBBLINE_LONG'] === '1';
const root = mkdtempSync(join(tmpdir(), 'ebbline-fails-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
const program = fileURLToPath(new URL('../power/workload.ts', import.meta.url));
const calls = ['pwrite64', 'fsync', 'ftruncate', 'rename'] as const;
const random = seededRandom(7);
const failures: (readonly [call: string, nth: number])[] = long
  ? Array.from({ length: 120 }, () => [random.pick(calls), 1 + random.below(40)] as const)
  : [
      ['pwrite64', 30],
      ['fsync', 11],
      ['fsync', 3],
    ];

const here = tracerIsHere();
describe.skipIf(!here)('a disk that fails once', () => {
  it.each(failures)(
    'at %s number %i loses nothing that was kept',
    async (call, nth) => {
      const folder = mkdtempSync(join(root, 'folder-'));
      mkdirSync(folder, { recursive: true });
      const done = spawnSync(
        'strace',
        // Only what the program's own threads ask while they keep things: the rest is the platform's start.
        [
          '-f',
          '-qq',
          '-o',
          '/dev/null',
          '-P',
          folder,
          '-P',
          join(folder, 'record.sqlite'),
          '-P',
          join(folder, 'record.sqlite-wal'),
          '-P',
          join(folder, 'directory.json.new'),
          '-P',
          join(folder, 'checkpoints.ndjson'),
          '-e',
          `inject=${call}:error=EIO:when=${nth}`,
          process.execPath,
          program,
          folder,
          String(nth),
          '3',
          '6',
        ],
        { encoding: 'utf8' },
      );
      const said = done.stdout.split('\n');
      const value = (kind: string): readonly string[] =>
        said.filter((line) => line.startsWith(`${kind} `)).map((line) => line.slice(2));
      const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
      const kept = (await store.after(0, 10_000)).map(({ entry }) => entry.id);
      const once = new Set(kept);
      expect(once.size).toBe(kept.length);
      expect(value('K').filter((id) => !once.has(id))).toEqual([]);
      expect(isRefusal(await verifyStore(store, nodeDigest))).toBe(false);
      const checkpoints = readCheckpoints(readIfThere(join(folder, 'checkpoints.ndjson')) ?? '');
      expect(checkpoints.wrong).toBeUndefined();
      expect(checkpoints.lines.length).toBeGreaterThanOrEqual(Number(value('C').at(-1) ?? 0));
      const book = readIfThere(join(folder, 'directory.json'));
      const number = book === undefined ? 0 : (JSON.parse(book) as { number: number }).number;
      expect(number).toBeGreaterThanOrEqual(Number(value('B').at(-1) ?? 0));
      const more = await store.append([entryMaker(1_000_009).voided('p9')], {
        receivedAt: '2026-05-12T09:00:00Z',
        actor: 'nurse-1',
      });
      expect(more.kept).toHaveLength(1);
      await store.close();
      // The failure did happen: the program ended of it.
      if (!long) expect(done.status).not.toBe(0);
    },
    120_000,
  );
});
