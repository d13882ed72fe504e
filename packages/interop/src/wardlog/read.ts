/**
 * Reads a whole ward log, and tells what of it was known at an instant.
 *
 * Domain    UTF-8 text; blank lines are passed over
 * Errors    one broken line refuses the file, so that nothing is half kept; `keepGoodLines` keeps the others and
 *           names each broken one
 * Source    S-wardlog-1
 */
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { readWardLine, type WardLine } from './line.ts';

export interface WardLog {
  readonly lines: readonly WardLine[];
  /** Lines left out, when that was asked for. */
  readonly broken: readonly Refusal[];
}

/** The log, or the first reason why it cannot be used. */
export function readWardLog(
  text: string,
  settings: { readonly keepGoodLines?: boolean } = {},
): WardLog | Refusal {
  const lines: WardLine[] = [];
  const broken: Refusal[] = [];
  const ids = new Map<string, number>();
  const rows = text.replace(/^\uFEFF/, '').split(/\r?\n/);
  for (const [index, row] of rows.entries()) {
    if (row.trim() === '') continue;
    const line = readWardLine(row, index + 1);
    const twin = isRefusal(line) ? undefined : ids.get(line.id);
    const problem = isRefusal(line)
      ? line
      : twin === undefined
        ? undefined
        : refuse('wardlog/same-id', {
            asked: 'Log line',
            found: `an id already used on line ${twin}`,
            allowed: 'an id of its own for each line',
            todo: 'Give this line its own id.',
            where: `line ${index + 1}`,
          });
    if (problem === undefined) {
      const good = line as WardLine;
      ids.set(good.id, index + 1);
      lines.push(good);
    } else if (settings.keepGoodLines === true) broken.push(problem);
    else return problem;
  }
  for (const line of lines) {
    if (line.replaces === undefined || ids.has(line.replaces)) continue;
    const problem = refuse('wardlog/replaces-nothing', {
      asked: 'Log line',
      found: 'a correction of an entry that is not in the log',
      allowed: 'the id of an entry in the log',
      todo: 'Check the id in replaces.',
      where: `line ${line.line}`,
    });
    if (settings.keepGoodLines === true) broken.push(problem);
    else return problem;
  }
  return { lines, broken };
}

/**
 * The lines known at an instant, in order of happening: recorded by then, not replaced or taken back by a line
 * recorded by then.
 *
 * @param patient only this patient's lines; a line moved to another chart leaves this one
 */
export function knownAt(log: WardLog, atMs: number, patient?: string): readonly WardLine[] {
  const recorded = log.lines.filter(
    (line) => line.recordedAtMs <= atMs || !controlIsOn('estimate-no-look-ahead'),
  );
  const gone = new Set(recorded.flatMap((line) => (line.replaces === undefined ? [] : [line.replaces])));
  return recorded
    .filter(
      (line) =>
        line.kind !== 'withdrawn' &&
        !gone.has(line.id) &&
        (patient === undefined || line.patient === patient),
    )
    .sort((a, b) => a.atMs - b.atMs || a.line - b.line);
}

/** The patients named in a log, in order of first mention. */
export function patientsOf(log: WardLog): readonly string[] {
  return [...new Set(log.lines.map((line) => line.patient))];
}
