// Proves     a checkpoint is signed on the hour, once; rows cut off the end, a chain worked out anew, a changed, dropped
//            or forged checkpoint are found; half a line left by a killed process is neither trusted nor in the way
// Published  none
// Tolerance  exact
import { copyFileSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterAll, describe, expect, it } from 'vitest';
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { openSqliteStore } from '@ebbline/store/sqlite';
import { openCheckpoints } from './checkpoints.ts';
import { verifyFolder } from './verify-folder.ts';

const folders: string[] = [];
afterAll(() => folders.forEach((folder) => rmSync(folder, { recursive: true, force: true })));
const newFolder = (): string => {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-checkpoints-'));
  folders.push(folder);
  return folder;
};
const startMs = Date.parse('2026-05-12T08:10:00Z');

/** Four rows, three hourly checkpoints after the second, third and fourth. */
async function signed(actor = 'nurse-1'): Promise<string> {
  const folder = newFolder();
  const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation: 'saltmarsh' });
  const checkpoints = openCheckpoints(folder, store);
  const note = (): Promise<void> =>
    store.note({ at: '2026-05-12T08:00:00Z', actor, action: 'read', subject: 's' });
  await note();
  for (let hour = 0; hour < 3; hour += 1) {
    await note();
    await checkpoints.tick(startMs + hour * hourMs);
    await checkpoints.tick(startMs + hour * hourMs + 20 * minuteMs);
  }
  await store.close();
  return folder;
}
const linesOf = (folder: string): string[] =>
  readFileSync(join(folder, 'checkpoints.ndjson'), 'utf8').trim().split('\n');
const write = (folder: string, lines: readonly string[]): void =>
  writeFileSync(join(folder, 'checkpoints.ndjson'), `${lines.join('\n')}\n`);
const change = (folder: string, sql: string): void => {
  const database = new DatabaseSync(join(folder, 'record.sqlite'));
  database.exec(sql);
  database.close();
};

describe('signed checkpoints', () => {
  it('are made once an hour and only when the audit has grown, by a key that its owner alone can read', async () => {
    const folder = await signed();
    expect(linesOf(folder)).toHaveLength(3);
    expect(verifyFolder(folder)).toMatchObject({
      sound: true,
      checkpoints: 3,
      newestCheckpointAt: '2026-05-12T10:10:00.000Z',
      rowsSinceCheckpoint: 0,
    });
    expect(statSync(join(folder, 'checkpoint-key.pem')).mode & 0o777).toBe(0o600);
    const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation: 'saltmarsh' });
    const again = openCheckpoints(folder, store);
    await again.tick(startMs + 9 * hourMs);
    await again.now(startMs + 9 * hourMs);
    expect(linesOf(folder)).toHaveLength(3);
    expect(await again.stillHeld()).toBe(true);
    await store.close();
  });

  it('find rows cut off the end, which the chain alone does not', async () => {
    const folder = await signed();
    change(folder, 'delete from audit where sequence = 4');
    expect(verifyFolder(folder)).toEqual({
      sound: false,
      fault: {
        place: 'audit row',
        number: 4,
        what: 'is cut off, with all after it: checkpoint 3 of 2026-05-12T10:10:00.000Z counted 4',
      },
    });
    const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation: 'saltmarsh' });
    expect(await openCheckpoints(folder, store).stillHeld()).toBe(false);
    await store.close();
  });

  it('find a record whose chain was worked out anew', async () => {
    const [folder, other] = [await signed(), await signed('nurse-2')];
    copyFileSync(join(other, 'record.sqlite'), join(folder, 'record.sqlite'));
    expect(verifyFolder(folder)).toMatchObject({
      sound: false,
      fault: { place: 'audit row', number: 2, what: 'is not the one that checkpoint 1 was made of' },
    });
  });

  it('are found out when one is dropped, swapped, changed or signed by another key', async () => {
    const folder = await signed();
    const [one = '', two = '', three = ''] = linesOf(folder);
    const foreign = linesOf(await signed());
    for (const [lines, what] of [
      [[one, three], 'checkpoint 2 is missing'],
      [[two, one, three], 'checkpoint 1 is missing'],
      [[one, 'x', three], 'checkpoint 2 does not read'],
      [
        [one, two.replace('"auditRows":3', '"auditRows":2'), three],
        'the signature of checkpoint 2 is not good',
      ],
      [[one, two.replace('T09:', 'T07:'), three], 'the signature of checkpoint 2 is not good'],
      [foreign, 'the key of checkpoint 1 is not in checkpoint-keys.pem'],
    ] as const) {
      write(folder, lines);
      expect(verifyFolder(folder)).toEqual({ sound: false, fault: { place: 'checkpoint', what } });
    }
  });

  it('go on after half a line that a killed process left, and after a restore without the old key', async () => {
    const folder = await signed();
    const path = join(folder, 'checkpoints.ndjson');
    writeFileSync(path, `${readFileSync(path, 'utf8')}{"format":"ebb`);
    rmSync(join(folder, 'checkpoint-key.pem'));
    expect(verifyFolder(folder)).toMatchObject({ sound: true, checkpoints: 3 });
    const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation: 'saltmarsh' });
    await store.note({ at: '2026-05-12T12:00:00Z', actor: 'n', action: 'read', subject: 's' });
    await openCheckpoints(folder, store).tick(startMs + 4 * hourMs);
    await store.close();
    expect(verifyFolder(folder)).toMatchObject({ sound: true, checkpoints: 4, rowsSinceCheckpoint: 0 });
  });
});
