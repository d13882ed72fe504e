/**
 * `ebbline question LOG --csv OUT`: how implausible each volume of a ward log is, as of its charting.
 *
 * Only what was charted before an entry is used to judge it. No volume is suggested, and none is changed.
 * Exit codes: 0 answered · 1 failed inside · 2 bad usage · 3 refused input
 */
import { Command } from 'commander';
import { isRefusal, RefusalError } from '@ebbline/core/quantity';
import { writeCell } from '@ebbline/interop/csv';
import { questionLog, readWardLog } from '@ebbline/interop/wardlog';
import { wardAboutIfAny, wardLogAt } from './data-folder.ts';
import { figuresIn } from './figures.ts';
import { answer, readText, Usage, writeOut } from './files.ts';

const csvHeader = 'ward,entry_id,score,questioned,reason';
const scoreDigits = 6;

interface QuestionOptions {
  readonly csv?: string;
  readonly figures?: string;
  readonly json?: boolean;
}

function run(given: string, options: QuestionOptions): number {
  if (options.csv === undefined) throw new Usage('question needs --csv OUT');
  const at = wardLogAt(given);
  const log = readWardLog(readText(at.log));
  if (isRefusal(log)) throw new RefusalError(log);
  const { ward = '' } = wardAboutIfAny(at.folder);
  const rows = [csvHeader];
  let questioned = 0;
  for (const one of questionLog(log, figuresIn(options.figures))) {
    questioned += one.questioned ? 1 : 0;
    rows.push(
      [ward, one.line.id, one.score.toFixed(scoreDigits), one.questioned ? '1' : '0', one.reason]
        .map(writeCell)
        .join(','),
    );
  }
  writeOut(options.csv, `${rows.join('\n')}\n`, '--csv');
  const judged = rows.length - 1;
  if (options.json === true) console.log(JSON.stringify({ judged, questioned, csv: options.csv }));
  else console.log(`${judged} volumes judged, ${questioned} questioned; written to ${options.csv}`);
  return 0;
}

/** The `question` verb. */
export function questionCommand(): Command {
  return new Command('question')
    .description('how implausible each volume of a ward log is, judged by what was charted before it')
    .argument('<log>', 'ward log in wardlog-1 (a file, or a folder with log.ndjson)')
    .option('--csv <out>', 'file for one row a volume')
    .option('--figures <file>', "the unit's own starting figures, as `figures` wrote them")
    .option('--json', 'the count as JSON')
    .action((log: string, options: QuestionOptions) => answer(() => run(log, options)));
}
