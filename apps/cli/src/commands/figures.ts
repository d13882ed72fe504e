/**
 * `ebbline figures LOG… --out FILE`: a unit's own starting figures for the estimate, learnt from ward logs of its finished
 * watches. `estimate` and `question` take the file with `--figures`; a ward keeps it in its settings as `ownFigures`.
 *
 * Exit codes: 0 learnt · 1 failed inside · 2 bad usage · 3 refused input
 */
import { Command } from 'commander';
import { fitUnit, readUnitFactors, type UnitFactors } from '@ebbline/core/filling';
import { isRefusal, orThrow, RefusalError, refuse } from '@ebbline/core/quantity';
import { lessonsOf, readWardLog } from '@ebbline/interop/wardlog';
import { wardLogAt } from './data-folder.ts';
import { answer, readText, Usage, writeOut } from './files.ts';

/** Figures that were kept in a file; undefined where none was named. */
export function figuresIn(file: string | undefined): UnitFactors | undefined {
  if (file === undefined) return undefined;
  let value: unknown;
  try {
    value = JSON.parse(readText(file));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    throw new RefusalError(
      refuse('figures/not-json', {
        asked: "A unit's own starting figures",
        found: 'a file that is not JSON',
        allowed: 'the file that `ebbline figures` wrote',
        todo: 'Give that file.',
      }),
    );
  }
  return orThrow(readUnitFactors(value));
}

function run(given: readonly string[], options: { readonly out?: string; readonly json?: boolean }): number {
  if (options.out === undefined) throw new Usage('figures needs --out FILE');
  const lessons = given.flatMap((one) => {
    const log = readWardLog(readText(wardLogAt(one).log));
    if (isRefusal(log)) throw new RefusalError(log);
    return lessonsOf(log);
  });
  console.error(`Learning from ${lessons.length} readings; this takes some minutes.`);
  const fit = orThrow(fitUnit(lessons));
  writeOut(options.out, `${JSON.stringify(fit.factors, undefined, 1)}\n`, '--out');
  const { costBeforeMl, costAfterMl } = fit.common;
  const settings = Object.keys(fit.bySetting);
  if (options.json === true)
    console.log(JSON.stringify({ lessons: lessons.length, settings, costBeforeMl, costAfterMl }));
  else {
    console.log(
      `${lessons.length} readings: mean cost of telling them beforehand ${costBeforeMl.toFixed(1)} mL with the shipped figures, ${costAfterMl.toFixed(1)} mL with these. On other watches it will be a little more.`,
    );
    console.log(
      `${settings.length === 0 ? 'No setting has enough readings to differ' : `Settings that differ: ${settings.join(', ')}`}; written to ${options.out}`,
    );
  }
  return 0;
}

/** The `figures` verb. */
export function figuresCommand(): Command {
  return new Command('figures')
    .description(
      "a unit's own starting figures for the estimate, learnt from ward logs of its finished watches",
    )
    .argument('<logs...>', 'ward logs in wardlog-1 (files, or folders with log.ndjson)')
    .option('--out <file>', 'file for the figures')
    .option('--json', 'what was learnt as JSON')
    .action((logs: readonly string[], options: { out?: string; json?: boolean }) =>
      answer(() => run(logs, options)),
    );
}
