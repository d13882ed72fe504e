import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { budget, covers, mostListed, pairsIn, tooLarge, uncovered, type Budget } from './box-cover.ts';
import type { CompiledTable, Scalar } from './compile-table.ts';
import { dictionary } from './dictionary.ts';
import {
  boxOfTests,
  cellOf,
  countOf,
  everything,
  holdsInput,
  inputSpace,
  piecesIn,
  piecesOf,
  type Box,
  type InputSpace,
} from './input-space.ts';

/** A patient that shows a fault: one value per input that matters; the others are left out. */
export type Example = Readonly<Record<string, Scalar>>;

/** A set of patients: one cell per input that matters, to be read or put into a row. */
export type Cells = Readonly<Record<string, string>>;

export interface TableGap {
  readonly example: Example;
  readonly cells: Cells;
}

export interface TableOverlap {
  readonly rows: readonly [string, string];
  readonly example: Example;
  readonly cells: Cells;
}

export interface TableProof {
  /** What no row answers; no patient is in two of them. */
  readonly gaps: readonly TableGap[];
  /** Each two rows of a UNIQUE table that both answer somebody. */
  readonly overlaps: readonly TableOverlap[];
  /** Rows that answer nobody. */
  readonly idleRows: readonly string[];
  /** How many kinds of patient the cells can tell apart. */
  readonly kinds: number;
  /** False when there are more gaps or overlaps than are listed. */
  readonly whole: boolean;
}

/** The values that an input can take, as far as a table can tell them apart. */
export type Domains = Readonly<Record<string, readonly Scalar[]>>;

/** The lowest patient of a box, with only what matters. */
export function exampleOf(space: InputSpace, box: Box): Example {
  const full = everything(space);
  const example: Record<string, Scalar> = {};
  for (const [input, name] of space.names.entries()) {
    if (holdsInput(space, box, full, input)) continue;
    const [lowest = 0] = piecesIn(space, box, input);
    example[name] = space.values[input]?.[lowest] ?? null;
  }
  return example;
}

export function cellsOf(space: InputSpace, box: Box): Cells {
  const cells: Record<string, string> = {};
  for (const [input, name] of space.names.entries()) {
    const cell = cellOf(space, box, input);
    if (cell !== '-') cells[name] = cell;
  }
  return cells;
}

/**
 * Whether a table gives every patient one answer: exactly, not by sampling.
 *
 * Between two neighbouring numbers that a column names no cell changes its mind, so one value between them stands
 * for all of them; with the named numbers themselves and "missing" they stand for every value there is.
 *
 * Domain    compiled tables; inputs of the dictionary, or decisions whose values `domains` gives
 * Errors    protocol/unknown-input · protocol/too-large-to-prove, when no fault was found before the budget ended
 * Not for   what a chain makes impossible: a table is proved for every value of its inputs, also those that the
 *           tables before it never give together
 */
export function proveTable(
  table: CompiledTable,
  domains: Domains = {},
  spend: Budget = budget(),
): TableProof | Refusal {
  const names = [...new Set(table.inputs)];
  const stray = names.find((name) => !Object.hasOwn(domains, name) && !Object.hasOwn(dictionary, name));
  if (stray !== undefined) {
    return refuse('protocol/unknown-input', {
      asked: 'Proof',
      found: `the input "${stray.slice(0, 40)}" in "${table.decision}"`,
      allowed: 'inputs of the dictionary, or decisions whose answers are known',
      todo: 'Use a name of the dictionary.',
      where: stray.slice(0, 40),
    });
  }
  const space = inputSpace(
    names,
    names.map(
      (name) =>
        domains[name] ??
        piecesOf(
          name,
          table.rows.flatMap((row) => row.tests.filter((_test, column) => table.inputs[column] === name)),
        ),
    ),
  );
  const all = everything(space);
  const rows = table.rows.map((row) => boxOfTests(space, table.inputs, row.tests));
  const id = (index: number): string => table.rows[index]?.id ?? '';
  const meeting =
    table.hitPolicy === 'UNIQUE' ? pairsIn(space, all, rows, mostListed) : { pairs: [], whole: true };
  const { gaps, whole } = uncovered(
    space,
    all,
    rows,
    spend,
    mostListed,
    table.hitPolicy === 'UNIQUE' ? meeting : undefined,
  );
  const idleRows: string[] = [];
  for (const [index, row] of rows.entries()) {
    const before = table.hitPolicy === 'FIRST' ? rows.slice(0, index) : [];
    const idle = countOf(space, row) === 0n || covers(space, row, before, spend);
    if (idle === undefined && gaps.length === 0) return tooLarge(table.decision);
    if (idle === true) idleRows.push(id(index));
  }
  if (!whole && gaps.length === 0 && meeting.pairs.length === 0) return tooLarge(table.decision);
  return {
    gaps: gaps.map((box) => ({ example: exampleOf(space, box), cells: cellsOf(space, box) })),
    overlaps: meeting.pairs.map(({ a, b, both }) => ({
      rows: [id(a), id(b)],
      example: exampleOf(space, both),
      cells: cellsOf(space, both),
    })),
    idleRows,
    kinds: Number(countOf(space, all)),
    whole: whole && meeting.whole,
  };
}

/**
 * Every table of a chain, each for all values of its inputs; what a decision can answer is what its rows answer.
 * `ages` are the age bands that the protocol is for.
 */
export function proveChain(
  tables: readonly CompiledTable[],
  ages: readonly string[],
): readonly { readonly decision: string; readonly proof: TableProof }[] | Refusal {
  const domains: Record<string, readonly Scalar[]> = { ageBand: ages };
  const proofs: { decision: string; proof: TableProof }[] = [];
  for (const table of tables) {
    const proof = proveTable(table, domains);
    if (isRefusal(proof)) return proof;
    if (table.outputs.length === 1)
      domains[table.decision] = [...new Set(table.rows.map((row) => row.values[0] ?? null))];
    proofs.push({ decision: table.decision, proof });
  }
  return proofs;
}
