import { budget, covers } from '../box-cover.ts';
import type { CompiledTable, CompiledTest, Scalar } from '../compile-table.ts';
import type { CompiledProtocol } from '../compile-protocol.ts';
import { boxOfTests, boxWhere, inputSpace, narrowed, piecesOf, type InputSpace } from '../input-space.ts';

export interface ShortRow {
  readonly id: string;
  readonly answer: Scalar;
  readonly tests: readonly CompiledTest[];
}

/** Which conditions a reader can do without, when the line before has settled them. */
export type MayDrop = (name: string, test: CompiledTest) => boolean;

/**
 * The rows of a table that answers one word, for reading from the top: rows of one answer stand together, and a
 * condition is left out where the lines above have settled it. Exact: what a shorter row would take more than before
 * must be held by the rows above it, piece by piece; otherwise the condition stays.
 */
export function shortRows(
  protocol: CompiledProtocol,
  table: CompiledTable,
  mayDrop: MayDrop,
): readonly ShortRow[] {
  const space = tableSpace(protocol, table);
  const answers = [...new Set(table.rows.map((row) => row.values[0] ?? null))];
  const inOrder = answers.flatMap((answer) => table.rows.filter((row) => (row.values[0] ?? null) === answer));
  const boxOf = (tests: readonly CompiledTest[]): Uint32Array => boxOfTests(space, table.inputs, tests);
  return inOrder.map((row, at) => {
    const above = inOrder.slice(0, at).map((one) => boxOf(one.tests));
    let tests: readonly CompiledTest[] = row.tests.map((test, column) =>
      test !== 0 && isEverything(space, table.inputs[column] ?? '', test) ? 0 : test,
    );
    for (const [column, name] of table.inputs.entries()) {
      const test = tests[column] ?? 0;
      const given = tests.filter((one) => one !== 0).length;
      if (test === 0 || !mayDrop(name, test) || given === 1) continue;
      const shorter = tests.with(column, 0);
      const more = narrowed(space, boxOf(shorter), boxOf(tests), space.names.indexOf(name), true);
      if (covers(space, more, above, budget())) tests = shorter;
    }
    return { id: row.id, answer: row.values[0] ?? null, tests };
  });
}

function isEverything(space: InputSpace, name: string, test: CompiledTest): boolean {
  const input = space.names.indexOf(name);
  const all = boxWhere(space, () => true);
  const box = boxOfTests(space, [name], [test]);
  for (let word = space.starts[input] ?? 0; word < (space.starts[input + 1] ?? 0); word += 1)
    if (box[word] !== all[word]) return false;
  return true;
}

/** All that can be put to one table: the dictionary's values, and what the tables before it answer. */
export function tableSpace(protocol: CompiledProtocol, table: CompiledTable): InputSpace {
  const names = [...new Set(table.inputs)];
  const testsOf = (name: string): readonly CompiledTest[] =>
    table.rows.flatMap((row) => row.tests.filter((_test, column) => table.inputs[column] === name));
  return inputSpace(
    names,
    names.map((name): readonly Scalar[] => {
      if (name === 'ageBand') return protocol.ageBands;
      if (name === 'setting') return protocol.settings;
      const before = protocol.tables.find((one) => one.decision === name);
      if (before) return [...new Set(before.rows.map((row) => row.values[0] ?? null))];
      return piecesOf(name, testsOf(name));
    }),
  );
}
