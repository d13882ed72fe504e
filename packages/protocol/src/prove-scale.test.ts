// Proves     tables of 500 rows by 12 inputs are proved, and a gap planted in one is found, within the budget and
//            half a second; a table that cannot be proved within the budget is refused and never called proved; a
//            patient is answered within a fifth of a millisecond; a proof is made once per content.
// Tolerance  times are the better of several runs, for a busy machine; counts are exact
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { answerProtocol } from './answer-protocol.ts';
import type { CompiledProtocol } from './compile-protocol.ts';
import { answerTable, type CompiledTable } from './compile-table.ts';
import { proofCache } from './proof-cache.ts';
import { proveProtocol } from './prove-protocol.ts';
import { proveTable } from './prove-table.ts';
import { starterFor } from './starters.ts';
import { cell, soundTable, twelveInputs, withGap } from './testing/made-up-tables.ts';
import { randomPatient, seeded } from './testing/patients.ts';

/** The best time of a few runs of the same work, in milliseconds. */
function bestMs(work: () => unknown, runs = 3): number {
  return Math.min(
    ...Array.from({ length: runs }, () => {
      const start = performance.now();
      work();
      return performance.now() - start;
    }),
  );
}
const asProtocol = (table: CompiledTable): CompiledProtocol => ({
  ...(starterFor('after-surgery') as CompiledProtocol),
  tables: [
    {
      ...table,
      outputs: ['step', 'dueInMin', 'ownerRole', 'why'],
      rows: table.rows.map((row) => ({ ...row, values: ['emergency', 0, 'nurse', 'Because.'] })),
    },
  ],
});

describe.each([1, 2, 3, 4])('500 rows by 12 inputs, seed %i', (seed) => {
  const random = seeded(seed);
  const sound = soundTable(random, 500, twelveInputs, 4);
  const holed = withGap(random, sound);
  it('constrains at least four inputs in each row', () => {
    expect(sound.rows.length).toBeGreaterThanOrEqual(500);
    expect(sound.inputs).toHaveLength(12);
    for (const row of sound.rows)
      expect(row.tests.filter((test) => test !== 0).length).toBeGreaterThanOrEqual(4);
  });
  it('is proved within half a second, also as a protocol', () => {
    expect(orThrow(proveTable(sound))).toMatchObject({ gaps: [], overlaps: [], idleRows: [], whole: true });
    expect(orThrow(proveProtocol(asProtocol(sound)))).toMatchObject({ faults: [], whole: true });
    expect(bestMs(() => proveTable(sound))).toBeLessThan(500);
    expect(bestMs(() => proveProtocol(asProtocol(sound)))).toBeLessThan(500);
  });
  it('shows a planted gap by a patient whom no row answers', () => {
    const proof = orThrow(proveTable(holed));
    expect(proof.gaps.length).toBeGreaterThan(0);
    expect(proof.overlaps).toEqual([]);
    const everybody = Object.fromEntries(
      holed.inputs.map((name) => [name, name.endsWith('Ml') ? 0 : 'whatever is not asked']),
    );
    for (const gap of proof.gaps) {
      const answer = answerTable(holed, { ...everybody, ...gap.example });
      expect(isRefusal(answer) && answer.code).toBe('protocol/no-row');
    }
    expect(bestMs(() => proveTable(holed))).toBeLessThan(500);
  });
});

describe('a table too large to prove', () => {
  it('is refused when the budget ends before a fault is found, and never called proved', () => {
    const table = soundTable(seeded(9), 500, twelveInputs, 4);
    const refusal = proveTable(table, {}, { left: 400 });
    expect(isRefusal(refusal) && refusal.code).toBe('protocol/too-large-to-prove');
    const whole = proveProtocol(asProtocol(table), { left: 400 });
    expect(isRefusal(whole) && whole.code).toBe('protocol/too-large-to-prove');
  });
  it('says that there may be more faults when the budget ends after the first', () => {
    const table: CompiledTable = {
      decision: 'made up',
      hitPolicy: 'UNIQUE',
      inputs: ['trigger', 'trust'],
      outputs: ['out'],
      rows: [{ id: 'r1', tests: [cell('"reading"'), cell('"good"')], values: [1] }],
    };
    expect(orThrow(proveTable(table, {}, { left: 8 }))).toMatchObject({ whole: false });
  });
});

it('a patient is answered within a fifth of a millisecond', () => {
  const protocol = starterFor('after-surgery') as CompiledProtocol;
  const random = seeded(3);
  const patients = Array.from({ length: 500 }, () => randomPatient(random, 'after-surgery'));
  const ms = bestMs(() => patients.forEach((patient) => answerProtocol(protocol, patient)), 5);
  expect(ms / patients.length).toBeLessThan(0.2);
});

it('the same content is proved once, whatever its title, and other content anew', () => {
  const prove = proofCache(2);
  const protocol = starterFor('after-surgery') as CompiledProtocol;
  const first = prove(protocol);
  expect(prove({ ...structuredClone(protocol), title: 'Renamed', version: 9 })).toBe(first);
  const [table] = protocol.tables as [CompiledTable];
  const broken = {
    ...protocol,
    tables: [{ ...table, rows: table.rows.slice(1) }, ...protocol.tables.slice(1)],
  };
  expect(orThrow(prove(broken)).faults.length).toBeGreaterThan(0);
});
