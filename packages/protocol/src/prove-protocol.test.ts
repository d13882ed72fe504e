// Proves     the starters are proved: one safe answer for every possible patient, every row reached; and the proof
//            finds a gap, an overlap, each kind of unsafe row and an unreachable row put in on purpose, with a patient
//            who shows it when asked.
// Method     faults are planted in the starter after surgery; each counter-example is put to answerProtocol
// Tolerance  exact
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { answerProtocol } from './answer-protocol.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { compileTest, type CompiledTable, type CompiledTest, type Scalar } from './compile-table.ts';
import type { ProtocolInput } from './dictionary.ts';
import { proveProtocol as prove, type Fault, type ProtocolProof } from './prove-protocol.ts';
import { wholePatient } from './reachable.ts';
import { starterFor, starterProtocols } from './starters.ts';
import { comfortable } from './testing/patients.ts';

const proveProtocol = (protocol: CompiledProtocol): ProtocolProof => orThrow(prove(protocol));

const afterSurgery = starterFor('after-surgery') as CompiledProtocol;
type Row = CompiledTable['rows'][number];
const change = (id: string, how: (row: Row, table: CompiledTable) => readonly Row[]): CompiledProtocol => ({
  ...afterSurgery,
  tables: afterSurgery.tables.map((table) => ({
    ...table,
    rows: table.rows.flatMap((row) => (row.id === id ? how(row, table) : [row])),
  })),
});
const withAnswer = (id: string, output: string, value: Scalar): CompiledProtocol =>
  change(id, (row, table) => [
    { ...row, values: row.values.map((old, index) => (table.outputs[index] === output ? value : old)) },
  ]);
const withTest = (id: string, input: string, cell: string): CompiledProtocol =>
  change(id, (row, table) => [
    {
      ...row,
      tests: row.tests.map((old, index) =>
        table.inputs[index] === input ? (compileTest(cell) as CompiledTest) : old,
      ),
    },
  ]);

/** What the protocol says to the patient of a fault. */
function said(protocol: CompiledProtocol, fault: Fault | undefined): string {
  const { volumeMl: _, ...base } = comfortable;
  const patient = {
    ...base,
    ...(fault?.patient.volumeMl === undefined ? { volumeKind: 'missing' } : {}),
    limitMl: 2000,
    ...fault?.patient,
  } as ProtocolInput;
  const answer = answerProtocol(protocol, patient);
  return isRefusal(answer) ? answer.code : answer.step;
}

describe.each(starterProtocols.map((protocol) => [protocol.id, protocol] as const))(
  'starter protocol %s',
  (_id, protocol) => {
    it('is proved: one safe answer for every possible patient, and every row reached but the guard', () => {
      const proof = proveProtocol(protocol);
      expect(proof.faults).toEqual([]);
      // Row N13 catches a volume kind without its number, for programs that run the file without our checks.
      expect(proof.unreachableRows.map((id) => id.slice(2))).toEqual(
        protocol.id === 'comfort' ? [] : ['-N13'],
      );
      expect(proof.kinds).toBeGreaterThan(50);
      expect(proof.exceptions.length).toBe(protocol.id === 'comfort' ? 1 : 0);
    });
  },
);

