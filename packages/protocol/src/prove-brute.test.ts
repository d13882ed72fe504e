// Proves     the exact proof finds every gap, every two rows that meet, every idle row, every unsafe row and every
//            worse patient who gets less, and invents none, on 5,000 seeded small tables and 200 small protocols (1,000 in the
//            long run);
//            and that each counter-example fails when it is run.
// Compared   with a brute-force search written apart (testing/brute-force.ts). Tolerance exact: sets are equal.
import { isRefusal, orThrow, type RandomSource } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import type { CompiledProtocol } from './compile-protocol.ts';
import { answerTable, type CompiledTable, type Scalar } from './compile-table.ts';
import { proveProtocol } from './prove-protocol.ts';
import { proveTable } from './prove-table.ts';
import { wholePatient } from './reachable.ts';
import {
  brokenFor,
  everyone,
  fits,
  isLess,
  keyOf,
  rowsFor,
  tryTable,
  worseThan,
  type Person,
  type World,
} from './testing/brute-force.ts';
import { cell, tableOf } from './testing/made-up-tables.ts';
import { seeded } from './testing/patients.ts';

const counts: readonly number[] = [...Array.from({ length: 13 }, (_, half) => half / 2), 777, 1000];
const tableWorld: World = {
  overLimit: ['no', 'possible', 'yes'],
  catheterInPlace: [true, false],
  drainsSoFar: counts,
  voidedMl: [null, ...counts, 5000],
};
const cellFor: Readonly<Record<string, (random: RandomSource) => string>> = {
  overLimit: (random) => random.pick(['-', '"no"', '"yes"', '"no", "possible"', 'not("no")', 'not("yes")']),
  catheterInPlace: (random) => random.pick(['-', '-', 'true', 'false']),
  drainsSoFar: (random) =>
    random.pick(['-', '< 2', '>= 2', '[1..3]', '(1..3)', '0', '> 3', '<= 3', '1, [3..4)']),
  voidedMl: (random) =>
    random.pick(['-', 'null', '>= 0', 'null, < 2', '[2..5]', '(2..5]', '> 5', '>= 5', '< 5', '> 9000']),
};

/** A table at random: half of them cut from a sound one, so that few faults are left. */
function smallTable(random: RandomSource): CompiledTable {
  const names = Object.keys(tableWorld).filter(() => random.next() < 0.7);
  const inputs = names.length > 0 ? names : ['overLimit'];
  const hitPolicy = random.next() < 0.7 ? 'UNIQUE' : 'FIRST';
  if (random.next() < 0.5) {
    const split: Readonly<Record<string, readonly string[]>> = {
      overLimit: ['"no"', 'not("no")'],
      catheterInPlace: ['true', 'false'],
      drainsSoFar: ['< 2', '[2..5)', '>= 5'],
      voidedMl: ['null, < 2', '>= 2'],
    };
    let cells: string[][] = [[]];
    for (const name of inputs)
      cells = cells.flatMap((row) => (split[name] ?? []).map((one) => [...row, one]));
    const at = random.below(cells.length);
    const column = random.below(inputs.length);
    const spoiled = cells.map((row, index) =>
      index === at && random.next() < 0.8
        ? row.map((one, other) =>
            other === column ? (cellFor[inputs[column] ?? ''] as (r: RandomSource) => string)(random) : one,
          )
        : row,
    );
    return tableOf(inputs, random.next() < 0.2 ? spoiled.slice(1) : spoiled, hitPolicy);
  }
  return tableOf(
    inputs,
    Array.from({ length: 1 + random.below(6) }, () =>
      inputs.map((name) => (cellFor[name] as (r: RandomSource) => string)(random)),
    ),
    hitPolicy,
  );
}

type Inside = (person: Person) => boolean;
function insideCells(cells: Readonly<Record<string, string>>): Inside {
  const tests = Object.entries(cells).map(([name, source]) => [name, cell(source)] as const);
  return (person) => tests.every(([name, test]) => fits(test, person[name] ?? null));
}

