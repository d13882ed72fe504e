import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { DmnDecision, DmnModel, DmnTable } from './model.ts';

/**
 * A table in a form that answers at once, without an expression engine: only names as inputs; cells that are
 * "any", lists of texts, numbers, true, false and null, or ranges of numbers, and `not(…)` of texts; answers that
 * are plain values. It is plain data, small enough to travel to the bedside.
 */
export type Scalar = string | number | boolean | null;

/** One range of numbers; a missing end is open. */
export interface CompiledRange {
  readonly from?: number;
  /** The end itself belongs to the range. */
  readonly fromIn?: true;
  readonly to?: number;
  readonly toIn?: true;
}

/** 0 = any. Otherwise one of these values or ranges; or, with `not`, none of these values. */
export type CompiledTest =
  | 0
  | { readonly in?: readonly Scalar[]; readonly ranges?: readonly CompiledRange[] }
  | { readonly not: readonly Scalar[] };

export interface CompiledTable {
  readonly decision: string;
  readonly hitPolicy: 'UNIQUE' | 'FIRST';
  /** Names of inputs, or of decisions answered before. */
  readonly inputs: readonly string[];
  readonly outputs: readonly string[];
  readonly rows: readonly {
    readonly id: string;
    readonly tests: readonly CompiledTest[];
    readonly values: readonly Scalar[];
  }[];
}

export interface CompiledAnswer {
  readonly rowId: string;
  readonly values: Readonly<Record<string, Scalar>>;
}

const text = String.raw`"(?:[^"\\]|\\.)*"`;
const number = String.raw`-?\d+(?:\.\d+)?`;
const scalarPattern = new RegExp(`^(?:${text}|${number}|true|false|null)$`);
const comparison = new RegExp(`^(<=|>=|<|>)\\s*(${number})$`);
const interval = new RegExp(`^([[\\](])\\s*(${number})\\s*\\.\\.\\s*(${number})\\s*([\\][)])$`);

const cannot = (found: string, where: string): Refusal =>
  refuse('protocol/not-compilable', {
    asked: 'Table',
    found,
    allowed:
      'names as inputs; cells of "-", texts, numbers, true, false, null, ranges of numbers, not(texts); plain values as answers; hit policy UNIQUE or FIRST',
    todo: 'Write the cell in this form, or run the file with the expression engine.',
    where,
  });

function scalarOf(source: string): Scalar {
  return JSON.parse(source) as Scalar;
}

/** Cuts at commas that stand outside quotes. */
function pieces(source: string): readonly string[] {
  return (source.match(/(?:"(?:[^"\\]|\\.)*"|[^,"])+/g) ?? []).map((piece) => piece.trim());
}

/** One cell of unary tests in compiled form. */
export function compileTest(source: string, where = ''): CompiledTest | Refusal {
  const cell = source.trim();
  if (cell === '' || cell === '-') return 0;
  const inner = /^not\(([\s\S]*)\)$/.exec(cell)?.[1];
  const values: Scalar[] = [];
  const ranges: CompiledRange[] = [];
  for (const piece of pieces(inner ?? cell)) {
    if (scalarPattern.test(piece)) {
      values.push(scalarOf(piece));
      continue;
    }
    const compared = comparison.exec(piece);
    if (compared) {
      const [, sign = '', end = ''] = compared;
      const at = Number(end);
      if (sign.startsWith('<')) ranges.push({ to: at, ...(sign === '<=' ? { toIn: true } : {}) });
      else ranges.push({ from: at, ...(sign === '>=' ? { fromIn: true } : {}) });
      continue;
    }
    const between = interval.exec(piece);
    if (!between) return cannot(`the cell ${cell.slice(0, 60)}`, where);
    const [, open = '', from = '', to = '', close = ''] = between;
    if (Number(from) > Number(to)) return cannot(`the empty range ${piece}`, where);
    ranges.push({
      from: Number(from),
      ...(open === '[' ? { fromIn: true } : {}),
      to: Number(to),
      ...(close === ']' ? { toIn: true } : {}),
    });
  }
  if (inner === undefined)
    return { ...(values.length > 0 ? { in: values } : {}), ...(ranges.length > 0 ? { ranges } : {}) };
  if (ranges.length > 0 || values.some((value) => typeof value !== 'string'))
    return cannot(`the cell ${cell.slice(0, 60)}`, where);
  return { not: values };
}

