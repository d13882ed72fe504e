// Proves     the map says what the protocol answers: for whole numbers over a fine raster, each patient's answer is that of the one
//            cell that holds it; a hole, two rows at a single number and a forbidden answer are shown where they are.
// Method     every starter, several pairs of inputs, seeded patients; the raster is not what the map is made from
// Tolerance  none
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { answerProtocol } from './answer-protocol.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { compileTest, testHolds, type CompiledTest } from './compile-table.ts';
import { dictionary, readInput, type InputName, type ProtocolInput } from './dictionary.ts';
import { wholePatient } from './reachable.ts';
import { starterProtocols } from './starters.ts';
import { stepMap, type MapCell, type StepMap } from './step-map.ts';

const surgery = starterProtocols.find((one) => one.id === 'after-surgery') as CompiledProtocol;
const withTest = (id: string, input: string, cell: string): CompiledProtocol => ({
  ...surgery,
  tables: surgery.tables.map((table) => ({
    ...table,
    rows: table.rows.map((row) =>
      row.id === id
        ? {
            ...row,
            tests: row.tests.map((old, at) =>
              table.inputs[at] === input ? (compileTest(cell) as CompiledTest) : old,
            ),
          }
        : row,
    ),
  })),
});

const holding = (map: StepMap, value: { across: never; down: never }): readonly MapCell[] =>
  map.rows.flatMap((row, at) =>
    testHolds(row.test, value.down)
      ? map.columns.flatMap((column, place) =>
          testHolds(column.test, value.across) ? [map.cells[at]?.[place] as MapCell] : [],
        )
      : [],
  );

/** Values to ask for: a raster of numbers, all words, and nothing. */
function raster(name: InputName): readonly unknown[] {
  const { kind, options, optional, min = 0, max = 0 } = dictionary[name];
  const nothing = optional ? [undefined] : [];
  if (kind === 'flag') return [false, true, ...nothing];
  if (kind === 'choice') return [...(options ?? []), ...nothing];
  const numbers = [
    0,
    1,
    2,
    19,
    20,
    99,
    99.5,
    100,
    101,
    179,
    180,
    249,
    249.9,
    250,
    251,
    359,
    360,
    399,
    400,
    400.1,
    401,
    499,
    500,
    501,
    550,
    600,
    700,
    max,
  ];
  return [...numbers.filter((one) => one >= min && one <= max), ...nothing];
}

describe('the map of steps over two inputs', () => {
  it('gives each patient of a fine raster the cell whose answer is theirs', () => {
    const random = seededRandom(11);
    const pairs = [
      ['volumeMl', 'residualMl'],
      ['volumeMl', 'trigger'],
      ['residualMl', 'lowResidualsInARow'],
      ['overLimit', 'trust'],
      ['limitMl', 'overLimit'],
    ] as const;
    let asked = 0;
    for (const protocol of starterProtocols)
      for (const [across, down] of pairs) {
        const patient = wholePatient(protocol, {
          volumeMl: 300,
          limitMl: random.pick([450, 500, 600]),
          trigger: random.pick(['reading', 'void', 'time'] as const),
          drainsSoFar: random.below(3),
        });
        const map = orThrow(stepMap(protocol, across, down, patient));
        for (const acrossValue of raster(across))
          for (const downValue of raster(down)) {
            const given = { ...patient, [across]: acrossValue, [down]: downValue } as ProtocolInput;
            const one = readInput({
              ...given,
              volumeKind: given.volumeMl === undefined ? 'missing' : 'exact',
            });
            if (isRefusal(one)) continue;
            const found = holding(map, {
              across: (acrossValue ?? null) as never,
              down: (downValue ?? null) as never,
            });
            expect(found, `${across} ${String(acrossValue)}, ${down} ${String(downValue)}`).toHaveLength(1);
            const answer = answerProtocol(protocol, one);
            if (isRefusal(answer)) expect.fail(answer.code);
            expect(found[0], JSON.stringify(given)).toMatchObject({
              kind: 'step',
              step: answer.step,
              rowId: answer.row.id,
            });
            asked += 1;
          }
      }
    expect(asked).toBeGreaterThan(5000);
  });

  const patient = wholePatient(surgery, { volumeMl: 300, limitMl: 500 });
  const across = (protocol: CompiledProtocol): readonly (readonly [string, MapCell])[] => {
    const map = orThrow(stepMap(protocol, 'volumeMl', 'discomfort', patient));
    return map.columns.map(({ test }, at) => [JSON.stringify(test), map.cells[0]?.[at] as MapCell]);
  };

  it('joins what is alike: a handful of bands, the limit among their ends', () => {
    expect(
      across(surgery).map(([test, cell]) => [test, cell.kind === 'step' ? cell.rowId : cell.kind]),
    ).toEqual([
      ['{"ranges":[{"to":250}]}', 'AS-31'],
      ['{"ranges":[{"from":250,"fromIn":true,"to":400,"toIn":true}]}', 'AS-32'],
      ['{"ranges":[{"from":400,"to":500}]}', 'AS-33'],
      ['{"ranges":[{"from":500,"fromIn":true}]}', 'AS-19'],
      ['{"in":[null]}', 'AS-13'],
    ]);
  });

  it('shows two rows at exactly 400 mL as a band of its own', () => {
    const doubled = across(withTest('AS-33', 'volumeMl', '>= 400'));
    expect(doubled).toContainEqual([
      '{"in":[400]}',
      { kind: 'overlap', decision: 'Advice', rows: ['AS-32', 'AS-33'] },
    ]);
  });

  it('shows a hole, and an answer that a law forbids', () => {
    expect(across(withTest('AS-32', 'volumeMl', '[300..400]'))).toContainEqual([
      '{"ranges":[{"from":250,"fromIn":true,"to":300}]}',
      { kind: 'hole', decision: 'Advice' },
    ]);
    const waits: CompiledProtocol = {
      ...surgery,
      tables: surgery.tables.map((table) => ({
        ...table,
        rows: table.rows.map((row) =>
          row.id === 'AS-19' ? { ...row, values: row.values.with(0, 'look-again') } : row,
        ),
      })),
    };
    expect(across(waits)).toContainEqual([
      '{"ranges":[{"from":500,"fromIn":true}]}',
      { kind: 'unsafe', rowId: 'AS-19', law: 'no waiting step at or above the limit' },
    ]);
  });

  it('is refused for one input twice, and for the volume beside the limit, which is no matter of boxes', () => {
    for (const [one, other] of [
      ['volumeMl', 'volumeMl'],
      ['volumeMl', 'limitMl'],
      ['limitMl', 'volumeMl'],
    ] as const) {
      const map = stepMap(surgery, one, other, patient);
      expect(isRefusal(map) && map.code).toBe('protocol/map-inputs');
    }
  });
});
