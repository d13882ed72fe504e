// Proves     the exact check finds the gaps, overlaps and idle rows that are there and no others, against brute force
//            over every value on small made-up tables; and finds none in the starter protocols.
// Published  the two arms that both hold 400 mL: S-clinical-E14. Tolerance exact.
import { orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { testHolds, type CompiledTable } from './compile-table.ts';
import { proveChain, proveTable as prove, type TableProof } from './prove-table.ts';
import { starterProtocols } from './starters.ts';
import { tableOf } from './testing/made-up-tables.ts';
import { seeded } from './testing/patients.ts';

const proveTable = (one: CompiledTable): TableProof => orThrow(prove(one));
const table = tableOf;

describe('exact check of one table', () => {
  it('finds the volume that a published algorithm gives to two arms, and the missing one', () => {
    const proof = proveTable(table(['volumeMl'], [['< 100'], ['[100..400]'], ['[400..600]'], ['> 600']]));
    expect(proof.overlaps).toEqual([
      { rows: ['r2', 'r3'], example: { volumeMl: 400 }, cells: { volumeMl: '400' } },
    ]);
    expect(proof.gaps).toEqual([{ example: { volumeMl: null }, cells: { volumeMl: 'null' } }]);
  });
  it('finds a gap one number wide and a gap between numbers', () => {
    expect(proveTable(table(['limitMl'], [['< 400'], ['> 400']])).gaps).toEqual([
      { example: { limitMl: 400 }, cells: { limitMl: '400' } },
    ]);
    expect(proveTable(table(['limitMl'], [['<= 400'], ['>= 401']])).gaps).toEqual([
      { example: { limitMl: 400.5 }, cells: { limitMl: '(400..401)' } },
    ]);
  });
  it('names rows that answer nobody, also behind a first row', () => {
    expect(proveTable(table(['volumeMl'], [['> 9000'], ['-']])).idleRows).toEqual(['r1']);
    expect(proveTable(table(['volumeMl'], [['-'], ['> 400']], 'FIRST')).idleRows).toEqual(['r2']);
  });

  it('agrees with brute force on seeded tables over two words and a count', () => {
    const random = seeded(5);
    const words = ['no', 'possible', 'yes'];
    let faulty = 0;
    for (let round = 0; round < 400; round += 1) {
      const word = (): string =>
        random.pick(['-', '"no"', '"yes"', '"no", "possible"', 'not("no")', 'not("yes")']);
      const count = (): string => random.pick(['-', '< 2', '>= 2', '[1..3]', '(1..3)', '0', '> 3']);
      const cut = random.below(4);
      const sound = ['"no"', '"possible"', '"yes"'].flatMap((cell) => [
        [cell, `< ${cut}`],
        [cell, `>= ${cut}`],
      ]);
      const cells =
        random.next() < 0.4 ? sound : Array.from({ length: 1 + random.below(4) }, () => [word(), count()]);
      const one = table(['overLimit', 'drainsSoFar'], cells);
      const proof = proveTable(one);
      let gap = false;
      let overlap = false;
      const hit = new Set<string>();
      for (const overLimit of words)
        for (let twice = 0; twice <= 2000; twice += twice < 12 ? 1 : 497) {
          const rows = one.rows.filter(
            (row) => testHolds(row.tests[0] ?? 0, overLimit) && testHolds(row.tests[1] ?? 0, twice / 2),
          );
          gap ||= rows.length === 0;
          overlap ||= rows.length > 1;
          for (const row of rows) hit.add(row.id);
        }
      expect(
        [proof.gaps.length > 0, proof.overlaps.length > 0, proof.idleRows],
        JSON.stringify(one.rows),
      ).toEqual([gap, overlap, one.rows.map((row) => row.id).filter((id) => !hit.has(id))]);
      if (gap || overlap) faulty += 1;
    }
    expect(faulty).toBeGreaterThan(100);
    expect(faulty).toBeLessThan(400);
  });
});

describe.each(starterProtocols.map((protocol) => [protocol.id, protocol] as const))(
  'starter protocol %s',
  (_id, protocol) => {
    it('has no gap, no overlap and no idle row in any of its tables, for every value of its inputs', () => {
      for (const { decision, proof } of orThrow(proveChain(protocol.tables, protocol.ageBands))) {
        expect(proof.gaps, decision).toEqual([]);
        expect(proof.overlaps, decision).toEqual([]);
        expect(proof.idleRows, decision).toEqual([]);
      }
    });
    it('loses its proof when a row is taken away', () => {
      for (const table of protocol.tables) {
        const [, ...rest] = table.rows;
        const tables = protocol.tables.map((one) => (one === table ? { ...one, rows: rest } : one));
        const faults = orThrow(proveChain(tables, protocol.ageBands)).filter(
          ({ proof }) => proof.gaps.length > 0 || proof.idleRows.length > 0,
        );
        expect(faults.length, table.decision).toBeGreaterThan(0);
      }
    });
  },
);
