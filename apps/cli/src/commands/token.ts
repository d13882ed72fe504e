/**
 * `token`: a bearer token for a machine. Printed once; only a digest of it is kept.
 *
 * Exit      0 printed, 2 bad usage, 3 a data folder that is refused
 */
import { roles, type Role } from '@ebbline/core/record';
import { refusalSentence, refuse, type Refusal } from '@ebbline/core/quantity';
import { Command } from 'commander';
import type { Books } from '@ebbline/store/books';
import { dataFolder, isDemo } from './data-folder.ts';
import { databaseOf, organisationSaid } from './database.ts';
import { answer, makeFolder } from './files.ts';

interface Options {
  readonly role: string;
  readonly days: string;
  readonly data: string;
  readonly demo?: boolean;
  readonly database?: string;
  readonly json?: boolean;
}

/** A year; longer ones are forgotten about (S-common-practice). */
const mostDays = 366;

const usage = (found: string, allowed: string, todo: string): Refusal =>
  refuse('cli/token-usage', { asked: 'Token', found, allowed, todo });

export function tokenCommand(): Command {
  return new Command('token')
    .description('Print a bearer token for a machine client. It is shown this once.')
    .requiredOption('--role <role>', 'what the machine may do, such as integration')
    .option('--days <number>', 'how long it is good for', '90')
    .option('--data <folder>', 'the folder that the server runs on', process.env['EBBLINE_DATA'] ?? './data')
    .option('--demo', 'for the server started with --demo')
    .option('--database <url>', 'the database that servers share, postgres://… (or EBBLINE_DATABASE)')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline token --role integration --days 30\n')
    .exitOverride((error) => {
      process.exit(error.exitCode === 0 ? 0 : 2);
    })
    .action((options: Options) => answer(() => runToken(options, Date.now())));
}

export async function runToken(options: Options, nowMs: number): Promise<number> {
  const days = Number(options.days);
  const refusal = !roles.includes(options.role as Role)
    ? usage(`role "${options.role.slice(0, 40)}"`, roles.join(', '), 'Choose one of these roles.')
    : !Number.isInteger(days) || days < 1 || days > mostDays
      ? usage(
          `${options.days.slice(0, 20)} days`,
          `whole days from 1 to ${mostDays}`,
          'Choose fewer days and make a new token in time.',
        )
      : undefined;
  if (refusal) {
    process.stderr.write(`${refusalSentence(refusal)}\n`);
    return 2;
  }
  const token = await withBooks(options, (books) => makeTokenIn(books, options.role as Role, days, nowMs));
  process.stdout.write(
    options.json === true ? `${JSON.stringify({ token, role: options.role, days })}\n` : `${token}\n`,
  );
  return 0;
}

const makeTokenIn = async (books: Books, role: Role, days: number, nowMs: number): Promise<string> =>
  (await import('@ebbline/server')).makeToken(books, role, days, nowMs);

/** The books of the database that was named, else of the folder. */
async function withBooks<Answer>(options: Options, work: (books: Books) => Promise<Answer>): Promise<Answer> {
  const url = databaseOf(options);
  if (url === undefined || options.demo === true) {
    const { fileBooks } = await import('@ebbline/store/books');
    const folder = dataFolder(options.data, isDemo(options.data, options.demo));
    makeFolder(folder, '--data');
    return work(fileBooks(folder));
  }
  const { openPostgres, postgresBooks } = await import('@ebbline/store/postgres');
  const { organisationIn } = await import('@ebbline/server');
  const database = await openPostgres({ url, connections: 1 });
  try {
    return await work(postgresBooks(database, await organisationIn(database, organisationSaid())));
  } finally {
    await database.close();
  }
}
