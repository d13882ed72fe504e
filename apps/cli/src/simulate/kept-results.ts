/**
 * Finished patients in a file, so that a run that was stopped goes on where it was: the job on the first line, then a
 * patient a line.
 *
 * Errors    `simulate/other-run` when the file is of another job, `simulate/broken-results` when a line is no result
 */
import { appendFileSync, existsSync } from 'node:fs';
import { RefusalError, refuse } from '@ebbline/core/quantity';
import { readText, writeOut } from '../commands/files.ts';
import { measureNames } from '@ebbline/simulate';
import type { Job, PatientResult } from './measure.ts';

const format = 'ebbline-simulate-1';
const headOf = (job: Job): string => JSON.stringify({ format, ...job });

const isResult = (value: unknown, job: Job): value is PatientResult => {
  const { index, patient, measures } = (value ?? {}) as Partial<PatientResult>;
  return (
    Number.isInteger(index) &&
    typeof patient === 'string' &&
    Array.isArray(measures) &&
    measures.length === job.strategies.length &&
    measures.every((one) =>
      measureNames.every((name) => Number.isFinite((one as Record<string, unknown>)[name])),
    )
  );
};

/** The patients that are done, of a file that may not be there yet. */
export function resultsKept(file: string, job: Job): readonly PatientResult[] {
  if (!existsSync(file)) {
    writeOut(file, `${headOf(job)}\n`, '--resume');
    return [];
  }
  const text = readText(file);
  const rows = text.split('\n');
  if (rows[0] !== headOf(job))
    throw new RefusalError(
      refuse('simulate/other-run', {
        asked: 'Results to go on from',
        found: 'a file of a run with other settings, or no such file',
        allowed: 'results of the same generator, seed, hours and strategies',
        todo: 'Give the same options as before, or another file with --resume.',
      }),
    );
  // A line that was cut while being written ends the file without a line end: that patient is done again.
  const cut = rows.pop() ?? '';
  const found = new Map<number, PatientResult>();
  for (const [place, row] of rows.slice(1).entries()) {
    let value: unknown;
    try {
      value = JSON.parse(row);
    } catch {
      value = undefined;
    }
    if (!isResult(value, job))
      throw new RefusalError(
        refuse('simulate/broken-results', {
          asked: 'Results to go on from',
          found: 'a line that is no result',
          allowed: 'one patient a line, as written by an earlier run',
          todo: 'Take the line out, or begin anew with another file.',
          where: `line ${place + 2}`,
        }),
      );
    found.set(value.index, value);
  }
  if (cut !== '') writeOut(file, text.slice(0, text.length - cut.length), '--resume');
  return [...found.values()];
}

export function keepResult(file: string, result: PatientResult): void {
  appendFileSync(file, `${JSON.stringify(result)}\n`);
}