describe('the proof of a table', () => {
  it('finds what brute force finds on 5,000 small tables, and nothing else', () => {
    const random = seeded(20261128);
    let sound = 0;
    for (let round = 0; round < 5000; round += 1) {
      const table = smallTable(random);
      const people = everyone(Object.fromEntries(table.inputs.map((name) => [name, tableWorld[name] ?? []])));
      const truth = tryTable(table, people);
      const proof = orThrow(proveTable(table));
      const about = JSON.stringify(table.rows);
      const regions = proof.gaps.map((gap) => insideCells(gap.cells));
      const gaps = people.filter((person) => regions.some((inside) => inside(person)));
      expect(proof.whole).toBe(true);
      expect(gaps.map(keyOf), about).toEqual(people.map(keyOf).filter((key) => truth.gaps.has(key)));
      expect(new Set(proof.overlaps.map(({ rows }) => rows.join(' '))), about).toEqual(truth.overlaps);
      expect(proof.idleRows, about).toEqual(truth.idleRows);
      for (const gap of proof.gaps) {
        const answer = answerTable(table, { ...people[0], ...gap.example });
        expect(isRefusal(answer) ? answer.code : answer, about).toBe('protocol/no-row');
        expect(insideCells(gap.cells)({ ...people[0], ...gap.example })).toBe(true);
      }
      for (const { rows, example } of proof.overlaps)
        expect(rowsFor(table, { ...people[0], ...example }), about).toEqual(
          expect.arrayContaining([...rows]),
        );
      if (truth.gaps.size === 0 && truth.overlaps.size === 0) sound += 1;
    }
    // Both kinds are there, so that neither answer is the easy one.
    expect(sound).toBeGreaterThan(500);
    expect(sound).toBeLessThan(4000);
  });
});

/** Short in every run; EBBLINE_LONG=1 tries 1,000 protocols. */
const protocolRounds = process.env['EBBLINE_LONG'] === '1' ? 1000 : 90;

const protocolWorld: World = {
  trigger: ['reading', 'drained', 'time'],
  residualLate: [false, true],
  volumeMl: [null, 0, 200, 300, 400, 450, 2000, 2500],
  overLimit: ['no', 'possible', 'yes'],
  discomfort: [false, true],
  redFlag: ['none', 'dysreflexia-signs', 'trauma'],
  doNotDrain: ['none', 'stricture'],
  trust: ['good', 'unreliable'],
  catheterInPlace: [false, true],
};
/** The limit of everybody in this world. */
const limitMl = 2000;
const canBe = (person: Person): boolean =>
  person['trigger'] === 'drained' ||
  person['overLimit'] === 'yes' ||
  Number(person['volumeMl'] ?? 0) < limitMl;
const stepNames = [
  'look-again',
  'promote-voiding',
  'measure-residual',
  'drain-in-out',
  'check-catheter',
  'examine-now',
  'call-clinician',
  'emergency',
] as const;

function smallProtocol(random: RandomSource): CompiledProtocol {
  const words: Readonly<Record<string, readonly string[]>> = {
    trigger: ['-', '"drained"', 'not("drained")', '"time"'],
    residualLate: ['-', 'true', 'false'],
    volumeMl: ['-', 'null', '>= 0', 'null, < 200', '< 200', '[200..400]', '> 400', '>= 200'],
    overLimit: ['-', '"yes"', 'not("yes")', '"possible"', '"no"'],
    discomfort: ['-', 'true', 'false'],
    redFlag: ['-', '"none"', 'not("none")', '"dysreflexia-signs"', 'not("dysreflexia-signs", "none")'],
    doNotDrain: ['-', '"none"', 'not("none")'],
    trust: ['-', '"unreliable"', 'not("unreliable")'],
    catheterInPlace: ['-', 'true', 'false'],
  };
  const inputs = Object.keys(words).filter(() => random.next() < 0.5);
  const rows = Array.from({ length: 1 + random.below(6) }, (_, index) => ({
    id: `r${index + 1}`,
    tests: inputs.map((name) => cell(random.pick(words[name] ?? ['-']))),
    values: [random.pick(stepNames), random.pick([0, 30, 90]), 'nurse', 'Because.'] as Scalar[],
  }));
  const rest = {
    id: 'rest',
    tests: inputs.map(() => 0 as const),
    values: ['emergency', 0, 'nurse', 'Because.'],
  };
  return {
    id: 'small',
    version: 1,
    title: 'Small',
    approval: 'example-not-approved',
    settings: ['after-surgery'],
    ageBands: ['adult'],
    lowResidualBelowMl: 100,
    lowResidualsToEnd: 2,
    tables: [
      {
        decision: 'Advice',
        hitPolicy: random.next() < 0.6 ? 'FIRST' : 'UNIQUE',
        inputs,
        outputs: ['step', 'dueInMin', 'ownerRole', 'why'],
        rows: random.next() < 0.5 ? [...rows, rest] : rows,
      },
    ],
  };
}

