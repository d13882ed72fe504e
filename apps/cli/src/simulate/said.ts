/** What `ebbline simulate` found, as a table, as sentences, and as CSV. */
import { writeCell } from '@ebbline/interop/csv';
import { measureNames, type Measures } from '@ebbline/simulate';
import type { Job, PatientResult } from './measure.ts';
import type { CurveComparison } from './curves.ts';
import type { Interval, Summary } from './summary.ts';

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

const percent = (one: Interval): string =>
  `${one.mean.toFixed(0)} % (${one.low.toFixed(0)} to ${one.high.toFixed(0)} %)`;

/** Ours against the best simple rule, in words; empty when nothing can be compared. */
export function sentencesOf(comparisons: readonly CurveComparison[]): string {
  if (comparisons.length === 0) return '';
  return [
    'Against the best simple rule at each number of looks, each rule along its own curve. Fewer is better; below 0 is more.',
    ...comparisons.flatMap((one) => [
      `${one.looks.toFixed(1)} looks: ${one.best} ${one.bestHours.toFixed(2)} h over the limit, ${one.ours} ${one.oursHours.toFixed(2)} h; fewer hours ${percent(one.fewerHours)}`,
      one.atEqualHours === undefined
        ? `  at ${one.bestHours.toFixed(2)} h over the limit: ${one.ours} does not reach there`
        : `  at ${one.bestHours.toFixed(2)} h over the limit: the best simple rule ${one.atEqualHours.bestLooks.toFixed(1)} looks, ${one.ours} ${one.atEqualHours.oursLooks.toFixed(1)}; fewer looks ${percent(one.atEqualHours.fewerLooks)}`,
    ]),
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
