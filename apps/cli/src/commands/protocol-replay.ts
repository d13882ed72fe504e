/**
 * `ebbline protocol replay IN-FORCE DRAFT`: a draft beside the protocol in force, over the finished watches of a data folder
 * and on made-up wards.
 *
 * Out       sentences and paired tables, or with `--json` one value; progress on a terminal alone
 * Exit      0 answered · 1 failed inside · 2 bad usage · 3 refused: no protocol, nothing to replay
 */
import { Command } from 'commander';
import { instantOfMs, orThrow } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import { compileProtocol, readDmn, type CompiledProtocol } from '@ebbline/protocol';
import {
  hoursOverPast,
  replayEpisodes,
  replaySimulated,
  toEnd,
  type EpisodesReplay,
  type HoursOver,
  type PairedFigure,
  type Progress,
} from '@ebbline/replay';
import {
  answerWords,
  hoursSentence,
  madeUpFigures,
  madeUpSentences,
  pairedCells,
  pairedHeads,
  pastFigures,
  pastSentences,
} from '@ebbline/replay/words';
import { otherPatient, watchedPatient } from '@ebbline/simulate';
import { isDemo, readData } from './data-folder.ts';
import { answer, exits, readText, Usage } from './files.ts';

interface Options {
  readonly data?: string;
  readonly demo?: boolean;
  readonly ward?: string;
  readonly patients: string;
  readonly hours: string;
  readonly seed: string;
  readonly generator: string;
  readonly json?: boolean;
}

const generators = { own: watchedPatient, other: otherPatient } as const;

const protocolIn = async (file: string): Promise<CompiledProtocol> =>
  orThrow(compileProtocol(orThrow(await readDmn(readText(file)))));

function wholeOf(text: string, option: string): number {
  if (!/^\d{1,9}$/.test(text)) throw new Usage(`${option} is a whole number; found "${text.slice(0, 40)}"`);
  return Number(text);
}

const tell = ({ says }: Progress): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r${says}          `);
};
const endOfTelling = (): void => {
  if (process.stderr.isTTY) process.stderr.write(`\r${' '.repeat(60)}\r`);
};

interface Past {
  readonly past: EpisodesReplay;
  readonly hours: HoursOver;
}

async function overThePast(
  inForce: CompiledProtocol,
  draft: CompiledProtocol,
  given: string,
  options: Options,
  { nowMs, seed }: { readonly nowMs: number; readonly seed: number },
): Promise<Past> {
  const { kept, directory } = await readData(given, isDemo(given, options.demo));
  const request = {
    kept,
    inForce,
    draft,
    nowMs,
    wardOf: (id: string) =>
      directory.wards.find((one) => one.id === id) ?? {
        settings: defaultSettings,
        zone: directory.wards[0]?.zone ?? 'UTC',
      },
    ...(options.ward === undefined ? {} : { ward: options.ward }),
    seed,
  };
  const past = orThrow(toEnd(replayEpisodes(request), tell));
  return { past, hours: toEnd(hoursOverPast(request), tell) };
}

function tableOf(
  names: readonly { readonly title: string; readonly digits: number; readonly name: string }[],
  figures: Readonly<Record<string, PairedFigure>>,
): string {
  const rows = [
    [...pairedHeads],
    ...names.flatMap(({ name, title, digits }) => {
      const figure = figures[name];
      return figure === undefined ? [] : [[title, ...pairedCells(figure, digits)]];
    }),
  ];
  const widths = pairedHeads.map((_, place) => Math.max(...rows.map((row) => row[place]?.length ?? 0)));
  return rows
    .map((row) =>
      row
        .map((cell, place) => cell.padEnd(widths[place] ?? 0))
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}

function sayPast({ past, hours }: Past): void {
  console.log(`Over the past\n${pastSentences(past).join('\n')}\n`);
  console.log(`${tableOf(pastFigures, past.figures)}\n`);
  console.log(`${hoursSentence(hours)}\n`);
  for (const one of past.changed)
    console.log(
      `${one.patient} ${instantOfMs(one.atMs).slice(0, 16)}: ${answerWords(one.inForce)} | ${answerWords(one.draft)}${one.seen ? '' : ' | after a departure, not counted'}`,
    );
  if (past.changed.length > 0) console.log('');
}

async function replay(files: readonly [string, string], options: Options, nowMs: number): Promise<number> {
  if (!Object.hasOwn(generators, options.generator))
    throw new Usage(
      `--generator is ${Object.keys(generators).join(' or ')}; found "${options.generator.slice(0, 40)}"`,
    );
  const patients = wholeOf(options.patients, '--patients');
  const hours = wholeOf(options.hours, '--hours');
  const seed = wholeOf(options.seed, '--seed');
  const [inForce, draft] = [await protocolIn(files[0]), await protocolIn(files[1])];
  const past =
    options.data === undefined
      ? undefined
      : await overThePast(inForce, draft, options.data, options, { nowMs, seed });
  const madeUp = orThrow(
    toEnd(
      replaySimulated({
        inForce,
        draft,
        patients,
        hours,
        seed,
        settings: defaultSettings,
        generate: generators[options.generator as keyof typeof generators],
      }),
      tell,
    ),
  );
  endOfTelling();
  if (options.json === true) {
    console.log(JSON.stringify({ ...past, madeUp }, undefined, 1));
    return exits.answered;
  }
  if (past !== undefined) sayPast(past);
  console.log(`On made-up wards\n${madeUpSentences(madeUp).join('\n')}\n`);
  console.log(tableOf(madeUpFigures, madeUp.figures));
  return exits.answered;
}

export function replayCommand(): Command {
  return new Command('replay')
    .description('try a draft beside the protocol in force: over finished watches, and on made-up wards')
    .argument('<in-force>', 'DMN file (XML) of the protocol in force')
    .argument('<draft>', 'DMN file (XML) of the draft')
    .option('--data <folder>', 'go over the finished watches of this data folder too')
    .option('--demo', 'the demonstration inside that folder')
    .option('--ward <id>', 'only watches that ended on this ward')
    .option('--patients <count>', 'how many made-up patients, 2 to 1000', '100')
    .option('--hours <hours>', 'how long each is watched', '24')
    .option('--seed <number>', 'the same seed gives the same patients and the same chance', '1')
    .option('--generator <name>', 'own, or other: deliberately different physics', 'own')
    .option('--json', 'one JSON value instead of words')
    .addHelpText('after', '\nExample:\n  npx ebbline protocol replay protocol.dmn draft.dmn --patients 30\n')
    .action((inForce: string, draft: string, options: Options) =>
      answer(() => replay([inForce, draft], options, Date.now())),
    );
}
