import { refuse, type Refusal } from '@ebbline/core/quantity';
import { plainValue } from './feel-values.ts';
import type { DmnTable } from './model.ts';

export interface Hit {
  readonly id: string;
  /** One value per output clause. */
  readonly values: readonly unknown[];
}

interface Choice {
  readonly decision: string;
  readonly table: DmnTable;
  readonly hits: readonly Hit[];
  /** Per output clause its values, first of priority first. */
  readonly priorities: readonly (readonly unknown[])[];
  readonly otherwise: readonly unknown[] | undefined;
}

/**
 * From the rows that hit to the answer, by the table's hit policy. UNIQUE with two rows and no row at all are
 * refused, never settled by order.
 *
 * Source    the standard's chapter on hit policies (S-dmn)
 */
export function chooseHits(
  choice: Choice,
): { readonly raw: unknown; readonly rows: readonly string[] } | Refusal {
  const { table, hits, decision } = choice;
  const one = (hit: Hit): { raw: unknown; rows: readonly string[] } => ({
    raw: outputOf(table, hit.values),
    rows: [hit.id],
  });
  if (table.hitPolicy === 'RULE ORDER' || table.hitPolicy === 'COLLECT') {
    return { raw: hits.map((hit) => outputOf(table, hit.values)), rows: hits.map((hit) => hit.id) };
  }
  const [first] = hits;
  if (!first) {
    if (choice.otherwise) return { raw: outputOf(table, choice.otherwise), rows: [] };
    return refuse('protocol/no-row', {
      asked: 'Decision',
      found: `no row of "${decision}" that fits`,
      allowed: 'a row for every case',
      todo: 'Decide without the table now, and add the missing row.',
    });
  }
  if (hits.length === 1 || table.hitPolicy === 'FIRST') return one(first);
  if (table.hitPolicy === 'UNIQUE') {
    return refuse('protocol/two-rows', {
      asked: 'Decision',
      found: `rows ${hits.map((hit) => hit.id).join(' and ')} of "${decision}" together`,
      allowed: 'one row (hit policy UNIQUE)',
      todo: 'Decide without the table now, and make the rows exclude each other.',
    });
  }
  if (table.hitPolicy === 'ANY') {
    const same = JSON.stringify(plainValue(first.values));
    const other = hits.find((hit) => JSON.stringify(plainValue(hit.values)) !== same);
    if (!other) return { raw: outputOf(table, first.values), rows: hits.map((hit) => hit.id) };
    return refuse('protocol/rows-differ', {
      asked: 'Decision',
      found: `rows ${first.id} and ${other.id} of "${decision}" with different answers`,
      allowed: 'rows that agree (hit policy ANY)',
      todo: 'Decide without the table now, and correct one of the rows.',
    });
  }
  if (choice.priorities.every((list) => list.length === 0)) {
    return refuse('protocol/outside-subset', {
      asked: 'Decision',
      found: `"${decision}" with hit policy PRIORITY and no list of output values`,
      allowed: 'output values in the order of priority',
      todo: 'List the output values in the table.',
    });
  }
  const rank = (hit: Hit, index: number): number => {
    const at = (choice.priorities[index] ?? []).indexOf(hit.values[index]);
    return at < 0 ? Number.MAX_SAFE_INTEGER : at;
  };
  const [best] = [...hits].sort((a, b) => {
    for (const index of table.outputs.keys()) {
      const difference = rank(a, index) - rank(b, index);
      if (difference !== 0) return difference;
    }
    return 0;
  });
  return one(best ?? first);
}

/** One output: its value. Several: an object by name. */
function outputOf(table: DmnTable, values: readonly unknown[]): unknown {
  if (table.outputs.length === 1) return values[0];
  return Object.fromEntries(
    table.outputs.map((output, index) => [output.name ?? `output ${index + 1}`, values[index]]),
  );
}
