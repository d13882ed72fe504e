#!/usr/bin/env node
/**
 * `ebbline VERB`: answers on standard output, progress and warnings on standard error.
 * Exit codes: 0 answered · 1 failed inside · 2 bad usage · 3 refused input.
 */
import { Command, CommanderError } from 'commander';

/** A verb is loaded when it is asked for, so that `volume` does not wait for the server's libraries. */
const verbs: Readonly<Record<string, { readonly summary: string; readonly load: () => Promise<Command> }>> = {
  serve: {
    summary: 'run the whole product',
    load: async () => (await import('./commands/serve.ts')).serveCommand(),
  },
  token: {
    summary: 'print a token for a machine account',
    load: async () => (await import('./commands/token.ts')).tokenCommand(),
  },
  volume: {
    summary: 'volume from ultrasound planes, with its interval and reasons to doubt it',
    load: async () => (await import('./commands/volume.ts')).volumeCommand(),
  },
  estimate: {
    summary: 'what a bladder holds, and when it reaches the limit, from a ward log',
    load: async () => (await import('./commands/estimate.ts')).estimateCommand(),
  },
  question: {
    summary: 'which volumes of a ward log are implausible, as of their charting',
    load: async () => (await import('./commands/question.ts')).questionCommand(),
  },
  figures: {
    summary: "a unit's own starting figures for the estimate, from its finished watches",
    load: async () => (await import('./commands/figures.ts')).figuresCommand(),
  },
  simulate: {
    summary: 'compare ways of deciding when to look next, on made-up patients',
    load: async () => (await import('./commands/simulate.ts')).simulateCommand(),
  },
  protocol: {
    summary: 'run a decision of a DMN file',
    load: async () => (await import('./commands/protocol.ts')).protocolCommand(),
  },
  report: {
    summary: 'print a ward, unit, patient or handover sheet as PDF',
    load: async () => (await import('./commands/report.ts')).reportCommand(),
  },
  import: {
    summary: 'read a ward log or a CSV file in, whole or not at all',
    load: async () => (await import('./commands/import.ts')).importCommand(),
  },
  export: {
    summary: 'write everything out in open formats',
    load: async () => (await import('./commands/export.ts')).exportCommand(),
  },
  backup: {
    summary: 'a whole, proved copy of a data folder while the server writes',
    load: async () => (await import('./commands/keeping.ts')).backupCommand(),
  },
  restore: {
    summary: 'a data folder out of a backup, proved before it gets its name',
    load: async () => (await import('./commands/keeping.ts')).restoreCommand(),
  },
  verify: {
    summary: 'whether every entry and audit row is as it was kept',
    load: async () => (await import('./commands/keeping.ts')).verifyCommand(),
  },
  migrate: {
    summary: "a server's folder moved into a database, or its tables brought to this release",
    load: async () => (await import('./commands/migrate.ts')).migrateCommand(),
  },
};

async function main(words: readonly string[]): Promise<number> {
  const [verb] = words;
  const program = new Command('ebbline')
    .description('The job around measuring bladder volume at the bedside. It advises; the clinician decides.')
    .exitOverride();
  program.addHelpText(
    'after',
    '\nExample:\n  npx ebbline serve --demo\n\nExit codes: 0 answered, 1 failed inside, 2 bad usage, 3 refused input.',
  );
  const chosen = verb === undefined ? undefined : Object.hasOwn(verbs, verb) ? verbs[verb] : undefined;
  if (chosen) program.addCommand((await chosen.load()).exitOverride());
  else for (const [name, { summary }] of Object.entries(verbs)) program.command(name).description(summary);
  try {
    if (verb === undefined) {
      program.outputHelp();
      return 2;
    }
    await program.parseAsync([...words], { from: 'user' });
    return Number(process.exitCode ?? 0);
  } catch (problem) {
    if (problem instanceof CommanderError) return problem.exitCode === 0 ? 0 : 2;
    console.error(problem instanceof Error ? problem.message : String(problem));
    return 1;
  }
}

process.exitCode = await main(process.argv.slice(2));