describe('the proof of a protocol', () => {
  it(
    'finds every unsafe row and every worse patient who gets less that brute force finds, and no other',
    { timeout: 300_000 },
    () => {
      const random = seeded(1128);
      const people = everyone(protocolWorld).filter(canBe);
      let unsafe = 0;
      let clean = 0;
      for (let round = 0; round < protocolRounds; round += 1) {
        const protocol = smallProtocol(random);
        const [table] = protocol.tables as [CompiledTable];
        const answers = new Map<string, CompiledTable['rows'][number]>();
        const truth = new Set<string>();
        for (const person of people) {
          const ids = rowsFor(table, person);
          if (ids.length === 0) truth.add('gap');
          if (table.hitPolicy === 'UNIQUE')
            for (const [at, id] of ids.entries())
              for (const other of ids.slice(at + 1)) truth.add(`overlap ${id} ${other}`);
          if (ids.length === 0 || (ids.length > 1 && table.hitPolicy === 'UNIQUE')) continue;
          const row = table.rows.find((one) => one.id === ids[0]) as CompiledTable['rows'][number];
          answers.set(keyOf(person), row);
          for (const law of brokenFor(person, String(row.values[0]), Number(row.values[1])))
            truth.add(`unsafe ${row.id} ${law}`);
        }
        const said = (row: CompiledTable['rows'][number]): { step: string; dueInMin: number } => ({
          step: String(row.values[0]),
          dueInMin: Number(row.values[1]),
        });
        for (const person of people) {
          const before = answers.get(keyOf(person));
          if (!before) continue;
          for (const { person: worse, name } of worseThan(person, protocolWorld)) {
            const after = answers.get(keyOf(worse));
            if (after && after !== before && isLess(said(before), said(after)))
              truth.add(`unsafe ${before.id} ${after.id} ${name}`);
          }
        }
        const proof = orThrow(proveProtocol(protocol));
        const found = new Set(
          proof.faults.map((fault) =>
            fault.kind === 'gap'
              ? 'gap'
              : [
                  fault.kind,
                  ...fault.rows,
                  ...(fault.before
                    ? [fault.worseIn]
                    : fault.kind === 'unsafe'
                      ? [/\[([\w-]+)\]$/.exec(fault.law ?? '')?.[1]]
                      : []),
                ].join(' '),
          ),
        );
        expect(found, JSON.stringify(table)).toEqual(truth);
        for (const fault of proof.faults) {
          const patient = wholePatient(protocol, fault.patient) as unknown as Person;
          const ids = rowsFor(table, patient);
          if (fault.kind === 'gap') expect(ids).toEqual([]);
          else if (fault.kind === 'overlap') expect(ids).toEqual(expect.arrayContaining([...fault.rows]));
          else expect(ids[0]).toBe(fault.rows.at(-1));
        }
        unsafe += [...truth].filter((one) => one.startsWith('unsafe')).length;
        if (truth.size === 0) clean += 1;
      }
      expect(unsafe).toBeGreaterThan(protocolRounds);
      expect(clean).toBeGreaterThan(2);
    },
  );
});
