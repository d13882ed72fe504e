/**
 * `verify`, `backup`, `restore`: the record proved, kept and brought back.
 *
 * Out       counts in words or as one JSON value; no patient data
 * Exit      0 sound, copied or brought back · 1 failed inside · 2 bad usage · 3 not sound, or refused
 */
import { resolve } from 'node:path';
import { instantOfMs, refuse, RefusalError } from '@ebbline/core/quantity';
import type { Keeping, SoundFolder, VerifiedFolder } from '@ebbline/server/keeping';
import { Command } from 'commander';
import { databaseOf, databasePlace, organisationSaid } from './database.ts';
import { answer, exits } from './files.ts';

interface Options {
  readonly json?: boolean;
  readonly database?: string;
}
interface Copying extends Options {
  readonly to: string;
}
interface Restoring extends Options {
  readonly to?: string;
}

export const some = (count: number, one: string, many: string): string =>
  `${count} ${count === 1 ? one : many}`;

/** What a sound folder holds. */
function countsInWords(sound: SoundFolder): string {
  const lines = sound.organisations.map(
    ({ organisation, entries, auditRows, openReferences }) =>
      `${organisation}: ${some(entries, 'entry', 'entries')}, ${some(auditRows, 'audit row', 'audit rows')}, each as it was kept${
        openReferences === 0
          ? ''
          : `; ${some(openReferences, 'correction', 'corrections')} of an entry that has not arrived`
      }.`,
  );
  if (lines.length === 0) lines.push('No entry yet.');
  lines.push(
    sound.newestCheckpointAt === undefined
      ? 'No signed checkpoint: rows cut off the end would not be noticed.'
      : `${some(sound.checkpoints, 'signed checkpoint', 'signed checkpoints')}, the newest of ${sound.newestCheckpointAt}; ${some(sound.rowsSinceCheckpoint, 'audit row', 'audit rows')} since.`,
  );
  return `${lines.join('\n')}\n`;
}

/** Either a folder or a database, never both and never neither. */
function placeOf(path: string | undefined, options: Options): { folder: string } | { url: string } {
  if (path !== undefined && options.database === undefined) return { folder: resolve(path) };
  const url = databaseOf(options);
  if (path === undefined && url !== undefined) return { url };
  throw new RefusalError(
    refuse('cli/which-record', {
      asked: 'Record',
      found: path === undefined ? 'neither a folder nor a database' : 'a folder and a database',
      allowed: 'one of them',
      todo: 'Give a folder, or --database postgres://…',
    }),
  );
}

export async function runVerify(path: string | undefined, options: Options, nowMs: number): Promise<number> {
  const place = placeOf(path, options);
  const { faultSentence, verifyDatabase, verifyPath } = await import('@ebbline/server/keeping');
  const verified: VerifiedFolder =
    'url' in place
      ? await verifyDatabase({ url: place.url, organisation: organisationSaid() }, progress(nowMs))
      : verifyPath(place.folder);
  if (options.json === true) process.stdout.write(`${JSON.stringify(verified)}\n`);
  else if (verified.sound)
    process.stdout.write(
      `Sound${verified.backup ? ', and a whole backup' : ''}.\n${countsInWords(verified)}`,
    );
  else
    process.stdout.write(
      `Not sound. First place: ${faultSentence(verified.fault)}.\nKeep the ${'url' in place ? 'database' : 'folder'} as it is for whoever looks into it, and bring back the last sound backup.\n`,
    );
  return verified.sound ? exits.answered : exits.refused;
}

/** Progress on one line of a terminal; nothing elsewhere. */
export function progress(nowMs: number): Keeping {
  let said = '';
  return {
    nowMs,
    onProgress: (what) => {
      if (process.stderr.isTTY && what !== said) process.stderr.write(`${what}\n`);
      said = what;
    },
  };
}

const tell = (options: Options, to: string, nowMs: number, done: string, sound: SoundFolder): number => {
  process.stdout.write(
    options.json === true
      ? `${JSON.stringify({ to, at: instantOfMs(nowMs), ...sound })}\n`
      : `${done} ${to}.\n${countsInWords(sound)}`,
  );
  return exits.answered;
};

export async function runBackup(path: string | undefined, options: Copying, nowMs: number): Promise<number> {
  const place = placeOf(path, options);
  const to = resolve(options.to);
  const { backupDatabase, backupFolder } = await import('@ebbline/server/keeping');
  const sound =
    'url' in place
      ? await backupDatabase({ url: place.url, organisation: organisationSaid() }, to, progress(nowMs))
      : await backupFolder(place.folder, to, progress(nowMs));
  return tell(options, to, nowMs, 'Whole and proved:', sound);
}

export async function runRestore(path: string, options: Restoring, nowMs: number): Promise<number> {
  const place = placeOf(options.to, options);
  const { restoreDatabase, restoreFolder } = await import('@ebbline/server/keeping');
  if ('folder' in place) {
    const sound = await restoreFolder(resolve(path), place.folder, progress(nowMs));
    return tell(options, place.folder, nowMs, 'Brought back and proved:', sound);
  }
  const sound = await restoreDatabase(resolve(path), place.url, progress(nowMs));
  return tell(options, databasePlace(place.url), nowMs, 'Brought back and proved:', sound);
}

export const verifyCommand = (): Command =>
  new Command('verify')
    .description(
      'Prove a data folder or a backup: every entry and every audit row is as it was kept. Changes nothing.',
    )
    .argument('[folder]', 'the folder that the server runs on, or a backup (folder or .tar)')
    .option('--database <url>', 'a database instead of a folder (or EBBLINE_DATABASE)')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline verify ./data\n')
    .action((path: string | undefined, options: Options) =>
      answer(() => runVerify(path, options, Date.now())),
    );

export const backupCommand = (): Command =>
  new Command('backup')
    .description('Make a whole, proved copy of a data folder, or of a database. Servers may go on writing.')
    .argument('[folder]', 'the folder that the server runs on')
    .option('--database <url>', 'a database instead of a folder (or EBBLINE_DATABASE)')
    .requiredOption('--to <target>', 'a folder that is not there yet, or a new file ending in .tar')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline backup ./data --to ./copies/monday\n')
    .action((folder: string | undefined, options: Copying) =>
      answer(() => runBackup(folder, options, Date.now())),
    );

export const restoreCommand = (): Command =>
  new Command('restore')
    .description('Make a data folder, or the record of an empty database, of a backup; proved first.')
    .argument('<backup>', 'a folder or a .tar file that `backup` wrote')
    .option('--to <folder>', 'a folder that is empty or not there yet')
    .option('--database <url>', 'an empty database instead of a folder (or EBBLINE_DATABASE)')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline restore ./copies/monday --to ./data\n')
    .action((path: string, options: Restoring) => answer(() => runRestore(path, options, Date.now())));
