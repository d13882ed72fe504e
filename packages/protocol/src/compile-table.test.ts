// Proves     a compiled table answers as the FEEL engine does: cell by cell over every cell of the starter files and
//            seeded random cells, and whole protocols over seeded random patients; and refuses what it cannot compile.
// Compared   with @bpmn-io/feelin, an independent FEEL engine. Tolerance exact.
import { readFileSync } from 'node:fs';
import { isRefusal, orThrow, type Refusal } from '@ebbline/core/quantity';
import { beforeAll, describe, expect, it } from 'vitest';
import { answerDecision } from './answer-decision.ts';
import {
  compileTest,
  compileTable,
  answerTable,
  testHolds,
  type CompiledTest,
  type Scalar,
} from './compile-table.ts';
import { loadFeel } from './load-feel.ts';
import type { DmnModel, Feel } from './model.ts';
import { readDmn } from './read-dmn.ts';
import { starterProtocols } from './starters.ts';
import { edgeVolumesMl, randomPatient, seeded } from './testing/patients.ts';

const models = new Map<string, DmnModel>();
let feel: Feel;
beforeAll(async () => {
  feel = await loadFeel();
  for (const { id } of starterProtocols)
    models.set(
      id,
      orThrow(await readDmn(readFileSync(new URL(`starter/${id}.dmn`, import.meta.url), 'utf8'))),
    );
});

const values: readonly Scalar[] = [
  null,
  true,
  false,
  '',
  'a',
  'b',
  'none',
  'reading',
  'drained',
  'unreliable',
  'adult',
  -1,
  0.5,
  1,
  2,
  3,
  ...edgeVolumesMl,
];
/** A range is put only to numbers and to a missing value: the engine turns other values into numbers, the standard does not; inputs are typed before, see below. */
const comparable = (cell: string, value: Scalar): boolean =>
  typeof value === 'number' || value === null || !/[<>]|\.\./.test(cell);
const differs = (cell: string, value: Scalar): boolean =>
  comparable(cell, value) &&
  testHolds(compileTest(cell) as CompiledTest, value) !== feel.unaryTest(cell, value, {});

describe('a compiled cell', () => {
  it('of the starter files holds exactly when the FEEL engine says so', () => {
    const cells = new Set<string>();
    for (const model of models.values())
      for (const { logic } of model.decisions)
        if (logic.kind === 'table')
          for (const row of logic.rows) for (const test of row.tests) cells.add(test);
    let compared = 0;
    for (const cell of cells)
      for (const value of values) {
        if (differs(cell, value)) expect.fail(`${cell} with ${JSON.stringify(value)}`);
        compared += 1;
      }
    expect(cells.size).toBeGreaterThan(60);
    expect(compared).toBeGreaterThan(2000);
  });

  it('made at random holds exactly when the FEEL engine says so', () => {
    const random = seeded(42);
    const number = (): number => random.pick([-5, 0, 1, 1.5, 2, 99, 100, 250, 400, 400.5]);
    const piece = (): string => {
      const [low, high] = [number(), number()].sort((a, b) => a - b) as [number, number];
      return random.pick([
        `${random.pick(['<', '<=', '>', '>='])} ${low}`,
        `${random.pick(['[', '(', ']'])}${low}..${high}${random.pick([']', ')', '['])}`,
        String(low),
        '"a"',
        '"b, c"',
        'true',
        'false',
        'null',
      ]);
    };
    const probes: readonly Scalar[] = [...values, -5, 1.5, 400.5, 'b, c'];
    for (let count = 0; count < 3000; count += 1) {
      const cell =
        random.next() < 0.15
          ? 'not("a", "b, c")'
          : Array.from({ length: 1 + random.below(3) }, piece).join(', ');
      const value = random.pick(probes);
      if (isRefusal(compileTest(cell))) expect.fail(cell);
      if (differs(cell, value)) expect.fail(`${cell} with ${JSON.stringify(value)}`);
    }
  });

  it('of a range of numbers holds for no text, no yes or no and no missing value', () => {
    for (const value of [true, false, null, '', '5', 'a'])
      expect(testHolds(compileTest('[0..10], > 20') as CompiledTest, value)).toBe(false);
  });

  it.each([
    'date("2026-05-14")',
    '> limitMl',
    'not(> 3)',
    'not(null)',
    '? + 1 > 3',
    '[5..1]',
    '"a',
    '1..2',
    '> "a"',
  ])('%s is refused, not guessed', (cell) => {
    expect((compileTest(cell) as Refusal).code).toBe('protocol/not-compilable');
  });
});

describe('a compiled protocol', () => {
  it.each(starterProtocols.map((one) => [one.id, one] as const))(
    '%s answers seeded patients as the FEEL engine does, value by value and row by row',
    (id, protocol) => {
      const random = seeded(id.length);
      const model = models.get(id) as DmnModel;
      const inputs = new Set(model.inputs.map((input) => input.name));
      for (let count = 0; count < 120; count += 1) {
        const adult = randomPatient(random, protocol.settings[0] as never);
        const patient = protocol.ageBands.includes('child') ? { ...adult, ageBand: 'child' as const } : adult;
        const context: Record<string, unknown> = { ...patient };
        for (const table of protocol.tables) {
          const compiled = answerTable(table, context);
          const [only] = table.outputs;
          if (!isRefusal(compiled) && table.outputs.length === 1 && only !== undefined)
            context[table.decision] = compiled.values[only];
          if (table.decision !== 'Advice') continue;
          const slow = answerDecision(
            model,
            'Advice',
            Object.fromEntries(Object.entries(patient).filter(([name]) => inputs.has(name))),
          );
          const fast = isRefusal(compiled)
            ? compiled.code
            : { value: compiled.values, rows: [compiled.rowId] };
          expect(fast, JSON.stringify(patient)).toEqual(
            isRefusal(slow) ? slow.code : { value: slow.value, rows: slow.rows },
          );
        }
      }
    },
  );
});

describe('answering a compiled table', () => {
  const table = (hitPolicy: 'UNIQUE' | 'FIRST'): ReturnType<typeof compileTable> =>
    compileTable({
      id: 'd',
      name: 'd',
      needsDecisions: [],
      needsInputs: [],
      logic: {
        kind: 'table',
        hitPolicy,
        inputs: [{ label: 'volumeMl', expression: 'volumeMl' }],
        outputs: [{}],
        rows: [
          { id: 'one', tests: ['[100..400]'], values: ['"low"'] },
          { id: 'two', tests: ['[400..600]'], values: ['"high"'] },
        ],
      },
    });
  const ask = (hitPolicy: 'UNIQUE' | 'FIRST', volumeMl: number): string => {
    const answer = answerTable(orThrow(table(hitPolicy)), { volumeMl });
    return isRefusal(answer) ? answer.code : answer.rowId;
  };
  it('refuses two rows at exactly 400 mL under UNIQUE, as the published bands give it to two arms', () => {
    expect([ask('UNIQUE', 399), ask('UNIQUE', 400), ask('UNIQUE', 401), ask('UNIQUE', 99)]).toEqual([
      'one',
      'protocol/two-rows',
      'two',
      'protocol/no-row',
    ]);
  });
  it('takes the first row under FIRST', () => expect(ask('FIRST', 400)).toBe('one'));
});
