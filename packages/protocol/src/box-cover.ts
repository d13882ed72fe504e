import { refuse, type Refusal } from '@ebbline/core/quantity';
import {
  countOf,
  holds,
  holdsInput,
  meet,
  narrowed,
  shared,
  sharedCount,
  type Box,
  type InputSpace,
} from './input-space.ts';

/**
 * How much a proof may cost, in comparisons of one row with one box. A count and not a clock, so that the same
 * table is proved or refused on every machine (S-protocol-proof-budget).
 */
export interface Budget {
  left: number;
}
export const proofBudget = 3_000_000;
export const budget = (left: number = proofBudget): Budget => ({ left });

/** A fault list longer than this helps nobody; the proof says that there are more. */
export const mostListed = 2000;

export const tooLarge = (decision: string): Refusal =>
  refuse('protocol/too-large-to-prove', {
    asked: 'Proof',
    found: `"${decision}" after ${proofBudget} comparisons, without an end`,
    allowed: 'a table whose rows can be told apart within that many',
    todo: 'Split the table into several smaller ones that follow each other.',
    where: decision,
  });

/** Two rows that share a box. */
export interface Pair {
  readonly a: number;
  readonly b: number;
  readonly both: Box;
}

/** The pairs of rows that meet inside a box, at most so many; `whole` when that is all of them. */
export function pairsIn(
  space: InputSpace,
  box: Box,
  rows: readonly Box[],
  most: number,
): { readonly pairs: readonly Pair[]; readonly whole: boolean } {
  const pairs: Pair[] = [];
  for (let a = 0; a < rows.length; a += 1) {
    const first = shared(space, rows[a] as Box, box);
    if (!first) continue;
    for (let b = a + 1; b < rows.length; b += 1) {
      const both = shared(space, first, rows[b] as Box);
      if (!both) continue;
      if (pairs.length >= most) return { pairs, whole: false };
      pairs.push({ a, b, both });
    }
  }
  return { pairs, whole: true };
}

export interface Uncovered {
  /** Boxes that share nothing with each other and together are what no row holds. */
  readonly gaps: readonly Box[];
  /** False when the budget or the list ended first: there may be more. */
  readonly whole: boolean;
}

/**
 * What of a box no row holds.
 *
 * Rows that share nothing cover the box exactly when their counts add up to its count, so such boxes end at once,
 * however many rows they have. Otherwise the box is cut in two along the input that most rows ask for, at the cell
 * of the largest row, and each half sees only the rows that reach it.
 */
export function uncovered(
  space: InputSpace,
  box: Box,
  rows: readonly Box[],
  spend: Budget,
  most: number = mostListed,
  /** The pairs of rows that meet in the box, when they are known already. */
  known?: { readonly pairs: readonly Pair[]; readonly whole: boolean },
): Uncovered {
  const gaps: Box[] = [];
  const meeting = known ?? pairsIn(space, box, rows, 400);
  const whole = search(box, rows, meeting.whole ? meeting.pairs : undefined);
  return { gaps, whole };

  function search(within: Box, given: readonly Box[], meeting: readonly Pair[] | undefined): boolean {
    spend.left -= given.length + 1;
    if (spend.left < 0 || gaps.length >= most) return false;
    const reach = given.filter((row) => meet(space, row, within));
    if (reach.length === 0) {
      gaps.push(within);
      return true;
    }
    if (reach.some((row) => holds(row, within))) return true;
    const still = meeting?.filter((pair) => meet(space, pair.both, within));
    if (still?.length === 0) {
      const sum = reach.reduce((total, row) => total + sharedCount(space, row, within), 0n);
      if (sum === countOf(space, within)) return true;
    }
    const { row, input } = cut(within, reach);
    const inside = search(narrowed(space, within, row, input, false), reach, still);
    return search(narrowed(space, within, row, input, true), reach, still) && inside;
  }

  function cut(within: Box, reach: readonly Box[]): { readonly row: Box; readonly input: number } {
    const asking = space.names.map(
      (_name, input) => reach.filter((row) => !holdsInput(space, row, within, input)).length,
    );
    let row = reach[0] as Box;
    let largest = -1n;
    for (const one of reach.length > 64 ? reach.slice(0, 64) : reach) {
      const count = sharedCount(space, one, within);
      if (count > largest) [row, largest] = [one, count];
    }
    let input = -1;
    for (const [index, count] of asking.entries())
      if (!holdsInput(space, row, within, index) && (input < 0 || count > (asking[input] ?? 0)))
        input = index;
    return { row, input };
  }
}

/** True when the rows hold the whole box; undefined when the budget ended first. */
export function covers(
  space: InputSpace,
  box: Box,
  rows: readonly Box[],
  spend: Budget,
): boolean | undefined {
  const { gaps, whole } = uncovered(space, box, rows, spend, 1);
  return gaps.length > 0 ? false : whole ? true : undefined;
}