describe('a planted fault is found, with a patient who shows it', () => {
  it('a gap, when the row for 250 to 400 mL is taken away', () => {
    const broken = change('AS-32', () => []);
    const [fault] = proveProtocol(broken).faults;
    expect(fault).toMatchObject({ kind: 'gap', decision: 'Advice' });
    expect(said(broken, fault)).toBe('protocol/no-row');
  });
  it('an overlap at exactly 250 mL, and nowhere else', () => {
    const broken = withTest('AS-31', 'volumeMl', 'null, <= 250');
    const { faults } = proveProtocol(broken);
    expect(faults).toHaveLength(1);
    expect(faults[0]).toMatchObject({
      kind: 'overlap',
      rows: ['AS-31', 'AS-32'],
      patient: { volumeMl: 250 },
    });
    expect(said(broken, faults[0])).toBe('protocol/two-rows');
  });
  it.each([
    ['a wait at the limit', 'AS-19', 'step', 'look-again', 'no-wait-over-limit'],
    ['a wait in discomfort', 'AS-07', 'step', 'look-again', 'discomfort-is-examined'],
    ['dysreflexia without the emergency row', 'AS-01', 'step', 'call-clinician', 'red-flag-reaches-person'],
    ['a drain against a reason', 'AS-16', 'step', 'drain-in-out', 'do-not-drain'],
    ['a drain on an unreliable reading', 'AS-12', 'step', 'drain-in-out', 'do-not-drain'],
    ['a drain without a number', 'AS-14', 'step', 'drain-in-out', 'drain-needs-reading'],
    ['a look through a catheter', 'AS-10', 'step', 'look-again', 'no-look-through-catheter'],
    ['an examination in half an hour', 'AS-07', 'dueInMin', 30, 'discomfort-is-examined'],
    ['a red flag told in half an hour', 'AS-04', 'dueInMin', 30, 'red-flag-reaches-person'],
    ['a due look put off for hours', 'AS-41', 'dueInMin', 120, 'due-look-is-done'],
    ['no owner', 'AS-41', 'ownerRole', '', 'owner-and-due'],
    ['no due time', 'AS-41', 'dueInMin', null, 'owner-and-due'],
  ])('%s', (_name, row, output, value, law) => {
    const broken = withAnswer(row, output, value);
    const fault = proveProtocol(broken).faults.find((one) => one.law?.includes(`[${law}]`));
    expect(fault).toMatchObject({ kind: 'unsafe', rows: [row] });
    expect(said(broken, fault)).toBe('protocol/unsafe-answer');
  });
  it('adult rows that answer a child, each with a child who is then refused', () => {
    const mixed: CompiledProtocol = { ...afterSurgery, ageBands: ['child', 'adult', 'over-75'] };
    const forAll = {
      ...mixed,
      tables: mixed.tables.map((table) => ({
        ...table,
        rows: table.rows.map((row) => ({
          ...row,
          tests: row.tests.map((test, at) => (table.inputs[at] === 'ageBand' ? (0 as const) : test)),
        })),
      })),
    };
    const { faults } = proveProtocol(forAll);
    const rows = afterSurgery.tables.at(-1)?.rows.map((row) => row.id) ?? [];
    expect(faults.map((one) => one.rows.join()).sort()).toEqual([...rows].sort());
    for (const fault of faults) {
      expect(fault.law).toContain('[adult-rows-only]');
      expect(fault.patient.ageBand).toBe('child');
      expect(said(forAll, fault)).toBe('protocol/adults-only');
    }
  });
  it.each([
    ['a residual read late', 'residualLate', 'true', 'false', 'a residual that was read late'],
    [
      'a long time since the void',
      'sinceVoidMin',
      '>= 240',
      'null, < 240',
      'a longer time since the last void',
    ],
    [
      'a long time since it was emptied',
      'sinceEmptiedMin',
      '>= 240',
      'null, < 240',
      'a longer time since the bladder was emptied',
    ],
  ])('less for worse: a later look after %s', (_name, input, worse, milder, words) => {
    const broken: CompiledProtocol = {
      ...afterSurgery,
      tables: afterSurgery.tables.map((table) =>
        table.decision === 'Advice'
          ? {
              ...table,
              inputs: [...table.inputs, input],
              rows: table.rows.flatMap((row) => {
                if (row.id !== 'AS-32') return [{ ...row, tests: [...row.tests, 0 as const] }];
                const split = (id: string, cell: string, due: number): Row => ({
                  id,
                  tests: [...row.tests, compileTest(cell) as CompiledTest],
                  values: row.values.with(table.outputs.indexOf('dueInMin'), due),
                });
                return [split('AS-32', milder, 60), split('AS-99', worse, 120)];
              }),
            }
          : table,
      ),
    };
    const fault = proveProtocol(broken).faults.find((one) => one.worseIn === input);
    expect(fault).toMatchObject({ kind: 'unsafe', rows: ['AS-32', 'AS-99'] });
    expect(fault?.law).toBe(`${words} never gives a gentler step or a later look [worse-never-gentler]`);
    const due = (patient: Fault['patient'] = {}): number => {
      const answer = answerProtocol(broken, wholePatient(broken, patient));
      return isRefusal(answer) ? -1 : answer.dueInMin;
    };
    expect([due(fault?.before), due(fault?.patient)]).toEqual([60, 120]);
  });
  it.each(['Limit', 'Advice', 'nobody'])(
    'a chain that does not end: a column that asks "%s" too early',
    (name) => {
      const circle = {
        ...afterSurgery,
        tables: afterSurgery.tables.map((table) =>
          table.decision === 'Number' ? { ...table, inputs: table.inputs.with(0, name) } : table,
        ),
      };
      expect(prove(circle)).toMatchObject({ code: 'protocol/chain-does-not-end', where: 'Number' });
    },
  );
  it('a row that no patient reaches', () => {
    const broken = change('AS-33', (row, table) => [
      row,
      {
        ...row,
        id: 'AS-99',
        tests: row.tests.map((test, index) =>
          table.inputs[index] === 'volumeMl' ? (compileTest('> 9000') as CompiledTest) : test,
        ),
      },
    ]);
    expect(proveProtocol(broken).unreachableRows).toEqual(['AS-N13', 'AS-99']);
  });
});
