/**
 * `ebbline simulate`: ways of deciding when to look next, compared on the same made-up patients of known content.
 *
 * Made-up patients say how the ways compare under stated assumptions, never how they do on people.
 * Exit codes: 0 answered · 1 failed inside · 2 bad usage · 3 refused input · 130 stopped by Ctrl-C
 */
import { Command } from 'commander';
import { isRefusal, orThrow, refusalSentence } from '@ebbline/core/quantity';
import { compareCurves } from '../simulate/curves.ts';
import { figureOf } from '../simulate/figure.ts';
import { fitHistory } from '../simulate/history.ts';
import { keepResult, resultsKept } from '../simulate/kept-results.ts';
import { beginsMs, generators, type Job, type PatientResult } from '../simulate/measure.ts';
import { workOut } from '../simulate/pool.ts';
import { csvOf, sentencesOf, tableOf } from '../simulate/said.ts';
import { strategyOf, usualStrategies } from '../simulate/strategies.ts';
import { summarise } from '../simulate/summary.ts';
import { answer, exits, Usage, writeOut } from './files.ts';

interface SimulateOptions {
  readonly patients: string;
  readonly hours: string;
  readonly seed: string;
  readonly generator: string;
  readonly strategies: string;
  readonly history: string;
  readonly csv?: string;
  readonly svg?: string;
  readonly resume?: string;
  readonly json?: boolean;
}

/** What a shell tells of a program that Ctrl-C ended. */
const stoppedByKey = 130;

function wholeOf(text: string, option: string, least: number, most: number): number {
  const value = Number(text);
  if (!/^\d+$/.test(text) || value < least || value > most)
    throw new Usage(`${option} is a whole number from ${least} to ${most}; found "${text.slice(0, 40)}"`);
  return value;
}

function jobOf(options: SimulateOptions): Job {
  const strategies = [...new Set(options.strategies.split(',').map((one) => one.trim()))];
  for (const name of strategies) {
    const found = strategyOf(name);
    if (isRefusal(found)) throw new Usage(refusalSentence(found));
  }
  if (!Object.hasOwn(generators, options.generator))
    throw new Usage(
      `--generator is ${Object.keys(generators).join(' or ')}; found "${options.generator.slice(0, 40)}"`,
    );
  const seed = wholeOf(options.seed, '--seed', 0, 4_294_967_295);
  const history = wholeOf(options.history, '--history', 0, 10_000);
  const generate = generators[options.generator];
  return {
    generator: options.generator,
    seed,
    hours: wholeOf(options.hours, '--hours', 1, 168),
    strategies,
    ...(history === 0 || generate === undefined
      ? {}
      : {
          // Another seed: none of those who are compared.
          factors: fitHistory(generate, { seed: seed ^ historySeed, patients: history, beginsMs }).factors,
        }),
  };
}

const historySeed = 0x0f_00_00;

/** A bar of what is done, on the terminal alone. */
function progressOn(stream: NodeJS.WriteStream, all: number): { show(done: number): void; clear(): void } {
  const since = performance.now();
  let begun: number | undefined;
  return {
    show: (done) => {
      if (!stream.isTTY) return;
      begun ??= done;
      const cells = Math.round((30 * done) / all);
      const leftS = ((performance.now() - since) / 1000 / Math.max(1, done - begun)) * (all - done);
      stream.write(
        `\r[${'#'.repeat(cells)}${'-'.repeat(30 - cells)}] ${done} of ${all} patients${done > begun ? `, about ${Math.ceil(leftS)} s left` : ''}   `,
      );
    },
    clear: () => {
      if (stream.isTTY) stream.write(`\r${' '.repeat(79)}\r`);
    },
  };
}

async function run(options: SimulateOptions): Promise<number> {
  const job = jobOf(options);
  const patients = wholeOf(options.patients, '--patients', 2, 100_000);
  const kept = options.resume === undefined ? [] : resultsKept(options.resume, job);
  const results: PatientResult[] = kept.filter((one) => one.index < patients);
  const have = new Set(results.map((one) => one.index));
  const progress = progressOn(process.stderr, patients);
  const stop = new AbortController();
  const onKey = (): void => stop.abort();
  process.once('SIGINT', onKey);
  progress.show(results.length);
  try {
    await workOut({
      job,
      indices: Array.from({ length: patients }, (_, index) => index).filter((index) => !have.has(index)),
      stop: stop.signal,
      done: (result) => {
        results.push(result);
        if (options.resume !== undefined) keepResult(options.resume, result);
        progress.show(results.length);
      },
    });
  } finally {
    process.off('SIGINT', onKey);
    progress.clear();
  }
  if (stop.signal.aborted) {
    console.error(
      `Stopped after ${results.length} of ${patients} patients. ${
        options.resume === undefined
          ? 'Nothing was kept: give --resume FILE to keep finished patients.'
          : `They are kept in ${options.resume}: the same command goes on from there.`
      }`,
    );
    return stoppedByKey;
  }
  const strategies = job.strategies.map((name) => orThrow(strategyOf(name)));
  const summary = summarise(results, strategies, job.seed);
  const comparisons = compareCurves(results, strategies, job);
  if (options.csv !== undefined) writeOut(options.csv, csvOf(job, results), '--csv');
  if (options.svg !== undefined) writeOut(options.svg, figureOf(summary, job), '--svg');
  if (options.json === true) {
    console.log(JSON.stringify({ ...job, ...summary, comparisons }, undefined, 1));
    return exits.answered;
  }
  console.log(
    `${patients} made-up patients, ${job.hours} h each, generator ${job.generator}, seed ${job.seed}. Means for each patient, with 95 % intervals over patients.`,
  );
  console.log(
    'Made-up patients show how the ways compare under stated assumptions, not how they do on people.\n',
  );
  console.log(tableOf(summary));
  const sentences = sentencesOf(comparisons);
  if (sentences !== '') console.log(`\n${sentences}`);
  return exits.answered;
}

/** The `simulate` verb. */
export function simulateCommand(): Command {
  return new Command('simulate')
    .description('compare ways of deciding when to look next, on made-up patients whose content is known')
    .option('--patients <count>', 'how many made-up patients, 2 or more', '200')
    .option('--hours <hours>', 'how long each is watched', '24')
    .option('--seed <number>', 'the same seed gives the same patients and the same chance', '1')
    .option('--generator <name>', 'own, or other: deliberately different physics', 'own')
    .option(
      '--strategies <names>',
      'with a comma between: fixed-HOURSh, line, weight, weight-less-voids (the last two perhaps with -RATE in mL/kg/h; all but the first perhaps with @SHARE of the limit), ours-PERCENT, chance-PERCENT',
      usualStrategies,
    )
    .option(
      '--history <count>',
      "first fit ours to so many other made-up patients, as a unit's own finished watches",
      '0',
    )
    .option('--csv <file>', 'a row for each patient and strategy')
    .option('--svg <file>', 'hours over the limit against looks, as a figure')
    .option('--resume <file>', 'keep finished patients in this file, and go on from it')
    .option('--json', 'one JSON value instead of words')
    .addHelpText(
      'after',
      '\nCtrl-C stops; finished patients stay in the file of --resume (exit code 130).\n\nExample:\n  npx ebbline simulate --patients 20 --strategies fixed-4h,ours-5,ours-20\n',
    )
    .action((options: SimulateOptions) => answer(() => run(options)));
}
