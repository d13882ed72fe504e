// Proves     the three commands as a script sees them; a backup beside a process that writes all the while holds all that
//            was acknowledged before it began, in order; kill -9 at any moment leaves nothing that looks whole
// Published  none; exit codes are the command line's own
// Tolerance  exact; waits end with what they wait for
import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, it } from 'vitest';
import { seededRandom } from '@ebbline/core/quantity';
import { openSqliteStore } from '@ebbline/store/sqlite';

const main = fileURLToPath(new URL('../main.ts', import.meta.url));
const writer = fileURLToPath(
  new URL('../../../../packages/store/src/sqlite/testing/append-until-killed.ts', import.meta.url),
);
const organisation = 'saltmarsh';
const root = mkdtempSync(join(tmpdir(), 'ebbline-keep-'));
const children: ChildProcess[] = [];
afterAll(() => {
  for (const child of children) child.kill('SIGKILL');
  rmSync(root, { recursive: true, force: true });
});
let count = 0;
const fresh = (): string => join(root, `${(count += 1)}`);
const run = (...words: readonly string[]) => {
  const { status, stdout, stderr } = spawnSync(process.execPath, [main, ...words], { encoding: 'utf8' });
  return { status, stdout, stderr };
};

/** A process that appends one entry after the other; `acknowledged` grows. */
function writing(folder: string, many: number) {
  mkdirSync(folder);
  const child = spawn(process.execPath, [writer, join(folder, 'record.sqlite'), '7', String(many)], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  children.push(child);
  let text = '';
  const waiting: { readonly least: number; readonly go: () => void }[] = [];
  const acknowledged = (): string[] => text.split('\n').slice(0, -1);
  child.stdout.on('data', (part: Buffer) => {
    text += part.toString();
    for (const one of waiting) if (acknowledged().length >= one.least) one.go();
  });
  const ended = new Promise<void>((resolve) => child.on('close', () => resolve()));
  return {
    acknowledged,
    ended,
    atLeast: (least: number) => new Promise<void>((go) => waiting.push({ least, go })),
    stop: async () => {
      child.kill('SIGKILL');
      await ended;
    },
  };
}

async function idsIn(folder: string): Promise<string[]> {
  const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
  const ids = (await store.after(0, 1_000_000)).map(({ entry }) => entry.id);
  await store.close();
  return ids;
}

describe('backup, restore and verify', () => {
  it('beside a writer: all that was acknowledged before is in it, in order, and proved', async () => {
    const data = fresh();
    const process_ = writing(data, 1_000_000);
    await process_.atLeast(200);
    const before = process_.acknowledged().length;
    const [folder, tar] = [fresh(), `${fresh()}.tar`];
    for (const to of [folder, tar]) {
      const backup = spawn(process.execPath, [main, 'backup', data, '--to', to], { stdio: 'ignore' });
      expect(await new Promise((resolve) => backup.on('close', resolve))).toBe(0);
    }
    const after = process_.acknowledged().length;
    expect(after).toBeGreaterThan(before);
    await process_.stop();
    for (const from of [folder, tar]) {
      const to = fresh();
      const restored = run('restore', from, '--to', to, '--json');
      expect(restored.status).toBe(0);
      const ids = await idsIn(to);
      expect(JSON.parse(restored.stdout)).toMatchObject({ organisations: [{ entries: ids.length }] });
      expect(ids.length).toBeGreaterThanOrEqual(before);
      expect(process_.acknowledged().slice(0, ids.length)).toEqual(
        ids.slice(0, process_.acknowledged().length),
      );
    }
  });

  it('killed at any moment leave nothing under the name, or all of it', async () => {
    const data = fresh();
    const process_ = writing(data, 400);
    await process_.ended;
    const whole = fresh();
    const began = performance.now();
    expect(run('backup', data, '--to', whole).status).toBe(0);
    const tookMs = performance.now() - began;
    const random = seededRandom(9);
    const seen = { nothing: 0, whole: 0 };
    // `npm run long` kills forty times.
    const rounds = process.env['EBBLINE_LONG'] === '1' ? 40 : 4;
    for (let round = 0; round < rounds; round += 1) {
      const to = fresh();
      const words = round % 2 === 0 ? ['backup', data] : ['restore', whole];
      const child = spawn(process.execPath, [main, ...words, '--to', to], { stdio: 'ignore' });
      const killer = setTimeout(() => child.kill('SIGKILL'), tookMs * (0.5 + random.next() / 2));
      await new Promise((resolve) => child.on('close', resolve));
      clearTimeout(killer);
      if (existsSync(to)) expect(run('verify', to).status, `round ${round}`).toBe(0);
      seen[existsSync(to) ? 'whole' : 'nothing'] += 1;
    }
    expect(seen.nothing + seen.whole).toBe(rounds);
  });

  it('say counts in words, the first wrong place without a patient, and answer 0 and 3', async () => {
    const data = fresh();
    await writing(data, 30).ended;
    expect(run('verify', data)).toEqual({
      status: 0,
      stdout:
        'Sound.\nsaltmarsh: 30 entries, 30 audit rows, each as it was kept.\nNo signed checkpoint: rows cut off the end would not be noticed.\n',
      stderr: '',
    });
    const database = new DatabaseSync(join(data, 'record.sqlite'));
    database.exec(`update entry set content = replace(content, 'measured', 'reported') where sequence = 12`);
    database.close();
    const wrong = run('verify', data);
    expect(wrong.status).toBe(3);
    expect(wrong.stdout).toMatch(
      /^Not sound. First place: the entry 12 \(void, 2026-05-12T[0-9:.]+Z\) reads other than when it was kept\.\n/,
    );
    expect(wrong.stdout).not.toContain('p1');
    expect(JSON.parse(run('verify', data, '--json').stdout)).toMatchObject({
      sound: false,
      fault: { place: 'entry', number: 12, kind: 'void' },
    });
    const to = fresh();
    expect(run('backup', data, '--to', to)).toMatchObject({ status: 3, stdout: '' });
    expect(existsSync(to)).toBe(false);
    expect(run('backup', data).status).toBe(2);
    expect(run('verify', fresh())).toMatchObject({
      status: 3,
      stderr: expect.stringContaining('[keep/no-record]'),
    });
    expect(run('migrate', data).status).toBe(2);
  });
});
