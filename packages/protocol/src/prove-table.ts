import { testHolds, type CompiledTable, type Scalar } from './compile-table.ts';
import { dictionary, type InputName } from './dictionary.ts';

/** A patient that shows a fault: one value per input of the table; inputs that do not matter are left out. */
export type Example = Readonly<Record<string, Scalar>>;

export interface TableProof {
  /** Examples that no row answers. */
  readonly gaps: readonly Example[];
  /** Examples that two or more rows answer, with the rows. */
  readonly overlaps: readonly { readonly rows: readonly string[]; readonly example: Example }[];
  /** Rows that answer nobody. */
  readonly idleRows: readonly string[];
  /** How many kinds of patient were told apart. */
  readonly kinds: number;
}

/** The values that an input can take, as far as a table can tell them apart. */
export type Domains = Readonly<Record<string, readonly Scalar[]>>;

/**
 * Whether a table gives every patient one answer: exactly, not by sampling.
 *
 * Between two neighbouring numbers that a column names no cell changes its mind, so one value between them stands
 * for all of them; with the named numbers themselves and "missing" they stand for every value there is. Column by
 * column, values that the remaining rows cannot tell apart are taken together, so that the work grows with the
 * differences the table makes and not with the product of its columns.
 *
 * Domain    compiled tables; inputs of the dictionary, or decisions whose values `domains` gives
 * Not for   what a chain makes impossible: a table is proved for every value of its inputs, also those that the
 *           tables before it never give together
 */
export function proveTable(table: CompiledTable, domains: Domains = {}): TableProof {
  const gaps: Example[] = [];
  const overlaps: { rows: readonly string[]; example: Example }[] = [];
  const used = new Set<string>();
  let kinds = 0;
  const values = table.inputs.map((name, column) => domains[name] ?? valuesOf(table, column, name));

  const descend = (rows: CompiledTable['rows'], column: number, example: Record<string, Scalar>): void => {
    const settled = rows.every((row) => row.tests.every((test, index) => index < column || test === 0));
    if (rows.length === 0 || settled) {
      kinds += 1;
      if (rows.length === 0) gaps.push({ ...example });
      if (rows.length > 1 && table.hitPolicy === 'UNIQUE')
        overlaps.push({ rows: rows.map((row) => row.id), example: { ...example } });
      for (const row of table.hitPolicy === 'FIRST' ? rows.slice(0, 1) : rows) used.add(row.id);
      return;
    }
    const name = table.inputs[column] ?? '';
    if (rows.every((row) => row.tests[column] === 0)) return descend(rows, column + 1, example);
    const seen = new Set<string>();
    for (const value of values[column] ?? []) {
      const left = rows.filter((row) => testHolds(row.tests[column] ?? 0, value));
      const signature = left.map((row) => row.id).join(' ');
      if (seen.has(signature)) continue;
      seen.add(signature);
      descend(left, column + 1, { ...example, [name]: value });
    }
  };
  descend(table.rows, 0, {});
  return { gaps, overlaps, idleRows: table.rows.map((row) => row.id).filter((id) => !used.has(id)), kinds };
}

/** The values of an input of the dictionary that a column can tell apart. */
function valuesOf(table: CompiledTable, column: number, name: string): readonly Scalar[] {
  const entry = Object.hasOwn(dictionary, name) ? dictionary[name as InputName] : undefined;
  if (!entry) return [];
  const missing: readonly Scalar[] = entry.optional ? [null] : [];
  if (entry.kind === 'flag') return [true, false, ...missing];
  if (entry.kind === 'choice') return [...(entry.options ?? []), ...missing];
  const { min = 0, max = 0 } = entry;
  const ends = new Set<number>([min, max]);
  for (const row of table.rows) {
    const test = row.tests[column];
    if (test === undefined || test === 0 || 'not' in test) continue;
    for (const value of test.in ?? []) if (typeof value === 'number') ends.add(value);
    for (const range of test.ranges ?? [])
      for (const end of [range.from, range.to]) if (end !== undefined) ends.add(end);
  }
  const sorted = [...ends].filter((end) => end >= min && end <= max).sort((a, b) => a - b);
  const between = sorted.slice(1).map((end, index) => (end + (sorted[index] ?? end)) / 2);
  return [...sorted, ...between, ...missing];
}

/**
 * Every table of a chain, each for all values of its inputs; what a decision can answer is what its rows answer.
 * `ages` are the age bands that the protocol is for.
 */
export function proveChain(
  tables: readonly CompiledTable[],
  ages: readonly string[],
): readonly { readonly decision: string; readonly proof: TableProof }[] {
  const domains: Record<string, readonly Scalar[]> = { ageBand: ages };
  return tables.map((table) => {
    const proof = proveTable(table, domains);
    if (table.outputs.length === 1)
      domains[table.decision] = [...new Set(table.rows.map((row) => row.values[0] ?? null))];
    return { decision: table.decision, proof };
  });
}