/** True when the value meets the compiled test. A missing value meets only "any", null and not(texts), as in FEEL. */
export function testHolds(test: CompiledTest, value: Scalar): boolean {
  if (test === 0) return true;
  if ('not' in test) return !test.not.includes(value);
  if (test.in?.includes(value)) return true;
  if (typeof value !== 'number' || !test.ranges) return false;
  return test.ranges.some(
    (range) =>
      (range.from === undefined || (range.fromIn ? value >= range.from : value > range.from)) &&
      (range.to === undefined || (range.toIn ? value <= range.to : value < range.to)),
  );
}

/** One decision's table in compiled form, or why not. */
export function compileTable(decision: DmnDecision): CompiledTable | Refusal {
  const { logic } = decision;
  if (logic.kind !== 'table') return cannot(`"${decision.name}", which is no table`, decision.name);
  if (logic.hitPolicy !== 'UNIQUE' && logic.hitPolicy !== 'FIRST')
    return cannot(`hit policy ${logic.hitPolicy}`, decision.name);
  return compileRows(decision.name, logic, logic.hitPolicy);
}

function compileRows(
  decision: string,
  table: DmnTable,
  hitPolicy: 'UNIQUE' | 'FIRST',
): CompiledTable | Refusal {
  for (const clause of table.inputs) {
    if (!/^[A-Za-z_]\w*$/.test(clause.expression))
      return cannot(`the input ${clause.expression.slice(0, 60)}`, decision);
  }
  const rows: CompiledTable['rows'][number][] = [];
  for (const row of table.rows) {
    const tests: CompiledTest[] = [];
    for (const cell of row.tests) {
      const test = compileTest(cell, row.id);
      if (isRefusal(test)) return test;
      tests.push(test);
    }
    const wrong = row.values.find((value) => value !== '' && !scalarPattern.test(value));
    if (wrong !== undefined) return cannot(`the answer ${wrong.slice(0, 60)}`, row.id);
    rows.push({
      id: row.id,
      tests,
      values: row.values.map((value) => (value === '' ? null : scalarOf(value))),
    });
  }
  return {
    decision,
    hitPolicy,
    inputs: table.inputs.map((clause) => clause.expression),
    outputs: table.outputs.map((output) => output.name ?? decision),
    rows,
  };
}

/** Every decision that the named one needs, before it, each compiled. */
export function compileChain(model: DmnModel, decisionName: string): readonly CompiledTable[] | Refusal {
  const order: CompiledTable[] = [];
  const visit = (decision: DmnDecision, path: readonly string[]): Refusal | undefined => {
    if (order.some((table) => table.decision === decision.name)) return undefined;
    if (path.includes(decision.id)) return cannot(`"${decision.name}" in a circle of needs`, decision.name);
    for (const id of decision.needsDecisions) {
      const needed = model.decisions.find((one) => one.id === id);
      if (!needed) return cannot(`${id}, which is not in this file`, decision.name);
      const trouble = visit(needed, [...path, decision.id]);
      if (trouble) return trouble;
    }
    const table = compileTable(decision);
    if (isRefusal(table)) return table;
    order.push(table);
    return undefined;
  };
  const last = model.decisions.find((one) => one.name === decisionName);
  if (!last) return cannot(`no decision named "${decisionName}"`, decisionName);
  return visit(last, []) ?? order;
}

/**
 * Answers a compiled table.
 *
 * Errors    protocol/no-row · protocol/two-rows
 */
export function answerTable(
  table: CompiledTable,
  context: Readonly<Record<string, unknown>>,
): CompiledAnswer | Refusal {
  const values = table.inputs.map((name) => (context[name] ?? null) as Scalar);
  const hits = table.rows.filter((row) =>
    row.tests.every((test, index) => testHolds(test, values[index] ?? null)),
  );
  const [first, second] = hits;
  if (!first) {
    return refuse('protocol/no-row', {
      asked: 'Protocol',
      found: `no row of "${table.decision}" that fits`,
      allowed: 'a row for every case',
      todo: 'Decide without the protocol now, and tell its owner that a row is missing.',
    });
  }
  if (second && table.hitPolicy === 'UNIQUE') {
    return refuse('protocol/two-rows', {
      asked: 'Protocol',
      found: `rows ${hits.map((row) => row.id).join(' and ')} of "${table.decision}" together`,
      allowed: 'one row',
      todo: 'Decide without the protocol now, and tell its owner that two rows fit.',
    });
  }
  return {
    rowId: first.id,
    values: Object.fromEntries(table.outputs.map((name, index) => [name, first.values[index] ?? null])),
  };
}
