/**
 * `ebbline estimate LOG`: what each bladder holds at an instant, from a ward log in `wardlog-1`.
 *
 * Only entries recorded at or before the instant are used, in the state they had then.
 * Exit codes: 0 answered · 1 failed inside · 2 bad usage · 3 refused input
 */
import { Command } from 'commander';
import { estimateAt, plainCrossing, type FillingEstimate, type UnitFactors } from '@ebbline/core/filling';
import {
  instantInZone,
  isRefusal,
  orThrow,
  readInstant,
  RefusalError,
  refusalSentence,
  refuse,
  type Refusal,
} from '@ebbline/core/quantity';
import { readRows, writeCell } from '@ebbline/interop/csv';
import {
  knownAt,
  knownThen,
  patientsOf,
  readWardLog,
  unusedLimitMl,
  watchOf,
  type WardLog,
  type WatchLine,
} from '@ebbline/interop/wardlog';
import { wardAboutIfAny, wardLogAt } from './data-folder.ts';
import { figuresIn } from './figures.ts';
import { answer, readText, Usage, writeOut } from './files.ts';
import { reconstructedAnswer } from './reconstruct.ts';

interface EstimateOptions {
  readonly at?: string;
  readonly patient?: string;
  readonly rate?: string;
  readonly queries?: string;
  readonly csv?: string;
  readonly json?: boolean;
  readonly reconstruct?: boolean;
  readonly figures?: string;
}

interface RateRange {
  readonly lowMlPerH: number;
  readonly highMlPerH: number;
}

interface Answer {
  readonly patient: string;
  readonly watch: WatchLine | undefined;
  readonly estimate: FillingEstimate | Refusal;
  readonly entries: number;
  readonly lastReading: { readonly volumeMl: number; readonly atMs: number } | undefined;
}

/** How far ahead a crossing is looked for: two days. */
const horizonMin = 2880;

const rateOf = (text: string): RateRange => {
  const match = /^(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)$/.exec(text);
  if (!match) throw new Usage(`--rate is LOW-HIGH in mL/h, such as 100-200; found "${text}"`);
  return { lowMlPerH: Number(match[1]), highMlPerH: Number(match[2]) };
};

/** One patient's estimate from what was recorded by the instant. */
export function estimateOf(log: WardLog, patient: string, atMs: number, figures?: UnitFactors): Answer {
  const lines = knownAt(log, atMs, patient);
  const watch = watchOf(lines);
  const { observations, prior, clockAheadMs } = knownThen(log, atMs, patient, [], figures);
  const reading = observations.findLast((one) => one.kind === 'reading');
  return {
    patient,
    watch,
    entries: lines.length,
    estimate: estimateAt({
      observations,
      prior,
      atMs,
      limitMl: watch?.limitMl ?? unusedLimitMl,
      horizonMin,
      clockAheadMs,
    }),
    lastReading: reading?.kind === 'reading' ? { volumeMl: reading.volumeMl, atMs: reading.atMs } : undefined,
  };
}

const notesOf = (answer: Answer): readonly string[] => {
  if (isRefusal(answer.estimate)) return [refusalSentence(answer.estimate)];
  const { estimate } = answer;
  return [
    ...(estimate.validity.valid ? [] : [`not valid: ${estimate.validity.reason}`]),
    ...(answer.watch === undefined ? ['no limit charted'] : []),
    ...(estimate.catheter === 'in'
      ? ['catheter in place']
      : estimate.catheter === 'blocked'
        ? ['catheter in place, perhaps blocked: check that it drains']
        : []),
    ...(estimate.informativeEntries < 2 ? ['few entries: a wide guess, keep the fixed interval'] : []),
  ];
};

const oneDecimal = (value: number): string => (Math.round(value * 10) / 10).toString();

const csvHeader = 'ward,patient,at,content_ml,lo,hi,p_over_limit,cross_p05_at,cross_p50_at,cross_p95_at,note';

function csvRow(ward: string, at: string, zone: string, answer: Answer): string {
  const { estimate } = answer;
  const notes = notesOf(answer).join('; ');
  if (isRefusal(estimate) || !estimate.validity.valid)
    return [ward, answer.patient, at, '', '', '', '', '', '', '', notes].map(writeCell).join(',');
  const instant = (ms: number | undefined): string =>
    ms === undefined || answer.watch === undefined || estimate.catheter === 'in'
      ? ''
      : instantInZone(ms, zone);
  const { crossing } = estimate;
  return [
    ward,
    answer.patient,
    at,
    oneDecimal(estimate.content.p50Ml),
    oneDecimal(estimate.content.p05Ml),
    oneDecimal(estimate.content.p95Ml),
    answer.watch === undefined ? '' : estimate.overLimitProbability.toFixed(4),
    instant(crossing.earliestAtMs),
    instant(crossing.likelyAtMs),
    instant(crossing.latestAtMs),
    notes,
  ]
    .map(writeCell)
    .join(',');
}

