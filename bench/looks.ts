/**
 * Ways of deciding when to look next, each along its own curve, on the same made-up patients: ours with its starting
 * figures and with figures fitted to finished watches of another seed, beside simple rules; on the first generator also
 * beside somebody who knows it by heart and looks by the same rule as ours: what is there to be gained at all.
 *
 *     node bench/looks.ts [--patients 120] [--history 140] [--seed 2] [--truth 60] [--figures FOLDER] [--svg FOLDER]
 *
 * Peer      the best simple rule at each number of looks: every so many hours, a straight line through two readings,
 *           1 mL/kg/h from the last reading, and that less measured voids, with their figures varied
 * Aim       on both generators, at 8 looks a day: 40 % fewer hours over the limit, and at equal hours 25 % fewer looks
 */
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { parseArgs } from 'node:util';
import { compareCurves, type CurveComparison } from '../apps/cli/src/simulate/curves.ts';
import { figureOf } from '../apps/cli/src/simulate/figure.ts';
import { resultOf, type Job, type PatientResult } from '../apps/cli/src/simulate/measure.ts';
import { sentencesOf, tableOf } from '../apps/cli/src/simulate/said.ts';
import { strategyOf, usualStrategies, type Strategy } from '../apps/cli/src/simulate/strategies.ts';
import { summarise } from '../apps/cli/src/simulate/summary.ts';
import { orThrow } from '../packages/core/src/quantity/index.ts';
import { ownFigures } from './ward/own-figures.ts';
import { truthResults, truthStrategies } from './ward/truth-looks.ts';

const { values } = parseArgs({
  options: {
    patients: { type: 'string', default: '120' },
    history: { type: 'string', default: '140' },
    seed: { type: 'string', default: '2' },
    truth: { type: 'string', default: '60' },
    figures: { type: 'string' },
    svg: { type: 'string' },
    generators: { type: 'string', default: 'own,other' },
  },
});
const patients = Number(values.patients);
const hours = 24;
const seed = Number(values.seed);
const simple = usualStrategies.split(',').filter((name) => !/^(ours|chance)/.test(name));
const ours = ['ours-5', 'ours-10', 'ours-20', 'ours-35', 'ours-60'];
const chances = ['chance-4', 'chance-8', 'chance-15', 'chance-25', 'chance-40'];
/** Four lines of ours lie on one another: the plain one and the best are drawn. */
const notDrawn = new Set(['chance', 'ours, fitted']);
/** Looks at which the aims are held. */
const aimedLooks = 8;

const run = (job: Job, count: number): readonly PatientResult[] =>
  Array.from({ length: count }, (_, index) => {
    if (process.stderr.isTTY) process.stderr.write(`\r${index + 1} of ${count} patients `);
    return resultOf(job, index);
  });

/** Strategies of one run under other names, so that several runs stand beside each other. */
const named = (names: readonly string[], ending: string): readonly Strategy[] =>
  names.map((name) => {
    const one = orThrow(strategyOf(name));
    return { ...one, name: `${one.name}${ending}`, family: `${one.family}${ending}` };
  });

const joined = (...runs: readonly (readonly PatientResult[])[]): readonly PatientResult[] =>
  (runs[0] ?? []).map((first, place) => ({
    ...first,
    measures: runs.flatMap((one) => one[place]?.measures ?? []),
  }));

function say(title: string, comparisons: readonly CurveComparison[]): void {
  console.log(`\n${title}\n${sentencesOf(comparisons)}`);
}

let met = true;
for (const generator of values.generators.split(',')) {
  const job = { generator, seed, hours };
  const rules = run({ ...job, strategies: simple }, patients);
  const start = run({ ...job, strategies: [...ours, ...chances] }, patients);
  const factors = ownFigures(generator, Number(values.history), values.figures);
  const fitted =
    factors === undefined ? [] : run({ ...job, strategies: [...ours, ...chances], factors }, patients);
  const strategies = [
    ...named(simple, ''),
    ...named([...ours, ...chances], ''),
    ...(factors === undefined ? [] : named([...ours, ...chances], ', fitted')),
  ];
  const results = joined(rules, start, ...(factors === undefined ? [] : [fitted]));
  console.log(`\n— generator ${generator}, ${patients} patients, seed ${seed}`);
  const summary = summarise(results, strategies, seed);
  console.log(tableOf(summary));
  const comparisons = compareCurves(results, strategies, { seed, hours });
  say('Ours', comparisons);
  if (values.svg !== undefined)
    writeFileSync(
      path.join(values.svg, `looks-${generator}.svg`),
      figureOf(
        { ...summary, strategies: summary.strategies.filter((one) => !notDrawn.has(one.family)) },
        { generator, hours },
      ),
    );
  const best = comparisons.find((one) => one.looks === aimedLooks && one.ours === 'chance, fitted');
  met &&= (best?.fewerHours.mean ?? 0) >= 40 && (best?.atEqualHours?.fewerLooks.mean ?? 0) >= 25;
  const few = Math.min(patients, Number(values.truth));
  if (generator === 'own' && few > 1) {
    const known = truthResults({ seed, hours }, few);
    say(
      `Somebody who knows the generator by heart, ${few} patients`,
      compareCurves(joined(rules.slice(0, few), known), [...named(simple, ''), ...truthStrategies], {
        seed,
        hours,
      }),
    );
  }
}
if (!met) process.exitCode = 1;
