/** What one version of a protocol changes against another, row by row and in words. */
import type { CompiledProtocol } from '../compile-protocol.ts';
import type { CompiledTable } from '../compile-table.ts';
import { columnTestWords } from './state-words.ts';
import { columnTitle, outputTitle, valueWords } from './table-words.ts';

type Row = CompiledTable['rows'][number];

export interface RowChange {
  readonly decision: string;
  readonly rowId: string;
  /** False when the row is no longer there. */
  readonly here: boolean;
  readonly words: string;
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

function cellChanges(table: CompiledTable, before: Row, now: Row): readonly string[] {
  const tests = table.inputs.flatMap((name, at) =>
    same(before.tests[at], now.tests[at])
      ? []
      : [
          `${columnTitle(name)}: ${columnTestWords(name, before.tests[at] ?? 0) || 'any'}, now ${columnTestWords(name, now.tests[at] ?? 0) || 'any'}`,
        ],
  );
  const values = table.outputs.flatMap((name, at) =>
    same(before.values[at], now.values[at])
      ? []
      : [
          `${outputTitle(name)}: ${valueWords(name, before.values[at] ?? null) || 'none'}, now ${valueWords(name, now.values[at] ?? null) || 'none'}`,
        ],
  );
  return [...tests, ...values];
}

/** Rows of `now` in their order, then those that are gone. A row that only moved is said to have moved. */
export function changesBetween(before: CompiledProtocol, now: CompiledProtocol): readonly RowChange[] {
  return now.tables.flatMap((table): readonly RowChange[] => {
    const { decision } = table;
    const old = before.tables.find((one) => one.decision === decision)?.rows ?? [];
    const kept = old.filter((row) => table.rows.some((one) => one.id === row.id)).map((row) => row.id);
    const order = table.rows.filter((row) => kept.includes(row.id)).map((row) => row.id);
    const here = table.rows.flatMap((row): readonly RowChange[] => {
      const was = old.find((one) => one.id === row.id);
      if (!was) return [{ decision, rowId: row.id, here: true, words: 'new row' }];
      const moved = kept.indexOf(row.id) === order.indexOf(row.id) ? [] : ['moved'];
      const words = [...cellChanges(table, was, row), ...moved];
      return words.length === 0 ? [] : [{ decision, rowId: row.id, here: true, words: words.join('; ') }];
    });
    const gone = old
      .filter((row) => !kept.includes(row.id))
      .map((row) => ({ decision, rowId: row.id, here: false, words: 'deleted' }));
    return [...here, ...gone];
  });
}
