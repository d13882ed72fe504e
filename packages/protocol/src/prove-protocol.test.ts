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
    ['no owner', 'AS-41', 'ownerRole', '', 'owner-and-due'],
    ['no due time', 'AS-41', 'dueInMin', null, 'owner-and-due'],
  ])('%s', (_name, row, output, value, law) => {
    const broken = withAnswer(row, output, value);
    const fault = proveProtocol(broken).faults.find((one) => one.law?.includes(`[${law}]`));
    expect(fault).toMatchObject({ kind: 'unsafe', rows: [row] });
    expect(said(broken, fault)).toBe('protocol/unsafe-answer');
  });
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
