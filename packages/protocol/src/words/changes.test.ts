// Proves     what differs between two versions is said completely: whom it is for, a low residual, tables, columns by their names
//            wherever they stand, how rows are chosen, rows and cells; nothing is said where nothing differs. Tolerance exact.
import { describe, expect, it } from 'vitest';
import type { CompiledProtocol } from '../compile-protocol.ts';
import type { CompiledTable } from '../compile-table.ts';
import { starterFor, starterProtocols } from '../starters.ts';
import { changesBetween } from './changes.ts';

const surgery = starterFor('after-surgery') as CompiledProtocol;
const said = (now: CompiledProtocol): readonly string[] =>
  changesBetween(surgery, now).map((one) => `${one.rowId}: ${one.words}`);
const withTable = (decision: string, make: (table: CompiledTable) => CompiledTable): CompiledProtocol => ({
  ...surgery,
  tables: surgery.tables.map((table) => (table.decision === decision ? make(table) : table)),
});

describe('what a version changes', () => {
  it('is nothing for the same tables, under whatever number or approval', () => {
    for (const one of starterProtocols) expect(changesBetween(one, { ...one, version: 99 })).toEqual([]);
  });
  it('says whom it is for and what counts as low', () => {
    expect(
      said({
        ...surgery,
        title: 'After surgery, ours',
        ageBands: ['adult'],
        settings: ['after-surgery', 'after-birth'],
        lowResidualBelowMl: 150,
        lowResidualsToEnd: 3,
      }),
    ).toEqual([
      'Whole protocol: title: After surgery, now After surgery, ours',
      'Whole protocol: for: after surgery, now after surgery, after birth',
      'Whole protocol: ages: adult, over 75, now adult',
      'Whole protocol: a low residual is under: 100 mL, now 150 mL',
      'Whole protocol: low residuals to end: 2, now 3',
    ]);
  });
  it('says another way to choose among rows', () => {
    expect(said(withTable('Limit', (table) => ({ ...table, hitPolicy: 'FIRST' })))).toEqual([
      'Third: how does it stand to this person’s limit?: exactly one row fits, now the first row that fits counts',
    ]);
  });
  it('tells a column that stands elsewhere from one that is new', () => {
    const turned = withTable('Number', (table) => ({
      ...table,
      inputs: table.inputs.toReversed(),
      rows: table.rows.map((row) => ({ ...row, tests: row.tests.toReversed() })),
    }));
    expect(said(turned)).toEqual([]);
    const wider = withTable('Number', (table) => ({
      ...table,
      inputs: ['discomfort', ...table.inputs],
      rows: table.rows.map((row, at) => ({
        ...row,
        tests: [at === 0 ? { in: [false] } : 0, ...row.tests],
      })),
    }));
    expect(said(wider)).toEqual([
      'Second: what is the number worth?: new column: discomfort',
      'AS-N01: discomfort: any, now no',
    ]);
  });
  it('says what a new row asks and answers', () => {
    const more = withTable('Number', (table) => ({
      ...table,
      rows: [
        ...table.rows,
        {
          id: 'AS-N99',
          tests: table.inputs.map((name) => (name === 'volumeMl' ? { ranges: [{ to: 50 }] } : 0)),
          values: ['good'],
        },
      ],
    }));
    expect(said(more)).toEqual(['AS-N99: new row, if volume, mL under 50: is called good number']);
  });
  it('says a table that is gone and one that is new', () => {
    const [first, ...rest] = surgery.tables;
    if (!first) throw new Error('no table');
    expect(said({ ...surgery, tables: [{ ...first, decision: 'Extra' }, ...rest] })).toEqual([
      'First: is anything dangerous?: the table was taken away',
      'Extra: a new table',
    ]);
  });
});
