/**
 * A backup becomes a data folder: copied beside the target, every file against the manifest's digest, the chain walked,
 * and only then given the target's name. The server makes a key of its own at its next checkpoint.
 *
 * Errors    `keep/not-empty`, `keep/not-a-backup`, `keep/unsound`, `store/newer-version`, `keep/disk-…`
 */
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { controlIsOn, refuse, RefusalError } from '@ebbline/core/quantity';
import { isTar, underAnotherName, unsound, type Keeping } from './backup.ts';
import { copyNew, inWords, syncFolder } from './disk.ts';
import { manifestName, notABackup, readManifest } from './manifest.ts';
import { unpackTar } from './tar.ts';
import { verifyFolder, type SoundFolder, type VerifiedFolder } from './verify-folder.ts';

const notEmpty = (to: string): RefusalError =>
  new RefusalError(
    refuse('keep/not-empty', {
      asked: 'Restore',
      found: `something at ${to} already`,
      allowed: 'a folder that is empty or not there yet; a restore never replaces a record',
      todo: 'Choose another folder with --to, or move the old one away.',
    }),
  );

const isFile = (path: string): boolean => existsSync(path) && statSync(path).isFile();

export async function restoreFolder(from: string, to: string, keeping: Keeping): Promise<SoundFolder> {
  const { onProgress = () => undefined, onStep = () => undefined } = keeping;
  if (existsSync(to) && (isFile(to) || readdirSync(to).length > 0)) throw notEmpty(to);
  if (!existsSync(from)) throw notABackup(`nothing at ${from}`);
  return underAnotherName(to, async (beside) => {
    const folder = join(beside, 'data');
    mkdirSync(folder, { mode: 0o700 });
    onProgress('Copying the backup');
    onStep('copy');
    if (isFile(from)) unpackTar(from, folder);
    else copyBackup(from, folder, onStep);
    onProgress('Proving what was copied');
    onStep('prove');
    const manifest = readManifest(folder);
    const proved = verifyFolder(folder);
    if (!proved.sound && controlIsOn('H18-proved-restore')) throw unsound('Restore', proved.fault);
    rmSync(join(folder, manifestName));
    if (manifest.files.some(({ path }) => path.startsWith('tokens/'))) syncFolder(join(folder, 'tokens'));
    syncFolder(folder);
    onStep('name');
    if (existsSync(to)) rmdirSync(to);
    renameSync(folder, to);
    syncFolder(dirname(to));
    return proved as SoundFolder;
  });
}

function copyBackup(from: string, folder: string, onStep: (step: string) => void): void {
  const manifest = readManifest(from);
  for (const { path } of manifest.files) {
    onStep(path);
    if (!existsSync(join(from, path))) throw notABackup(`${path} missing`);
    mkdirSync(dirname(join(folder, path)), { recursive: true, mode: 0o700 });
    copyNew(join(from, path), join(folder, path));
  }
  copyNew(join(from, manifestName), join(folder, manifestName));
}

/** `verifyFolder` of a folder, or of a backup in one file, which is taken out into a folder of this process and deleted. */
export function verifyPath(path: string): VerifiedFolder {
  let folder: string | undefined;
  try {
    if (!isFile(path) || !isTar(path)) return verifyFolder(path);
    folder = mkdtempSync(join(tmpdir(), 'ebbline-verify-'));
    unpackTar(path, folder);
    // A backup without its manifest is not proved by less.
    readManifest(folder);
    return verifyFolder(folder);
  } catch (problem) {
    throw inWords(problem);
  } finally {
    if (folder !== undefined) rmSync(folder, { recursive: true, force: true });
  }
}
