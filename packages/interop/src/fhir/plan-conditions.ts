/**
 * When a row of a protocol answers, as FHIRPath over the protocol's inputs: `%volumeMl`, `%trigger` and the others of its
 * dictionary, each one value or nothing. Every expression gives true or false, never nothing, also when inputs are missing,
 * so that "and" and "or" mean what the tables mean.
 *
 * Source    FHIRPath 2.0: external constants, where(), exists(), empty() (S-fhirpath)
 */
import type { CompiledProtocol, CompiledTable, CompiledTest, Scalar } from '@ebbline/protocol';

const literal = (value: Scalar): string =>
  typeof value === 'string'
    ? `'${value.replaceAll('\\', '\\\\').replaceAll("'", String.raw`\'`)}'`
    : String(value);
const all = (parts: readonly string[]): string => (parts.length === 0 ? 'true' : parts.join(' and '));
const any = (parts: readonly string[]): string =>
  parts.length === 0 ? 'false' : parts.length === 1 ? (parts[0] ?? '') : `(${parts.join(' or ')})`;

function inputHolds(name: string, test: Exclude<CompiledTest, 0>): string {
  const same = (values: readonly Scalar[]): readonly string[] =>
    values.filter((value) => value !== null).map((value) => `$this = ${literal(value)}`);
  if ('not' in test) return `%${name}.where(${any(same(test.not))}).empty()`;
  const ranges = (test.ranges ?? []).map((range) =>
    all([
      ...(range.from === undefined ? [] : [`$this ${range.fromIn ? '>=' : '>'} ${range.from}`]),
      ...(range.to === undefined ? [] : [`$this ${range.toIn ? '<=' : '<'} ${range.to}`]),
    ]),
  );
  const values = [...same(test.in ?? []), ...ranges];
  return any([
    ...(test.in?.includes(null) ? [`%${name}.empty()`] : []),
    ...(values.length === 0 ? [] : [`%${name}.where(${values.join(' or ')}).exists()`]),
  ]);
}

/** True when an answer of a table before meets a test of a table after it. */
const answerMeets = (test: Exclude<CompiledTest, 0>, answer: Scalar): boolean =>
  'not' in test ? !test.not.includes(answer) : (test.in?.includes(answer) ?? false);

/**
 * The conditions of each row of the last table, one per column that asks; all must hold. What an earlier table answers is
 * written out as the conditions of its own rows, so that a receiver needs the inputs and nothing else.
 */
export function rowConditions(
  protocol: CompiledProtocol,
): ReadonlyMap<string, readonly { readonly about: string; readonly expression: string }[]> {
  const earlier = new Map<string, { readonly table: CompiledTable; readonly rows: readonly string[] }>();
  const columns = (
    table: CompiledTable,
    row: CompiledTable['rows'][number],
  ): readonly { readonly about: string; readonly expression: string }[] =>
    table.inputs.flatMap((name, column) => {
      const test = row.tests[column] ?? 0;
      if (test === 0) return [];
      const before = earlier.get(name);
      if (!before) return [{ about: name, expression: inputHolds(name, test) }];
      const reach = before.table.rows.flatMap((one, at) =>
        answerMeets(test, one.values[0] ?? null) ? [`(${before.rows[at] ?? 'false'})`] : [],
      );
      return [{ about: name, expression: any(reach) }];
    });
  const found = new Map<string, readonly { readonly about: string; readonly expression: string }[]>();
  for (const table of protocol.tables) {
    const own = table.rows.map((row) => columns(table, row));
    const whole = own.map((parts) => all(parts.map((one) => one.expression)));
    // Where the first row counts, a later one answers only those whom no row above it has taken.
    const taken = (at: number): readonly string[] =>
      table.hitPolicy === 'FIRST' ? whole.slice(0, at).map((one) => `(${one}).not()`) : [];
    earlier.set(table.decision, {
      table,
      rows: whole.map((one, at) => all([one, ...taken(at)])),
    });
    if (table !== protocol.tables.at(-1)) continue;
    for (const [at, row] of table.rows.entries())
      found.set(row.id, [
        ...(own[at] ?? []),
        ...taken(at).map((expression) => ({ about: 'rows above', expression })),
      ]);
  }
  return found;
}