function answerQueries(
  log: WardLog,
  queriesText: string,
  zone: string,
  figures: UnitFactors | undefined,
): readonly string[] | Refusal {
  const rows = readRows(queriesText);
  if (isRefusal(rows)) return rows;
  const header = rows[0]?.cells.map((one) => one.trim()).join(',') ?? '';
  if (header !== 'ward,patient,at') {
    return refuse('estimate/queries-header', {
      asked: 'Queries',
      found: header === '' ? 'no header' : `the header "${header.slice(0, 60)}"`,
      allowed: 'ward,patient,at',
      todo: 'Give a CSV with these three columns.',
      where: 'line 1',
    });
  }
  const out: string[] = [csvHeader];
  for (const { cells, line } of rows.slice(1)) {
    const [ward = '', patient = '', at = ''] = cells;
    const atMs = readInstant(at);
    if (isRefusal(atMs)) return { ...atMs, where: `line ${line}` };
    out.push(csvRow(ward, at, zone, estimateOf(log, patient, atMs, figures)));
  }
  return out;
}

function plainOf(answer: Answer, rate: RateRange | undefined): ReturnType<typeof plainCrossing> | undefined {
  if (rate === undefined || answer.lastReading === undefined || answer.watch === undefined) return undefined;
  return plainCrossing({ ...answer.lastReading, limitMl: answer.watch.limitMl, ...rate });
}

function jsonOf(
  answer: Answer,
  ward: string | undefined,
  atMs: number,
  zone: string,
  rate: RateRange | undefined,
): unknown {
  const { estimate } = answer;
  const instant = (ms: number | undefined): string | undefined =>
    ms === undefined ? undefined : instantInZone(ms, zone);
  const plain = plainOf(answer, rate);
  const base = {
    ward,
    patient: answer.patient,
    at: instant(atMs),
    setting: answer.watch?.setting,
    limitMl: answer.watch?.limitMl,
    entriesUsed: answer.entries,
    notes: notesOf(answer),
  };
  if (isRefusal(estimate)) return { ...base, refused: estimate.code };
  const showLimit = answer.watch !== undefined && estimate.validity.valid;
  return {
    ...base,
    validity: estimate.validity,
    ...(estimate.validity.valid ? { contentMl: estimate.content, rateMlPerH: estimate.rateMlPerH } : {}),
    ...(showLimit
      ? {
          overLimitProbability: estimate.overLimitProbability,
          crossing: {
            alreadyOver: estimate.crossing.alreadyOver,
            earliestAt: instant(estimate.crossing.earliestAtMs),
            likelyAt: instant(estimate.crossing.likelyAtMs),
            latestAt: instant(estimate.crossing.latestAtMs),
          },
        }
      : {}),
    informativeEntries: estimate.informativeEntries,
    ...(plain === undefined || isRefusal(plain)
      ? {}
      : {
          plainCrossing: {
            fromReadingMl: answer.lastReading?.volumeMl,
            earliestAt: instant(plain.earliestAtMs),
            latestAt: instant(plain.latestAtMs),
            alreadyOver: plain.alreadyOver,
          },
        }),
  };
}

function wordsOf(answer: Answer, zone: string, rate: RateRange | undefined): string {
  const { estimate } = answer;
  const clock = (ms: number): string => instantInZone(ms, zone).slice(0, 16).replace('T', ' ');
  const name = `${answer.patient}:`;
  if (isRefusal(estimate)) return `${name} ${refusalSentence(estimate)}`;
  const notes = notesOf(answer).map((note) => `  (${note})`);
  if (!estimate.validity.valid) return [`${name} no estimate`, ...notes].join('\n');
  const round = (ml: number): number => Math.round(ml / 5) * 5;
  const said = [
    `${name} about ${round(estimate.content.p50Ml)} mL (90 in 100: ${round(estimate.content.p05Ml)} to ${round(estimate.content.p95Ml)} mL)`,
  ];
  if (answer.watch !== undefined && estimate.catheter !== 'in') {
    const { crossing } = estimate;
    said.push(
      `  over the limit of ${answer.watch.limitMl} mL: ${Math.round(estimate.overLimitProbability * 100)} in 100`,
    );
    const times = [
      ['earliest', crossing.earliestAtMs],
      ['likely', crossing.likelyAtMs],
      ['latest', crossing.latestAtMs],
    ] as const;
    said.push(
      `  if nothing leaves, it passes the limit: ${times.map(([word, ms]) => `${word} ${ms === undefined ? 'not within two days' : ms <= estimate.atMs ? 'now' : clock(ms)}`).join(', ')}`,
    );
  }
  const plain = plainOf(answer, rate);
  if (plain !== undefined && !isRefusal(plain) && rate !== undefined) {
    said.push(
      `  plain arithmetic from the last reading, ${Math.round(answer.lastReading?.volumeMl ?? 0)} mL, at ${rate.lowMlPerH} to ${rate.highMlPerH} mL/h: ${clock(plain.earliestAtMs)} to ${clock(plain.latestAtMs)}`,
    );
  }
  return [...said, ...notes].join('\n');
}

