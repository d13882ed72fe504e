/**
 * What the estimate knows of a bladder at instants at random, from nothing but what stood in the chart by then: how often
 * its 90 % intervals hold, and how good its chances of being over the limit are beside those of somebody who knows the
 * generator by heart. Patients are looked at every four hours and drained at the limit.
 *
 *     node bench/intervals.ts [--patients 150] [--particles 8000] [--history 140] [--seed 11] [--figures FOLDER]
 *
 * Peer      the first generator's own true model (packages/simulate/src/ward/true-model), from the same entries
 * Aim       90 % intervals hold 88 to 92 % on the first generator and at least 85 % on the other; Brier score of "over the
 *           limit now" at most 1.02 of the true model's; with figures fitted to finished watches of another seed
 */
import { parseArgs } from 'node:util';
import { estimateOfLines } from '../apps/cli/src/simulate/next-look.ts';
import type { UnitFactors } from '../packages/core/src/filling/index.ts';
import { orThrow } from '../packages/core/src/quantity/index.ts';
import { clopperPearsonInterval } from '../packages/core/src/statistics/index.ts';
import { otherPatient, watchedPatient, type PatientGenerator } from '../packages/simulate/src/index.ts';
import { looksEvery, questionsOf, type AskedAt } from '../packages/simulate/src/ward/testing/questions.ts';
import { answerOf, followTruth } from '../packages/simulate/src/ward/true-model/filter.ts';
import { ownFigures } from './ward/own-figures.ts';

const { values } = parseArgs({
  options: {
    patients: { type: 'string', default: '150' },
    particles: { type: 'string', default: '8000' },
    history: { type: 'string', default: '140' },
    seed: { type: 'string', default: '11' },
    figures: { type: 'string' },
  },
});
const patients = Number(values.patients);
const particles = Number(values.particles);
const history = Number(values.history);
const seed = Number(values.seed);
const perPatient = 3;

interface Scored {
  readonly trueMl: number;
  readonly limitMl: number;
  readonly lowMl: number;
  readonly middleMl: number;
  readonly highMl: number;
  readonly over: number;
}
/** Undefined where ours says that no estimate is valid: such a question counts for nobody. */
type Answers = readonly (Scored | undefined)[];

const asked = (generate: PatientGenerator, looksChartedAtOnce = true): readonly AskedAt[] => [
  ...questionsOf({
    generate,
    seed,
    patients,
    hours: 24,
    perPatient,
    staff: looksEvery(4),
    looksChartedAtOnce,
  }),
];

const ours = (questions: readonly AskedAt[], factors?: UnitFactors): Answers =>
  questions.map(({ known, nowMs, trueMl, limitMl }) => {
    const said = estimateOfLines(known, nowMs, factors);
    if (said === undefined) return undefined;
    const { p05Ml, p50Ml, p95Ml } = said.content;
    return {
      trueMl,
      limitMl,
      lowMl: p05Ml,
      middleMl: p50Ml,
      highMl: p95Ml,
      over: said.overLimitProbability,
    };
  });

const byHeart = (questions: readonly AskedAt[], counting: Answers): Answers =>
  questions.map(({ course, nowMs, trueMl, limitMl }, place) => {
    if (counting[place] === undefined) return undefined;
    if (process.stderr.isTTY) process.stderr.write(`\r${place} of ${questions.length} `);
    const { p05Ml, p50Ml, p95Ml, overLimitProbability } = answerOf(
      followTruth({
        lines: course.lines,
        opensAtMs: course.truth.opensAtMs,
        nowMs,
        lookAtMs: course.truth.readings.map((one) => one.atMs),
        particles,
        seed: seed + place,
      }),
    );
    return {
      trueMl,
      limitMl,
      lowMl: p05Ml,
      middleMl: p50Ml,
      highMl: p95Ml,
      over: overLimitProbability,
    };
  });

const mean = (all: readonly number[]): number => all.reduce((sum, one) => sum + one, 0) / all.length;
const wasOver = ({ trueMl, limitMl }: Scored): number => (trueMl > limitMl ? 1 : 0);

interface Row {
  readonly coverage: number;
  readonly brier: number;
}

function row(name: string, answers: Answers): Row {
  const all = answers.filter((one) => one !== undefined);
  const held = all.filter(({ lowMl, highMl, trueMl }) => trueMl >= lowMl && trueMl <= highMl).length;
  const bounds = orThrow(clopperPearsonInterval(held, all.length));
  const found = {
    coverage: held / all.length,
    brier: mean(all.map((one) => (one.over - wasOver(one)) ** 2)),
  };
  const percent = (share: number): string => (100 * share).toFixed(1);
  console.log(
    [
      name.padEnd(50),
      String(all.length).padStart(6),
      `${percent(found.coverage)} (${percent(bounds.low)} to ${percent(bounds.high)})`.padStart(22),
      mean(all.map(({ lowMl, highMl }) => highMl - lowMl))
        .toFixed(0)
        .padStart(6),
      mean(all.map(({ middleMl, trueMl }) => Math.abs(middleMl - trueMl)))
        .toFixed(1)
        .padStart(7),
      found.brier.toFixed(4).padStart(7),
      mean(all.map(({ over }) => over))
        .toFixed(3)
        .padStart(6),
      mean(all.map(wasOver)).toFixed(3).padStart(6),
    ].join(' '),
  );
  return found;
}

const [own, other] = [asked(watchedPatient), asked(otherPatient)];
const [ownFactors, otherFactors] = ['own', 'other'].map((name) => ownFigures(name, history, values.figures));
console.log(
  `${patients} patients of each generator, seed ${seed}, ${perPatient} instants each; fitted: to ${history} finished watches of another seed`,
);
console.log(
  `${''.padEnd(50)} ${'asked'.padStart(6)} ${'90 % hold, %'.padStart(22)} ${'mL'.padStart(6)} ${'error'.padStart(7)} ${'Brier'.padStart(7)} ${'said'.padStart(6)} ${'was'.padStart(6)}`,
);
const started = ours(own);
const rows = {
  start: row('first generator, starting figures', started),
  late: row('first generator, starting, looks charted late', ours(asked(watchedPatient, false))),
  fitted: row('first generator, fitted', ours(own, ownFactors)),
  lateFitted: row(
    'first generator, fitted, looks charted late',
    ours(asked(watchedPatient, false), ownFactors),
  ),
  truth: row(`first generator, by heart, ${particles} particles`, byHeart(own, started)),
  other: row('other physics, starting figures', ours(other)),
  otherFitted: row('other physics, fitted', ours(other, otherFactors)),
};
const ratio = (one: Row): number => one.brier / rows.truth.brier;
console.log(
  `Brier beside the true model's: starting ${ratio(rows.start).toFixed(2)}, fitted ${ratio(rows.fitted).toFixed(2)} (aim at most 1.02)`,
);
const holds =
  rows.fitted.coverage >= 0.88 && rows.fitted.coverage <= 0.92 && rows.otherFitted.coverage >= 0.85;
console.log(`Intervals with fitted figures: ${holds ? 'within' : 'outside'} the aim`);
if (!(holds && ratio(rows.fitted) <= 1.02)) process.exitCode = 1;
