// Proves     a backup is whole, proved and brought back the same; nothing half done stands under its name, whichever step
//            fails; a changed, cut or foreign backup is refused; the private key stays where it is
// Published  ustar (S-server-ustar): taken out by the system's own tar, where there is one
// Tolerance  exact
import { spawnSync } from 'node:child_process';
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { afterAll, describe, expect, it } from 'vitest';
import { seededRandom } from '@ebbline/core/quantity';
import { nodeDigest, openSqliteStore, schemaVersion } from '@ebbline/store/sqlite';
import { fileBooks } from '@ebbline/store/books';
import { fileAccounts } from '../accounts/account-book.ts';
import { makeToken } from '../accounts/tokens.ts';
import { fileDirectory } from '../directory-book.ts';
import { backupFolder } from './backup.ts';
import { openCheckpoints } from './checkpoints.ts';
import { filesIn } from './manifest.ts';
import { restoreFolder, verifyPath } from './restore.ts';
import { verifyFolder } from './verify-folder.ts';

const root = mkdtempSync(join(tmpdir(), 'ebbline-keeping-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));
let count = 0;
const fresh = (): string => join(root, `${(count += 1)}`);
const nowMs = Date.parse('2026-05-12T09:00:00Z');
const at = '2026-05-12T08:00:00Z';

/** A data folder as a server leaves it: entries, notes, books, a token, a signed checkpoint. */
async function dataFolder(): Promise<string> {
  const folder = fresh();
  mkdirSync(folder);
  await fileDirectory(join(folder, 'directory.json'));
  await (await fileAccounts(join(folder, 'accounts.json'))).set('administrator', 'a-long-secret');
  writeFileSync(join(folder, 'protocols.json'), '[]\n');
  await makeToken(fileBooks(folder), 'integration', 2, nowMs);
  const store = openSqliteStore({ path: join(folder, 'record.sqlite'), organisation: 'our-organisation' });
  for (let index = 0; index < 8; index += 1)
    await store.note({ at, actor: 'administrator', action: 'read', subject: `wilma-${index}` });
  await openCheckpoints(folder, store).now(nowMs);
  await store.note({ at, actor: 'administrator', action: 'signed-out', subject: 'administrator' });
  await store.close();
  return folder;
}

const keeping = { nowMs };
const codeOf = async (work: Promise<unknown> | (() => unknown)): Promise<string> => {
  try {
    await (typeof work === 'function' ? work() : work);
  } catch (problem) {
    return (problem as { refusal?: { code: string } }).refusal?.code ?? String(problem);
  }
  return 'none';
};
const bytesOf = (folder: string): Record<string, string> =>
  Object.fromEntries(
    filesIn(folder)
      .filter((path) => !/^manifest|-(wal|shm)$/.test(path))
      .map((path) => [path, nodeDigest(readFileSync(join(folder, path), 'latin1'))]),
  );
const leftovers = (): string[] => readdirSync(root).filter((name) => name.includes('unfinished'));

describe.each(['', '.tar'])('a backup%s', (end) => {
  it('is brought back as it was, without the private key, and is readable by its owner only', async () => {
    const data = await dataFolder();
    const to = `${fresh()}${end}`;
    const sound = await backupFolder(data, to, keeping);
    expect(sound).toMatchObject({ sound: true, checkpoints: 1, rowsSinceCheckpoint: 1 });
    expect(statSync(to).mode & 0o077).toBe(0);
    expect(verifyPath(to)).toMatchObject({ sound: true, backup: true });
    const again = fresh();
    expect(await restoreFolder(to, again, keeping)).toMatchObject({ organisations: sound.organisations });
    const { 'checkpoint-key.pem': key, 'record.sqlite': _before, ...books } = bytesOf(data);
    const { 'record.sqlite': _after, ...restored } = bytesOf(again);
    expect(key).toBeDefined();
    expect(restored).toEqual(books);
    expect(verifyFolder(again)).toMatchObject({ sound: true, backup: false, checkpoints: 1 });
    expect(leftovers()).toEqual([]);
  });

  it('never replaces what is there, and a restore neither', async () => {
    const data = await dataFolder();
    const to = `${fresh()}${end}`;
    await backupFolder(data, to, keeping);
    expect(await codeOf(backupFolder(data, to, keeping))).toBe('keep/target-there');
    expect(await codeOf(restoreFolder(to, data, keeping))).toBe('keep/not-empty');
    expect(verifyFolder(data)).toMatchObject({ sound: true });
  });

  it('fails whole at every step at which a disk can be full, and says so', async () => {
    const data = await dataFolder();
    const whole = `${fresh()}${end}`;
    await backupFolder(data, whole, keeping);
    for (const work of [backupFolder, restoreFolder]) {
      let reached = false;
      let steps = 0;
      for (let failing = 1; !reached; failing += 1) {
        const to = `${fresh()}${work === backupFolder ? end : ''}`;
        let step = 0;
        const onStep = (): void => {
          step += 1;
          if (step === failing) throw Object.assign(new Error('write'), { code: 'ENOSPC' });
        };
        const code = await codeOf(work(work === backupFolder ? data : whole, to, { nowMs, onStep }));
        reached = code === 'none';
        steps = step;
        expect(existsSync(to), `step ${failing}`).toBe(reached);
        if (!reached) expect(code).toBe('keep/disk-full');
      }
      expect(steps).toBeGreaterThan(end === '' || work === backupFolder ? 5 : 2);
    }
    expect(leftovers()).toEqual([]);
  });

  it('[H18-proved-copy] is not made of a record in which a row was changed', async () => {
    const data = await dataFolder();
    const database = new DatabaseSync(join(data, 'record.sqlite'));
    database.exec(`update audit set subject = 'someone-else' where sequence = 3`);
    database.close();
    const to = `${fresh()}${end}`;
    expect(await codeOf(backupFolder(data, to, keeping))).toBe('keep/unsound');
    expect(existsSync(to)).toBe(false);
  });
});

describe('a backup that is not as it was made', () => {
  it('[H18-proved-restore] is refused when any byte of any of its files was changed', async () => {
    const whole = fresh();
    await backupFolder(await dataFolder(), whole, keeping);
    const random = seededRandom(77);
    for (const path of filesIn(whole)) {
      const before = readFileSync(join(whole, path));
      const spoilt = Uint8Array.from(before);
      const place = random.below(spoilt.length);
      spoilt[place] = (spoilt[place] as number) ^ (1 << random.below(8));
      writeFileSync(join(whole, path), spoilt);
      const to = fresh();
      expect(await codeOf(restoreFolder(whole, to, keeping)), `${path} at ${place}`).toMatch(
        /^keep\/(unsound|not-a-backup)$|^store\//,
      );
      expect(existsSync(to)).toBe(false);
      writeFileSync(join(whole, path), before);
    }
    expect(await codeOf(restoreFolder(whole, fresh(), keeping))).toBe('none');
  });

  it('is refused when a file is missing or one more is there', async () => {
    const whole = fresh();
    await backupFolder(await dataFolder(), whole, keeping);
    writeFileSync(join(whole, 'wilma.txt'), 'x');
    expect(verifyPath(whole)).toEqual({
      sound: false,
      fault: { place: 'backup', what: 'has a file that the manifest does not name' },
    });
    rmSync(join(whole, 'wilma.txt'));
    rmSync(join(whole, 'accounts.json'));
    expect(verifyPath(whole)).toMatchObject({ sound: false, fault: { what: 'has accounts.json missing' } });
    expect(await codeOf(restoreFolder(whole, fresh(), keeping))).toBe('keep/not-a-backup');
  });

  it('is refused when a newer release made it', async () => {
    const whole = fresh();
    await backupFolder(await dataFolder(), whole, keeping);
    const manifest = JSON.parse(readFileSync(join(whole, 'manifest.json'), 'utf8')) as object;
    writeFileSync(
      join(whole, 'manifest.json'),
      JSON.stringify({ ...manifest, schemaVersion: schemaVersion + 1, somethingNew: true }),
    );
    expect(await codeOf(restoreFolder(whole, fresh(), keeping))).toBe('store/newer-version');
  });

  it('is refused as one file cut at any length, and nothing is written outside', async () => {
    const tar = `${fresh()}.tar`;
    await backupFolder(await dataFolder(), tar, keeping);
    const bytes = readFileSync(tar);
    const random = seededRandom(5);
    const cut = `${fresh()}.tar`;
    for (let round = 0; round < 40; round += 1) {
      writeFileSync(cut, bytes.subarray(0, random.below(bytes.length - 1024)));
      expect(await codeOf(restoreFolder(cut, fresh(), keeping))).toBe('keep/not-a-backup');
    }
    const outside = Uint8Array.from(bytes);
    outside.set(Buffer.from('../../out.json\0'), 0);
    writeFileSync(cut, outside);
    expect(await codeOf(restoreFolder(cut, fresh(), keeping))).toBe('keep/not-a-backup');
    expect(leftovers()).toEqual([]);
  });

  it('holds no name that leads outside the folder', async () => {
    const whole = fresh();
    await backupFolder(await dataFolder(), whole, keeping);
    const manifest = JSON.parse(readFileSync(join(whole, 'manifest.json'), 'utf8')) as { files: object[] };
    const files = [...manifest.files, { path: '../out.json', bytes: 1, sha256: 'a'.repeat(64) }];
    writeFileSync(join(whole, 'manifest.json'), JSON.stringify({ ...manifest, files }));
    expect(await codeOf(restoreFolder(whole, fresh(), keeping))).toBe('keep/not-a-backup');
  });
});

describe('places', () => {
  it('that cannot be used are refused in words', async () => {
    const data = await dataFolder();
    writeFileSync(join(root, 'a-file'), '');
    expect(await codeOf(backupFolder(data, join(root, 'nowhere', 'x'), keeping))).toBe('keep/disk-failed');
    expect(await codeOf(backupFolder(data, join(root, 'a-file', 'x'), keeping))).toBe('keep/disk-failed');
    expect(await codeOf(backupFolder(root, fresh(), keeping))).toBe('keep/no-record');
    expect(await codeOf(restoreFolder(join(root, 'a-file'), fresh(), keeping))).toBe('keep/not-a-backup');
    expect(await codeOf(restoreFolder(data, fresh(), keeping))).toBe('keep/not-a-backup');
    const onStep = (): never => {
      throw Object.assign(new Error('open'), { code: 'EACCES' });
    };
    expect(await codeOf(backupFolder(data, fresh(), { nowMs, onStep }))).toBe('keep/no-permission');
  });
});

const hasTar = spawnSync('tar', ['--version']).status === 0;
describe.skipIf(!hasTar)('a backup in one file (needs a tar program)', () => {
  it('is taken out by the system’s tar as a whole backup', async () => {
    const tar = `${fresh()}.tar`;
    await backupFolder(await dataFolder(), tar, keeping);
    const folder = fresh();
    mkdirSync(folder);
    expect(spawnSync('tar', ['-xf', tar, '-C', folder]).status).toBe(0);
    expect(verifyFolder(folder)).toMatchObject({ sound: true, backup: true });
  });
});
