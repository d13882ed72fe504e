/**
 * `serve`: the whole product in one process.
 *
 * Out       one line `Ebbline is ready at http://…` on standard output when it answers
 * Exit      0 stopped on request, 1 failed inside, 2 bad usage, 3 a data folder that is refused
 */
import { refusalSentence, refuse, type Refusal } from '@ebbline/core/quantity';
import { Command, Option } from 'commander';

export interface ServeOptions {
  readonly data?: string;
  readonly port?: string;
  readonly downtime?: string;
  readonly demo?: boolean;
  readonly database?: string;
  readonly mllpPort?: string;
  readonly dicomPort?: string;
  readonly dicomTitle?: string;
}

const later: readonly (readonly [keyof ServeOptions, string, string])[] = [
  ['dicomPort', '--dicom-port', 'HTTP only; images as files with `volume`'],
  ['dicomTitle', '--dicom-title', 'HTTP only; images as files with `volume`'],
];

export function serveCommand(): Command {
  return new Command('serve')
    .description('Run the whole product: screens, record, live board. Stop it with Ctrl+C.')
    .option('--data <folder>', 'where the record is kept (default ./data)')
    .option(
      '--database <url>',
      'keep everything in a PostgreSQL database that several servers may share: postgres://… (or EBBLINE_DATABASE, which no list of processes shows)',
    )
    .option('--port <number>', 'port to listen on (default 8080; 0 takes a free one)')
    .option('--downtime <folder>', 'where the hourly prints for the hours without the tool go')
    .option('--mllp-port <number>', 'take in the hospital’s patient messages, HL7 v2, on this port')
    .option('--demo', 'load the made-up coast into a fresh store under <data>/demo')
    .addOption(new Option('--dicom-port <number>', 'listen for DICOM (comes with a later release)'))
    .addOption(new Option('--dicom-title <title>', 'DICOM application title (comes with a later release)'))
    .addHelpText('after', '\nExample:\n  npx ebbline serve --demo --port 8080\n')
    .exitOverride((error) => {
      process.exit(error.exitCode === 0 ? 0 : 2);
    })
    .action(async (options: ServeOptions) => {
      const refusal = laterRefusal(options);
      if (refusal) {
        process.stderr.write(`${refusalSentence(refusal)}\n`);
        process.exitCode = 2;
        return;
      }
      const { runServer } = await import('@ebbline/server');
      const code = await runServer(
        {
          data: options.data,
          database: options.database,
          port: options.port,
          downtime: options.downtime,
          'mllp-port': options.mllpPort,
        },
        options.demo,
      );
      if (code !== undefined) process.exitCode = code;
    });
}

/** The refusal of an option that comes with a later release. */
export function laterRefusal(options: ServeOptions): Refusal | undefined {
  for (const [name, flag, instead] of later) {
    if (options[name] === undefined) continue;
    return refuse('cli/later-release', {
      asked: `Option ${flag}`,
      found: flag,
      allowed: instead,
      todo: `${flag} comes with a later release; leave it out.`,
    });
  }
  return undefined;
}
