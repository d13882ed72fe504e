/**
 * A whole, proved copy of a data folder while a server writes to it. It is put together under a name that says
 * `unfinished`, walked, put on the disk and only then given its own name.
 *
 * Order     checkpoints, then the record, then the books: so no checkpoint counts more rows than the record has, and no
 *           entry names a person or a protocol version that the books do not have yet
 * Errors    `keep/target-there`, `keep/no-record`, `keep/unsound`, `keep/disk-…`; nothing stands under the target's name
 */
import { existsSync, linkSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { controlIsOn, instantOfMs, refuse, RefusalError } from '@ebbline/core/quantity';
import { copyRecord, openRecordFile } from '@ebbline/store/sqlite';
import { checkpointNames } from './checkpoints.ts';
import { copyNew, digestOf, inWords, syncFile, syncFolder, writeNew, type DiskProbe } from './disk.ts';
import { booksInOrder, isBackedUp, manifestName, recordName, type Manifest } from './manifest.ts';
import { packTar } from './tar.ts';
import { countsOf, verifyFolder, type FolderFault, type SoundFolder } from './verify-folder.ts';

export interface Keeping {
  readonly nowMs: number;
  /** Told in short words what is being done. */
  readonly onProgress?: (what: string) => void;
  readonly onStep?: DiskProbe;
}

export const isTar = (path: string): boolean => path.toLowerCase().endsWith('.tar');

export const targetThere = (to: string): RefusalError =>
  new RefusalError(
    refuse('keep/target-there', {
      asked: 'Backup',
      found: `something at ${to} already`,
      allowed: 'a name that is free; a backup never replaces another',
      todo: 'Choose another name with --to.',
    }),
  );

/** The first place that does not fit, as a sentence. */
export function faultSentence({ place, number, at, kind, what }: FolderFault): string {
  const which = [kind, at].filter((one) => one !== undefined).join(', ');
  const begin =
    place === 'checkpoint' && number === undefined
      ? ''
      : `the ${place}${number === undefined ? '' : ` ${number}`} `;
  return `${begin}${which === '' ? '' : `(${which}) `}${what}`;
}

export const unsound = (asked: string, fault: FolderFault): RefusalError =>
  new RefusalError(
    refuse('keep/unsound', {
      asked,
      found: faultSentence(fault),
      allowed: 'a record in which every row follows from the one before it',
      todo: 'Keep the folder as it is for whoever looks into it, and bring back the last sound backup.',
    }),
  );

/** A folder beside the target under a name that nobody takes for whole; `finish` fills it and gives the target its name. */
export async function underAnotherName<Result>(
  to: string,
  work: (folder: string) => Promise<Result>,
): Promise<Result> {
  let folder: string | undefined;
  try {
    folder = mkdtempSync(join(dirname(to), `${basename(to)}.unfinished-`));
    return await work(folder);
  } catch (problem) {
    throw inWords(problem);
  } finally {
    if (folder !== undefined) rmSync(folder, { recursive: true, force: true });
  }
}

/** @returns what the copy holds, proved on the copy itself */
export async function backupFolder(from: string, to: string, keeping: Keeping): Promise<SoundFolder> {
  const { onProgress = () => undefined, onStep = () => undefined } = keeping;
  if (existsSync(to)) throw targetThere(to);
  if (!existsSync(join(from, recordName))) verifyFolder(from);
  return underAnotherName(to, async (beside) => {
    const copy = join(beside, 'copy');
    mkdirSync(copy, { mode: 0o700 });
    const take = (path: string): void => {
      onStep(path);
      if (existsSync(join(from, path))) copyNew(join(from, path), join(copy, path));
    };
    take(checkpointNames.lines);
    onStep(recordName);
    const record = openRecordFile(join(from, recordName));
    try {
      await copyRecord(record, join(copy, recordName), (done, of) =>
        onProgress(`Copying the record: ${of === 0 ? 100 : Math.floor((100 * done) / of)} %`),
      );
    } finally {
      record.close();
    }
    syncFile(join(copy, recordName));
    for (const path of [checkpointNames.publicKeys, ...booksInOrder]) take(path);
    const tokens = existsSync(join(from, 'tokens')) ? readdirSync(join(from, 'tokens')) : [];
    if (tokens.length > 0) mkdirSync(join(copy, 'tokens'), { mode: 0o700 });
    for (const name of tokens) if (isBackedUp(`tokens/${name}`)) take(`tokens/${name}`);
    return finishCopy(copy, beside, to, keeping);
  });
}

/** Proves what was put together, says so in its manifest, and gives it its name. */
export function finishCopy(copy: string, beside: string, to: string, keeping: Keeping): SoundFolder {
  const { nowMs, onProgress = () => undefined, onStep = () => undefined } = keeping;
  onProgress('Proving the copy');
  onStep('prove');
  const proved = verifyFolder(copy);
  if (!proved.sound && controlIsOn('H18-proved-copy')) throw unsound('Backup', proved.fault);
  const sound = proved as SoundFolder;
  const manifest = manifestOf(copy, sound, nowMs);
  onStep(manifestName);
  writeNew(join(copy, manifestName), `${JSON.stringify(manifest, undefined, 1)}\n`);
  if (existsSync(join(copy, 'tokens'))) syncFolder(join(copy, 'tokens'));
  syncFolder(copy);
  if (isTar(to)) {
    onProgress('Putting it into one file');
    onStep('pack');
    packTar(copy, [manifestName, ...manifest.files.map(({ path }) => path)], join(beside, 'one.tar'));
  }
  onStep('name');
  // A link never replaces a file, and a folder takes no place that is not empty.
  if (isTar(to)) linkSync(join(beside, 'one.tar'), to);
  else renameSync(copy, to);
  syncFolder(dirname(to));
  return { ...sound, backup: true };
}

function manifestOf(copy: string, sound: SoundFolder, nowMs: number): Manifest {
  const tokens = existsSync(join(copy, 'tokens')) ? readdirSync(join(copy, 'tokens')).sort() : [];
  const paths = [
    recordName,
    checkpointNames.lines,
    checkpointNames.publicKeys,
    ...booksInOrder,
    ...tokens.map((name) => `tokens/${name}`),
  ].filter((path) => existsSync(join(copy, path)));
  return {
    format: 'ebbline-backup-1',
    madeAt: instantOfMs(nowMs),
    schemaVersion: sound.schemaVersion,
    organisations: sound.organisations.map(countsOf),
    checkpoints: sound.checkpoints,
    files: paths.map((path) => ({ path, ...digestOf(join(copy, path)) })),
  };
}