function run(given: string, options: EstimateOptions): number {
  const at = wardLogAt(given);
  const rate = options.rate === undefined ? undefined : rateOf(options.rate);
  if ((options.queries === undefined) !== (options.csv === undefined))
    throw new Usage('--queries FILE and --csv OUT belong together');
  if (options.reconstruct === true && (options.queries !== undefined || options.rate !== undefined))
    throw new Usage('--reconstruct goes with --at, --patient and --json only');
  const ward = wardAboutIfAny(at.folder);
  const { zone } = ward;
  const figures = figuresIn(options.figures);
  const log = readWardLog(readText(at.log));
  if (isRefusal(log)) throw new RefusalError(log);
  if (log.lines.length === 0)
    throw new RefusalError(
      refuse('estimate/nothing-in-it', {
        asked: 'Ward log',
        found: 'no line in it',
        allowed: 'at least one entry',
        todo: 'Check the file.',
      }),
    );
  if (options.queries !== undefined && options.csv !== undefined) {
    const rows = answerQueries(log, readText(options.queries), zone, figures);
    if (isRefusal(rows)) throw new RefusalError(rows);
    writeOut(options.csv, `${rows.join('\n')}\n`, '--csv');
    if (options.json === true) console.log(JSON.stringify({ answered: rows.length - 1, csv: options.csv }));
    else console.log(`${rows.length - 1} answers written to ${options.csv}`);
    return 0;
  }
  const lastMs = log.lines.reduce((latest, line) => Math.max(latest, line.recordedAtMs), 0);
  const atMs = options.at === undefined ? lastMs : readInstant(options.at);
  const problem = isRefusal(atMs)
    ? atMs
    : options.patient !== undefined && !patientsOf(log).includes(options.patient)
      ? refuse('estimate/no-such-patient', {
          asked: 'Patient',
          found: 'no entry for that patient',
          allowed: 'a patient of this log',
          todo: 'Check the identifier.',
        })
      : undefined;
  if (problem !== undefined) throw new RefusalError(problem);
  const instant = orThrow(atMs);
  const wanted =
    options.patient === undefined
      ? patientsOf(log).filter((patient) => knownAt(log, instant, patient).length > 0)
      : [options.patient];
  if (options.reconstruct === true) {
    const json = options.json === true;
    console.log(
      reconstructedAnswer({ log, patients: wanted, atMs: instant }, { ward: ward.ward, zone, json }),
    );
    return 0;
  }
  const answers = wanted.map((patient) => estimateOf(log, patient, instant, figures));
  if (rate !== undefined) {
    const refused = answers.map((answer) => plainOf(answer, rate)).find(isRefusal);
    if (refused !== undefined) {
      console.error(refusalSentence(refused));
      return 3;
    }
  }
  if (options.json === true) {
    console.log(
      JSON.stringify(
        {
          at: instantInZone(instant, zone),
          ward: ward.ward,
          estimates: answers.map((answer) => jsonOf(answer, ward.ward, instant, zone, rate)),
        },
        undefined,
        1,
      ),
    );
  } else {
    console.log(`Known at ${instantInZone(instant, zone)}. It advises; the clinician decides.`);
    for (const answer of answers) console.log(wordsOf(answer, zone, rate));
  }
  return 0;
}

/** The `estimate` verb. */
export function estimateCommand(): Command {
  return new Command('estimate')
    .description('what each bladder holds at an instant, how sure that is, and when it passes the limit')
    .argument(
      '<log>',
      'ward log in wardlog-1 (a file, or a folder with log.ndjson); ward.json beside it gives the time zone',
    )
    .option(
      '--at <instant>',
      'instant with offset; only entries recorded by then are used (default: the last entry)',
    )
    .option('--patient <id>', 'only this patient')
    .option('--rate <low-high>', 'a filling rate in mL/h, for plain arithmetic beside the model')
    .option('--queries <file>', 'CSV with the header ward,patient,at')
    .option('--csv <out>', 'where the answers to --queries go')
    .option(
      '--reconstruct',
      'each time somebody was found over the limit: since when, for how long and by how much they probably were',
    )
    .option('--figures <file>', "the unit's own starting figures, as `figures` wrote them")
    .option('--json', 'one JSON value instead of words')
    .addHelpText(
      'after',
      '\nExample:\n  npx ebbline estimate examples/ward/log.ndjson --at 2026-10-22T15:00:00+02:00 --rate 100-200\n',
    )
    .action((log: string, options: EstimateOptions) => answer(() => run(log, options)));
}
