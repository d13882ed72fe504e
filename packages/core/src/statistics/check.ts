/** Refusals that several figures share. */
import { refuse, type Refusal } from '../quantity/index.ts';

/** A count and what it is counted out of, or why they cannot be. */
export function badShare(asked: string, count: number, of: number): Refusal | undefined {
  if (Number.isInteger(count) && Number.isInteger(of) && count >= 0 && of > 0 && count <= of)
    return undefined;
  return refuse('statistics/not-a-share', {
    asked,
    found: `${count} of ${of}`,
    allowed: 'whole numbers, the count from 0 up to the whole, the whole above 0',
    todo: 'Check what is counted and out of how many.',
  });
}

/** Refuses a list that is too short or holds something that is no finite number. */
export function badList(asked: string, values: readonly number[], atLeast: number): Refusal | undefined {
  const wrong = values.findIndex((value) => !Number.isFinite(value));
  if (wrong >= 0) {
    return refuse('statistics/not-a-number', {
      asked,
      found: `${String(values[wrong])} at place ${wrong + 1}`,
      allowed: 'finite numbers',
      todo: 'Leave out or correct that value.',
    });
  }
  if (values.length >= atLeast) return undefined;
  return refuse('statistics/too-few', {
    asked,
    found: `${values.length} values`,
    allowed: `at least ${atLeast}`,
    todo: 'Wait for more before showing this figure.',
  });
}

export const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

export const mean = (values: readonly number[]): number => sum(values) / values.length;

/** Variance with n − 1. */
export function variance(values: readonly number[]): number {
  const middle = mean(values);
  return values.reduce((total, value) => total + (value - middle) ** 2, 0) / (values.length - 1);
}

export const standardDeviation = (values: readonly number[]): number => Math.sqrt(variance(values));

/** Solves a small dense system by elimination with row exchange; undefined when it is singular. */
export function solveLinear(
  matrix: readonly (readonly number[])[],
  right: readonly number[],
): number[] | undefined {
  const size = right.length;
  const rows: Float64Array<ArrayBufferLike>[] = matrix.map((row, index) =>
    Float64Array.from([...row, right[index] as number]),
  );
  for (let column = 0; column < size; column += 1) {
    let best = column;
    for (let row = column + 1; row < size; row += 1) {
      if (
        Math.abs((rows[row] as Float64Array)[column] as number) >
        Math.abs((rows[best] as Float64Array)[column] as number)
      )
        best = row;
    }
    const pivotRow = rows[best] as Float64Array;
    rows[best] = rows[column] as Float64Array;
    rows[column] = pivotRow;
    const pivot = pivotRow[column] as number;
    if (Math.abs(pivot) < 1e-300) return undefined;
    for (let row = column + 1; row < size; row += 1) {
      const current = rows[row] as Float64Array;
      const factor = (current[column] as number) / pivot;
      if (factor === 0) continue;
      for (let place = column; place <= size; place += 1)
        current[place] = (current[place] as number) - factor * (pivotRow[place] as number);
    }
  }
  const answer = Array.from({ length: size }, () => 0);
  for (let row = size - 1; row >= 0; row -= 1) {
    const current = rows[row] as Float64Array;
    let rest = current[size] as number;
    for (let place = row + 1; place < size; place += 1)
      rest -= (current[place] as number) * (answer[place] as number);
    answer[row] = rest / (current[row] as number);
  }
  return answer;
}
