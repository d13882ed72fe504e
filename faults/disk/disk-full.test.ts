// Proves     a disk that is full refuses a save and keeps nothing of it; what was answered "kept" before stays, reads go on,
//            and writing goes on once there is room; a book that could not be written is the one before it; a checkpoint
//            that could not be signed leaves the others whole
// Method     small file systems in memory, made by the system (needs root); six sizes, a hundred in `npm run long`
// Tolerance  exact
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { isRefusal, seededRandom } from '@ebbline/core/quantity';
import { verifyStore } from '@ebbline/store';
import { readIfThere, replaceFile } from '@ebbline/store/books';
import { nodeDigest, openSqliteStore } from '@ebbline/store/sqlite';
import { openCheckpoints, readCheckpoints } from '../../apps/server/src/keeping/checkpoints.ts';
import { openWorld } from '../../apps/server/src/testing/world.ts';
import { entryMaker, organisation, startMs } from '../../packages/store/src/testing/entries.ts';

const long = process.env['EBBLINE_LONG'] === '1';
const root = mkdtempSync(join(tmpdir(), 'ebbline-full-'));
const mounted: string[] = [];
const mount = (folder: string, kib: number, options = ''): boolean =>
  spawnSync('mount', ['-t', 'tmpfs', '-o', `${options}size=${kib}k`, 'tmpfs', folder]).status === 0;
const unmount = (folder: string): void => void spawnSync('umount', [folder]);
afterAll(() => {
  for (const folder of mounted) unmount(folder);
  rmSync(root, { recursive: true, force: true });
});

function smallDisk(kib: number): string | undefined {
  const folder = join(root, `${kib}`);
  mkdirSync(folder);
  if (!mount(folder, kib)) return undefined;
  mounted.push(folder);
  return folder;
}
const here = ((): boolean => {
  const folder = smallDisk(64);
  return folder !== undefined;
})();
if (!here) process.stderr.write('a full disk is not tried: no file system can be mounted here\n');

const random = seededRandom(5);
const sizesKib = Array.from({ length: long ? 100 : 6 }, (_, index) =>
  long ? 200 + 37 * index : 240 + 310 * index + random.below(60),
);
const receivedAt = '2026-05-12T08:00:00Z';

describe.skipIf(!here)('a disk that fills up', () => {
  it.each(sizesKib)(
    'of %i KiB loses nothing that was kept, reads on, and writes on once there is room',
    async (kib) => {
      const folder = smallDisk(kib) as string;
      const path = join(folder, 'record.sqlite');
      const make = entryMaker(kib);
      const store = openSqliteStore({ path, organisation });
      const checkpoints = openCheckpoints(folder, store);
      const kept: string[] = [];
      let book = 0;
      let full: unknown;
      for (let count = 0; full === undefined && count < 20_000; count += 1) {
        const entries = [make.voided('p1'), make.voided('p2'), make.voided('p3')];
        try {
          const result = await store.append(entries, { receivedAt, actor: 'nurse-1' });
          for (const { entry } of result.kept) kept.push(entry.id);
          if (count % 7 === 0) {
            await replaceFile(
              join(folder, 'directory.json'),
              JSON.stringify({ book: book + 1, text: 'x'.repeat(3000) }),
            );
            book += 1;
          }
          if (count % 11 === 0) await checkpoints.now(startMs + count);
        } catch (problem) {
          full = problem;
        }
      }
      expect(full, 'the disk never filled').toBeInstanceOf(Error);
      const held = async (): Promise<readonly string[]> =>
        (await store.after(0, 100_000)).map(({ entry }) => entry.id);
      expect((await held()).slice(0, kept.length)).toEqual(kept);
      const bookNow = readIfThere(join(folder, 'directory.json'));
      expect(bookNow === undefined ? 0 : (JSON.parse(bookNow) as { book: number }).book).toBe(book);
      expect(readCheckpoints(readIfThere(join(folder, 'checkpoints.ndjson')) ?? '').wrong).toBeUndefined();

      expect(mount(folder, kib + 4000, 'remount,')).toBe(true);
      const more = await store.append([make.voided('p1')], { receivedAt, actor: 'nurse-1' });
      expect(more.kept).toHaveLength(1);
      await checkpoints.now(startMs);
      await store.close();
      const again = openSqliteStore({ path, organisation });
      const ids = (await again.after(0, 100_000)).map(({ entry }) => entry.id);
      expect(new Set(ids).size).toBe(ids.length);
      for (const id of kept) expect(ids).toContain(id);
      expect(isRefusal(await verifyStore(again, nodeDigest))).toBe(false);
      expect(await openCheckpoints(folder, again).stillHeld()).toBe(true);
      await again.close();
      unmount(folder);
    },
  );

  it('makes the server say that nothing was kept, and goes on showing the record', async () => {
    const folder = smallDisk(700) as string;
    const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
    const world = await openWorld({ store });
    const cookie = await world.signIn('nurse');
    const send = (): ReturnType<typeof world.post> =>
      world.post(
        '/api/entries',
        {
          entries: [
            world.registered('p1'),
            ...Array.from({ length: 40 }, () => world.entry('void', { how: 'measured', volumeMl: 1 })),
          ],
        },
        { cookie },
      );
    let answer = await send();
    for (let tries = 0; answer.statusCode === 200 && tries < 200; tries += 1) answer = await send();
    expect(answer.statusCode).toBe(500);
    expect(answer.json()).toMatchObject({ refusal: { code: 'server/failed' } });
    const read = await world.get('/api/entries?after=0', { cookie });
    expect(read.statusCode).toBe(200);
    expect((read.json() as { entries: unknown[] }).entries.length).toBeGreaterThan(40);
    await world.server.close();
    await store.close();
  });
});
