/**
 * `verify`, `backup`, `restore`: the record proved, kept and brought back.
 *
 * Out       counts in words or as one JSON value; no patient data
 * Exit      0 sound, copied or brought back · 1 failed inside · 2 bad usage · 3 not sound, or refused
 */
import { resolve } from 'node:path';
import { instantOfMs } from '@ebbline/core/quantity';
import type { Keeping, SoundFolder, VerifiedFolder } from '@ebbline/server/keeping';
import { Command } from 'commander';
import { answer, exits } from './files.ts';

interface Options {
  readonly json?: boolean;
}
interface Copying extends Options {
  readonly to: string;
}

const some = (count: number, one: string, many: string): string => `${count} ${count === 1 ? one : many}`;

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

export async function runVerify(path: string, options: Options): Promise<number> {
  const { faultSentence, verifyPath } = await import('@ebbline/server/keeping');
  const verified: VerifiedFolder = verifyPath(resolve(path));
  if (options.json === true) process.stdout.write(`${JSON.stringify(verified)}\n`);
  else if (verified.sound)
    process.stdout.write(
      `Sound${verified.backup ? ', and a whole backup' : ''}.\n${countsInWords(verified)}`,
    );
  else
    process.stdout.write(
      `Not sound. First place: ${faultSentence(verified.fault)}.\nKeep the folder as it is for whoever looks into it, and bring back the last sound backup.\n`,
    );
  return verified.sound ? exits.answered : exits.refused;
}

/** Progress on one line of a terminal; nothing elsewhere. */
function progress(nowMs: number): Keeping {
  let said = '';
  return {
    nowMs,
    onProgress: (what) => {
      if (process.stderr.isTTY && what !== said) process.stderr.write(`${what}\n`);
      said = what;
    },
  };
}

const tell = (options: Copying, nowMs: number, done: string, sound: SoundFolder): number => {
  const to = resolve(options.to);
  process.stdout.write(
    options.json === true
      ? `${JSON.stringify({ to, at: instantOfMs(nowMs), ...sound })}\n`
      : `${done} ${to}.\n${countsInWords(sound)}`,
  );
  return exits.answered;
};

export async function runBackup(folder: string, options: Copying, nowMs: number): Promise<number> {
  const { backupFolder } = await import('@ebbline/server/keeping');
  const sound = await backupFolder(resolve(folder), resolve(options.to), progress(nowMs));
  return tell(options, nowMs, 'Whole and proved:', sound);
}

export async function runRestore(path: string, options: Copying, nowMs: number): Promise<number> {
  const { restoreFolder } = await import('@ebbline/server/keeping');
  const sound = await restoreFolder(resolve(path), resolve(options.to), progress(nowMs));
  return tell(options, nowMs, 'Brought back and proved:', sound);
}

export const verifyCommand = (): Command =>
  new Command('verify')
    .description(
      'Prove a data folder or a backup: every entry and every audit row is as it was kept. Changes nothing.',
    )
    .argument('<folder>', 'the folder that the server runs on, or a backup (folder or .tar)')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline verify ./data\n')
    .action((path: string, options: Options) => answer(() => runVerify(path, options)));

export const backupCommand = (): Command =>
  new Command('backup')
    .description('Make a whole, proved copy of a data folder. The server may go on writing.')
    .argument('<folder>', 'the folder that the server runs on')
    .requiredOption('--to <target>', 'a folder that is not there yet, or a new file ending in .tar')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline backup ./data --to ./copies/monday\n')
    .action((folder: string, options: Copying) => answer(() => runBackup(folder, options, Date.now())));

export const restoreCommand = (): Command =>
  new Command('restore')
    .description('Make a data folder of a backup, proved before it gets its name.')
    .argument('<backup>', 'a folder or a .tar file that `backup` wrote')
    .requiredOption('--to <folder>', 'a folder that is empty or not there yet')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline restore ./copies/monday --to ./data\n')
    .action((path: string, options: Copying) => answer(() => runRestore(path, options, Date.now())));
