/**
 * `migrate`: a server's folder moved into a database, or the tables of a database brought to this release.
 *
 * Out       counts and the newest link of the chain, the same at both ends; no patient data
 * Exit      0 moved or brought up · 1 failed inside · 2 bad usage · 3 refused; then nothing of it is in the database
 */
import { resolve } from 'node:path';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { Command } from 'commander';
import { inUse } from './data-folder.ts';
import { databaseOf, databasePlace } from './database.ts';
import { answer, exits } from './files.ts';
import { progress, some } from './keeping.ts';

interface Options {
  readonly from?: string;
  readonly to?: string;
  readonly json?: boolean;
}

export async function runMigrate(options: Options, nowMs: number): Promise<number> {
  const url = databaseOf(options.to === undefined ? {} : { database: options.to });
  if (url === undefined)
    throw new RefusalError(
      refuse('cli/migrate-usage', {
        asked: 'Migrate',
        found: 'no database',
        allowed: '--to postgres://…, or EBBLINE_DATABASE',
        todo: 'Say where to. A folder needs no migrate: `serve` brings it up at its next start.',
      }),
    );
  const { bringDatabaseUp, moveToDatabase } = await import('@ebbline/server/keeping');
  const to = databasePlace(url);
  if (options.from === undefined) {
    const { before, after } = await bringDatabaseUp(url);
    process.stdout.write(
      options.json === true
        ? `${JSON.stringify({ to, before, after })}\n`
        : before === after
          ? `${to}: tables of version ${after} already.\n`
          : `${to}: tables brought from version ${before} to ${after}.\n`,
    );
    return exits.answered;
  }
  const from = resolve(options.from);
  const { entries, auditRows, chain } = await moveToDatabase(from, url, inUse, progress(nowMs));
  process.stdout.write(
    options.json === true
      ? `${JSON.stringify({ from, to, entries, auditRows, chain })}\n`
      : `Moved into ${to}: ${some(entries, 'entry', 'entries')}, ${some(auditRows, 'audit row', 'audit rows')}, each read back and the same.\nNewest link of the chain at both ends: ${chain}\nStart servers with --database; keep the folder until they have proved themselves, and start none on it.\n`,
  );
  return exits.answered;
}

export const migrateCommand = (): Command =>
  new Command('migrate')
    .description(
      'Move a server’s folder into an empty PostgreSQL database, or bring the tables of a database to this release.',
    )
    .option('--from <folder>', 'the folder that a server ran on; without it only tables are brought up')
    .option('--to <url>', 'the database, postgres://… (or EBBLINE_DATABASE)')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline migrate --from ./data --to postgres://db/ebbline\n')
    .action((options: Options) => answer(() => runMigrate(options, Date.now())));
