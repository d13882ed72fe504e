/**
 * A protocol proved and a patient answered. Proof: a table of 60 rows by 4 inputs beside trying every patient of it,
 * and 500 rows by 12 inputs, with and without a planted gap, which nobody can try through. Answer: a starter in
 * compiled form beside the FEEL engine on the same file, the same patients, in one process, alternately.
 *
 *     node bench/proof.ts [rounds]
 *
 * Peer      brute force (every patient tried); @bpmn-io/feelin through the reader's own runner
 * Aim       500 rows proved in at most 500 ms; a patient answered in at most 0.2 ms (S-bench-proof)
 */
import { readFileSync } from 'node:fs';
import { isRefusal, orThrow, seededRandom } from '../packages/core/src/quantity/index.ts';
import {
  answerDecision,
  answerProtocol,
  proveTable,
  readDmn,
  starterFor,
  type CompiledTable,
  type InputName,
} from '../packages/protocol/src/index.ts';
import { piecesOf } from '../packages/protocol/src/input-space.ts';
import { everyone, tryTable } from '../packages/protocol/src/testing/brute-force.ts';
import { soundTable, twelveInputs, withGap } from '../packages/protocol/src/testing/made-up-tables.ts';
import { randomPatient } from '../packages/protocol/src/testing/patients.ts';

const rounds = Math.max(5, Math.min(40, Number(process.argv[2] ?? 9)));
const aimProofMs = 500;
const aimAnswerMs = 0.2;
const timed = (work: () => unknown): number => {
  const fromMs = performance.now();
  work();
  return performance.now() - fromMs;
};
const middle = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
const spread = (values: readonly number[]): string =>
  `${Math.min(...values).toPrecision(2)} to ${Math.max(...values).toPrecision(2)}`;

const fewInputs: readonly InputName[] = ['trigger', 'trust', 'overLimit', 'volumeMl'];
const peopleOf = (table: CompiledTable): ReturnType<typeof everyone> =>
  everyone(
    Object.fromEntries(
      table.inputs.map((name, column) => [
        name,
        piecesOf(
          name,
          table.rows.map((row) => row.tests[column] ?? 0),
        ),
      ]),
    ),
  );

const smallRatios: number[] = [];
const largeMs: number[] = [];
const holedMs: number[] = [];
for (let round = -1; round < rounds; round += 1) {
  const random = seededRandom(round + 50);
  const small = soundTable(random, 60, fewInputs, 2);
  const people = peopleOf(small);
  const tried = timed(() => {
    if (tryTable(small, people).gaps.size > 0) throw new Error('brute force finds a gap where there is none');
  });
  const proved = timed(() => {
    if (orThrow(proveTable(small)).gaps.length > 0)
      throw new Error('the proof finds a gap where there is none');
  });
  const large = soundTable(random, 500, twelveInputs, 4);
  const holed = withGap(random, large);
  const wholeMs = timed(() => {
    if (orThrow(proveTable(large)).gaps.length > 0) throw new Error('a gap in a sound table');
  });
  const gapMs = timed(() => {
    if (orThrow(proveTable(holed)).gaps.length === 0) throw new Error('the planted gap was not found');
  });
  // The first round warms both up.
  if (round < 0) continue;
  smallRatios.push(proved / tried);
  largeMs.push(wholeMs);
  holedMs.push(gapMs);
}

const starter = starterFor('after-surgery');
if (!starter) throw new Error('no starter');
const model = orThrow(
  await readDmn(
    readFileSync(new URL('../packages/protocol/src/starter/after-surgery.dmn', import.meta.url), 'utf8'),
  ),
);
const asked = new Set(model.inputs.map((input) => input.name));
const answerRatios: number[] = [];
const answerMs: number[] = [];
for (let round = -1; round < rounds; round += 1) {
  const random = seededRandom(round + 900);
  const patients = Array.from({ length: 60 }, () => ({
    ...randomPatient(random, 'after-surgery'),
    limitMl: 2000,
  }));
  const ours = timed(() => patients.forEach((patient) => answerProtocol(starter, patient)));
  const theirs = timed(() =>
    patients.forEach((patient) => {
      const input = Object.fromEntries(Object.entries(patient).filter(([name]) => asked.has(name)));
      if (isRefusal(answerDecision(model, 'Advice', input))) throw new Error('no answer by the engine');
    }),
  );
  if (round < 0) continue;
  answerRatios.push(ours / theirs);
  answerMs.push(ours / patients.length);
}

process.stdout.write(
  [
    `60 rows by 4 inputs proved in ${middle(smallRatios).toPrecision(2)} of the time of trying every patient (${spread(smallRatios)} over ${smallRatios.length} pairs)`,
    `500 rows by 12 inputs proved in ${middle(largeMs).toFixed(0)} ms (${spread(largeMs)}), with a planted gap in ${middle(holedMs).toFixed(0)} ms (${spread(holedMs)}); aim at most ${aimProofMs} ms`,
    `a patient answered in ${middle(answerMs).toFixed(4)} ms (aim at most ${aimAnswerMs}), ${middle(answerRatios).toPrecision(2)} of the FEEL engine's time (${spread(answerRatios)} over ${answerRatios.length} pairs)`,
    '',
  ].join('\n'),
);
if (!(Math.max(...largeMs, ...holedMs) <= aimProofMs && middle(answerMs) <= aimAnswerMs))
  process.exitCode = 1;
