// Proves     a compiled protocol written as a file comes back as the same protocol, with its draft rows, its texts of any
//            kind and its empty answers; every cell that ships comes back from its text. Tolerance exact.
import { orThrow } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { compileProtocol, type CompiledProtocol } from '../compile-protocol.ts';
import { compileTest } from '../compile-table.ts';
import { readDmn } from '../read-dmn.ts';
import { starterProtocols } from '../starters.ts';
import { writeDmn } from '../write-dmn.ts';
import { modelOf, testText } from './model-of.ts';

const thereAndBack = async (protocol: CompiledProtocol): Promise<CompiledProtocol> =>
  orThrow(compileProtocol(orThrow(await readDmn(orThrow(await writeDmn(modelOf(protocol)))))));

describe('a compiled protocol as a model', () => {
  it.each(starterProtocols.map((one) => [one.id, one] as const))(
    '%s comes back the same',
    async (_id, one) => {
      expect(await thereAndBack(one)).toEqual(one);
    },
  );

  it('keeps awkward texts, empty answers and a row without cells', async () => {
    const [first] = starterProtocols;
    if (!first) throw new Error('no starter');
    const tables = first.tables.map((table) => ({
      ...table,
      rows: [
        ...table.rows,
        {
          id: `${table.decision}-99`,
          tests: table.inputs.map(() => 0 as const),
          values: table.outputs.map((_name, at) => (at % 2 === 0 ? null : 'Größe < 3 & "4"\nnext')),
        },
      ],
    }));
    const draft = { ...first, title: 'A <new> title & more', tables };
    expect(await thereAndBack(draft)).toEqual(draft);
  });

  it('writes every cell that ships so that it is read as the same cell', () => {
    const tests = starterProtocols.flatMap((one) =>
      one.tables.flatMap((table) => table.rows.flatMap((row) => row.tests)),
    );
    expect(tests.length).toBeGreaterThan(2000);
    for (const test of tests) expect(compileTest(testText(test))).toEqual(test);
  });
});
