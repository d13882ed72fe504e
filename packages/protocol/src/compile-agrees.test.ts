// Proves     a compiled table answers as the FEEL engine does: row by row and value by value, refusals included, on
//            10,000 seeded pairs of table and patient; on 100,000 with EBBLINE_LONG=1.
// Compared   with @bpmn-io/feelin, an independent FEEL engine, through the reader's own runner. Tolerance exact.
import { isRefusal, orThrow, type RandomSource } from '@ebbline/core/quantity';
import { expect, it } from 'vitest';
import { answerDecision } from './answer-decision.ts';
import { answerTable, compileTable, type Scalar } from './compile-table.ts';
import { dictionary, type InputName } from './dictionary.ts';
import { loadFeel } from './load-feel.ts';
import type { DmnDecision, DmnModel, Feel } from './model.ts';
import { seeded } from './testing/patients.ts';

const pairs = process.env['EBBLINE_LONG'] === '1' ? 100_000 : 10_000;
const names: readonly InputName[] = [
  'volumeMl',
  'residualMl',
  'limitMl',
  'trigger',
  'trust',
  'overLimit',
  'discomfort',
  'lowResidualsInARow',
];
const edges = [0, 0.5, 1, 99, 100, 149.9, 250, 400, 400.5, 600, 1999];

function cellOf(random: RandomSource, name: InputName): string {
  const entry = dictionary[name];
  if (random.next() < 0.25) return '-';
  if (entry.kind === 'flag') return random.pick(['true', 'false']);
  if (entry.kind === 'choice') {
    const words = Array.from({ length: 1 + random.below(2) }, () => `"${random.pick(entry.options ?? [])}"`);
    return random.next() < 0.3 ? `not(${words.join(', ')})` : words.join(', ');
  }
  const [low, high] = [random.pick(edges), random.pick(edges)].sort((a, b) => a - b) as [number, number];
  const piece = random.pick([
    `${random.pick(['<', '<=', '>', '>='])} ${low}`,
    `${random.pick(['[', '(', ']'])}${low}..${high}${random.pick([']', ')', '['])}`,
    String(low),
  ]);
  return entry.optional && random.next() < 0.3 ? `null, ${piece}` : piece;
}

function valueOf(random: RandomSource, name: InputName): Scalar {
  const entry = dictionary[name];
  if (entry.optional && random.next() < 0.2) return null;
  if (entry.kind === 'flag') return random.next() < 0.5;
  if (entry.kind === 'choice') return random.pick(entry.options ?? []);
  return random.pick(edges) + random.pick([0, 0, 0.001, 1]);
}

function modelOf(random: RandomSource, feel: Feel): DmnModel {
  const inputs = names.filter(() => random.next() < 0.35);
  const asked = inputs.length > 0 ? inputs : (['volumeMl'] as const);
  const decision: DmnDecision = {
    id: 'd',
    name: 'Answer',
    needsDecisions: [],
    needsInputs: asked,
    logic: {
      kind: 'table',
      hitPolicy: random.pick(['UNIQUE', 'FIRST'] as const),
      inputs: asked.map((name) => ({ label: name, expression: name })),
      outputs: [{ name: 'step' }, { name: 'dueInMin' }],
      rows: Array.from({ length: 1 + random.below(4) }, (_, index) => ({
        id: `r${index + 1}`,
        tests: asked.map((name) => cellOf(random, name)),
        values: [random.pick(['"wait"', '"a, b"', 'null', 'true']), random.pick(['0', '90', '-1.5'])],
      })),
    },
  };
  return {
    id: 'm',
    name: 'Made up',
    decisions: [decision],
    inputs: asked.map((name) => ({ id: name, name })),
    types: [],
    protocol: undefined,
    feel,
  };
}

it(`agrees on ${pairs} pairs of table and patient`, { timeout: 600_000 }, async () => {
  const feel = await loadFeel();
  const random = seeded(105);
  let answered = 0;
  for (let count = 0; count < pairs; count += 1) {
    const model = modelOf(random, feel);
    const table = orThrow(compileTable(model.decisions[0] as DmnDecision));
    const patient = Object.fromEntries(
      model.inputs.map(({ name }) => [name, valueOf(random, name as InputName)]),
    );
    const fast = answerTable(table, patient);
    const slow = answerDecision(model, 'Answer', patient);
    expect(
      isRefusal(fast) ? fast.code : [fast.values, [fast.rowId]],
      JSON.stringify({ table, patient }),
    ).toEqual(isRefusal(slow) ? slow.code : [slow.value, slow.rows]);
    if (!isRefusal(fast)) answered += 1;
  }
  expect(answered / pairs).toBeGreaterThan(0.2);
  expect(answered / pairs).toBeLessThan(0.9);
});
