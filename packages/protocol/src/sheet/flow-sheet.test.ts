// Proves     a printed sheet says what the tables answer: every row of the last table once, with its step, due time, owner and
//            sources; conditions that are left out, because a line above has settled them, change no answer.
// Method     20,000 seeded patients for each table of each starter: read from the top as the sheet is, against the table itself.
// Tolerance  none
import { isRefusal, seededRandom } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { answerTable, testHolds, type CompiledTable, type Scalar } from '../compile-table.ts';
import type { CompiledProtocol } from '../compile-protocol.ts';
import { starterProtocols } from '../starters.ts';
import { conditionWords, rowWords } from './condition-words.ts';
import { dueWords, flowSheet, settledAbove } from './flow-sheet.ts';
import { sheetTables } from './sheet-tables.ts';
import { shortRows, tableSpace, type ShortRow } from './shorten.ts';

const starters = starterProtocols.map((one) => [one.id, one] as const);
const linesOf = (protocol: CompiledProtocol) => {
  const sheet = flowSheet(protocol);
  return [...sheet.first, ...sheet.steps.flatMap((group) => group.lines)];
};

/** Read from the top: the answer of the first line of which every condition holds. */
const readFromTop = (
  table: CompiledTable,
  rows: readonly ShortRow[],
  patient: Readonly<Record<string, Scalar>>,
): Scalar | undefined =>
  rows.find((row) =>
    table.inputs.every((name, column) => testHolds(row.tests[column] ?? 0, patient[name] ?? null)),
  )?.answer;

describe('the flow sheet of a starter', () => {
  it.each(starters)('%s: holds every row of the last table once, with what it says', (_id, protocol) => {
    const lines = linesOf(protocol);
    const table = protocol.tables.at(-1) as CompiledTable;
    expect(lines.map((one) => one.rowId).sort()).toEqual(table.rows.map((row) => row.id).sort());
    for (const row of table.rows) {
      const line = lines.find((one) => one.rowId === row.id);
      const value = (name: string): Scalar => row.values[table.outputs.indexOf(name)] ?? null;
      expect(line?.step, row.id).not.toBe('');
      expect(line?.due, row.id).toBe(dueWords(Number(value('dueInMin')), value('noLaterThanMin')));
      expect(line?.owner, row.id).not.toBe('');
      expect(line?.sources, row.id).toBe(value('sourceId'));
    }
  });

  it.each(starters)('%s: a condition is left out only where no answer changes', (_id, protocol) => {
    const random = seededRandom(41);
    for (const table of protocol.tables.slice(0, -1)) {
      const rows = shortRows(protocol, table, settledAbove);
      const space = tableSpace(protocol, table);
      for (let turn = 0; turn < 20_000; turn += 1) {
        const patient = Object.fromEntries(
          space.names.map((name, input) => {
            const values = space.values[input] ?? [];
            return [name, values[random.below(values.length)] ?? null];
          }),
        );
        const answer = answerTable(table, patient);
        if (isRefusal(answer)) continue; // Only what the chain makes impossible: the proof covers the rest.
        const said = readFromTop(table, rows, patient);
        if (said !== answer.values[table.outputs[0] ?? ''])
          expect.fail(`${table.decision}: ${String(said)} for ${JSON.stringify(patient)}`);
      }
    }
  });

  it('leaves something out: a sheet that repeats every condition is not read', () => {
    for (const protocol of starterProtocols) {
      const [first] = protocol.tables as [CompiledTable];
      const conditions = (rows: readonly { readonly tests: readonly unknown[] }[]): number =>
        rows.reduce((sum, row) => sum + row.tests.filter((test) => test !== 0).length, 0);
      expect(conditions(shortRows(protocol, first, settledAbove))).toBeLessThan(conditions(first.rows) / 2);
    }
  });

  it('keeps "no catheter in" where the line with a catheter comes only after it', () => {
    const lines = linesOf(starterProtocols.find((one) => one.id === 'after-surgery') as CompiledProtocol);
    const when = (id: string): string | undefined => lines.find((one) => one.rowId === id)?.when;
    expect(when('AS-07')).toBe('in discomfort, no catheter in');
    expect(when('AS-08')).toBe('in discomfort, a catheter is in');
    expect(when('AS-32')).toBe('just read, volume 250 to 400 mL, no residual known');
    expect(when('AS-33')).toBe('just read, volume above 400 mL, no residual known');
  });
});

describe('the tables of a starter', () => {
  it.each(starters)('%s: every row stands there with every answer', (_id, protocol) => {
    const tables = sheetTables(protocol);
    for (const [index, table] of protocol.tables.entries()) {
      expect(tables[index]?.rows.map(([id]) => id)).toEqual(table.rows.map((row) => row.id));
      for (const [at, row] of table.rows.entries()) {
        const cells = tables[index]?.rows[at] ?? [];
        expect(cells).toHaveLength(table.outputs.length + 2);
        for (const [column, value] of row.values.entries())
          expect(cells[column + 2] === '', `${row.id} ${table.outputs[column] ?? ''}`).toBe(value === null);
      }
    }
  });
});

describe('a condition in words', () => {
  it('says ends of a range so that 400 belongs to one line only', () => {
    expect(conditionWords('volumeMl', { ranges: [{ from: 250, fromIn: true, to: 400, toIn: true }] })).toBe(
      'volume 250 to 400 mL',
    );
    expect(conditionWords('volumeMl', { ranges: [{ from: 250, to: 400 }] })).toBe(
      'volume above 250 to under 400 mL',
    );
    expect(conditionWords('volumeMl', { ranges: [{ from: 400 }] })).toBe('volume above 400 mL');
    expect(conditionWords('residualMl', { in: [null], ranges: [{ to: 100 }] })).toBe(
      'residual under 100 mL or not known',
    );
    expect(conditionWords('residualMl', { in: [null] })).toBe('no residual known');
  });
  it('counts in whole numbers', () => {
    expect(conditionWords('drainsSoFar', { ranges: [{ to: 2 }] })).toBe('at most 1 drains so far');
    expect(conditionWords('voidsSoFar', { ranges: [{ to: 1 }] })).toBe('no measured voids so far');
  });
  it('takes the shorter of two lists of words, and names answers of earlier tables plainly', () => {
    expect(
      conditionWords('trigger', { in: ['reading', 'void', 'drained', 'catheter-removed', 'symptom'] }),
    ).toBe('unless the watch has just begun or a look is due');
    expect(conditionWords('Limit', { in: ['near', 'over'] })).toBe(
      'near the limit or at the limit, may be drained',
    );
    expect(rowWords(['Danger', 'trigger'], [{ in: ['none'] }, 0])).toBe('no danger');
    expect(conditionWords('volumeMl', 0)).toBe('');
  });
  it('says hours of what is long, and only when every end is whole', () => {
    expect(conditionWords('sinceCatheterOutMin', { in: [null], ranges: [{ to: 360 }] })).toBe(
      'catheter out for under 6 h or not known',
    );
    expect(conditionWords('sinceCatheterOutMin', { ranges: [{ from: 90, fromIn: true }] })).toBe(
      'catheter out for at least 90 min',
    );
  });
  it('says when a step is due', () => {
    expect([dueWords(0), dueWords(90), dueWords(240), dueWords(1440), dueWords(60, 90)]).toEqual([
      'now',
      'in 90 min',
      'in 4 h',
      'in 24 h',
      'in 60 to 90 min',
    ]);
  });
});
