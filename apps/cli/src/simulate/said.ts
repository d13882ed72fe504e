/** What `ebbline simulate` found, as a table, as sentences, and as CSV. */
import { writeCell } from '@ebbline/interop/csv';
import { measureNames, type Job, type Measures, type PatientResult } from './measure.ts';
import { hardestRule, type Comparison, type Interval, type Summary } from './summary.ts';

const columns: Readonly<Record<keyof Measures, { readonly head: string; readonly digits: number }>> = {
  hoursOverLimit: { head: 'hours over limit', digits: 2 },
  worstMl: { head: 'worst mL', digits: 0 },
  looks: { head: 'looks', digits: 1 },
  catheterisations: { head: 'catheterised', digits: 2 },
  needless: { head: 'needless', digits: 2 },
  woken: { head: 'woken', digits: 1 },
};

const withBounds = (one: Interval, digits: number): string =>
  `${one.mean.toFixed(digits)} (${one.low.toFixed(digits)} to ${one.high.toFixed(digits)})`;

export function tableOf(summary: Summary): string {
  const rows = [
    ['for each patient', ...measureNames.map((name) => columns[name].head)],
    ...summary.strategies.map((one) => [
      one.name,
      ...measureNames.map((name) => withBounds(one.measures[name], columns[name].digits)),
    ]),
  ];
  const widths = (rows[0] ?? []).map((_, place) => Math.max(...rows.map((row) => (row[place] ?? '').length)));
  return rows
    .map((row) =>
      row
        .map((cell, place) => (place === 0 ? cell.padEnd(widths[0] ?? 0) : cell.padStart(widths[place] ?? 0)))
        .join('  '),
    )
    .join('\n');
}

/** Whether an interval of a difference leaves the sign open. */
const verdict = (difference: Interval, less: string, more: string): string =>
  difference.high < 0 ? less : difference.low > 0 ? more : 'no clear difference';

function equalLooks(one: Comparison): string {
  if (one.atEqualLooks === undefined)
    return `  at equal looks (${one.looks.toFixed(1)}): our tolerances do not reach there`;
  const { oursHours, difference } = one.atEqualLooks;
  return `  at equal looks (${one.looks.toFixed(1)}): ours ${oursHours.toFixed(2)} h over the limit, the rule ${one.hoursOverLimit.toFixed(2)} h; difference ${withBounds(difference, 2)} h: ${verdict(difference, 'ours less', 'ours more')}`;
}

function equalHours(one: Comparison): string {
  if (one.atEqualHours === undefined)
    return `  at equal hours over the limit (${one.hoursOverLimit.toFixed(2)}): our tolerances do not reach there`;
  const { oursLooks, difference } = one.atEqualHours;
  return `  at equal hours over the limit (${one.hoursOverLimit.toFixed(2)}): ours ${oursLooks.toFixed(1)} looks, the rule ${one.looks.toFixed(1)}; difference ${withBounds(difference, 1)}: ${verdict(difference, 'ours fewer', 'ours more')}`;
}

export function sentencesOf(summary: Summary): string {
  if (summary.comparisons.length === 0) return '';
  const hardest = hardestRule(summary.comparisons);
  const told = summary.comparisons.flatMap((one) => [`${one.rule}:`, equalLooks(one), equalHours(one)]);
  return [
    'Ours, between its tolerances by straight lines, against each simple rule:',
    ...told,
    hardest === undefined
      ? 'No simple rule lies within the span of our tolerances.'
      : `The best simple rule at equal looks is ${hardest.rule}.\n${equalLooks(hardest).trim()}\n${equalHours(hardest).trim()}`,
  ].join('\n');
}

/** One row for each patient and strategy. */
export function csvOf(job: Job, results: readonly PatientResult[]): string {
  const rows = results
    .toSorted((a, b) => a.index - b.index)
    .flatMap((result) =>
      job.strategies.map((name, place) =>
        [
          job.generator,
          String(job.seed),
          result.patient,
          name,
          ...measureNames.map((measure) => {
            const value = result.measures[place]?.[measure] ?? Number.NaN;
            return String(Math.round(value * 1000) / 1000);
          }),
        ]
          .map(writeCell)
          .join(','),
      ),
    );
  return [
    'generator,seed,patient,strategy,hours_over_limit,worst_ml,looks,catheterisations,needless,woken',
    ...rows,
    '',
  ].join('\n');
}
