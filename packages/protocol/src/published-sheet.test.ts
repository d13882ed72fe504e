// Proves     a sheet after a published one-page algorithm is not proved: two arms answer at exactly 400 mL, nobody
//            answers where no number was read, and drains come without regard to what speaks against a catheter.
// Published  bands: S-clinical-E14 (actions partly inferred, see testing/published-sheet.ts). Tolerance exact
import { readFile } from 'node:fs/promises';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { answerProtocol } from './answer-protocol.ts';
import { compileProtocol, type CompiledProtocol } from './compile-protocol.ts';
import { proveProtocol } from './prove-protocol.ts';
import { proveTable } from './prove-table.ts';
import { wholePatient } from './reachable.ts';
import { readDmn } from './read-dmn.ts';
import { starterFor } from './starters.ts';
import { publishedSheet } from './testing/published-sheet.ts';

const sheet: CompiledProtocol = {
  ...(starterFor('after-surgery') as CompiledProtocol),
  id: 'published-sheet',
  tables: [publishedSheet],
};

describe('a sheet after a published algorithm', () => {
  it('stands among the examples as a file, word for word', async () => {
    const file = await readFile(
      new URL('../../../examples/protocols/published-sheet.dmn', import.meta.url),
      'utf8',
    );
    expect(orThrow(compileProtocol(orThrow(await readDmn(file)))).tables).toEqual([publishedSheet]);
  });

  it('gives 400 mL to two arms, and leaves out whoever has no number; at 600 mL one arm answers', () => {
    const proof = orThrow(proveTable(publishedSheet, { ageBand: ['adult', 'over-75'] }));
    expect(proof.overlaps).toEqual([
      { rows: ['PS-2', 'PS-3'], example: { volumeMl: 400 }, cells: { volumeMl: '400' } },
    ]);
    expect(proof.gaps).toEqual([{ example: { volumeMl: null }, cells: { volumeMl: 'null' } }]);
  });

  it('breaks the laws that it does not mention, each shown by a patient', () => {
    const proof = orThrow(proveProtocol(sheet));
    const laws = proof.faults.flatMap((fault) => /\[([\w-]+)\]$/.exec(fault.law ?? '')?.[1] ?? []);
    expect([...new Set(laws)].sort()).toEqual([
      'discomfort-is-examined',
      'do-not-drain',
      'due-look-is-done',
      'no-look-through-catheter',
      'no-wait-over-limit',
      'red-flag-reaches-person',
      'worse-never-gentler',
    ]);
    const codes = proof.faults.map((fault) => {
      const answer = answerProtocol(sheet, wholePatient(sheet, fault.patient));
      return isRefusal(answer) ? answer.code : answer.step;
    });
    expect(codes).toEqual(
      expect.arrayContaining(['protocol/no-row', 'protocol/two-rows', 'protocol/unsafe-answer']),
    );
  });
});
