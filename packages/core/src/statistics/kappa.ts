/**
 * Agreement on categories beyond chance: Cohen's kappa, plain or weighted, and Fleiss's for many raters.
 *
 * Domain    a square table of whole counts (Cohen); equal numbers of ratings for each subject (Fleiss)
 * Source    S-cohen-1960, S-fleiss-cohen-everitt (both standard errors), S-fleiss-1971
 */
import { isRefusal, refuse, type Refusal } from '../quantity/index.ts';
import { mean, sum } from './check.ts';
import { normalQuantile } from './distributions.ts';
import { clopperPearsonInterval } from './proportions.ts';

export interface Kappa {
  readonly kappa: number;
  /** For an interval. */
  readonly standardError: number;
  /** Under no agreement beyond chance, for a test. */
  readonly standardErrorAtZero: number;
  readonly low: number;
  readonly high: number;
}

export type KappaWeights = 'none' | 'linear' | 'quadratic';

export function cohenKappa(
  table: readonly (readonly number[])[],
  weights: KappaWeights = 'none',
): Kappa | Refusal {
  const size = table.length;
  const n = sum(table.flat());
  if (
    size < 2 ||
    table.some((row) => row.length !== size || row.some((count) => !Number.isInteger(count) || count < 0)) ||
    n === 0
  ) {
    return refuse('statistics/not-a-table', {
      asked: 'Kappa',
      found: `${size} rows`,
      allowed: 'a square table of whole counts, not all 0',
      todo: 'Give the same categories for both.',
    });
  }
  const p = table.map((row) => row.map((count) => count / n));
  const rows = p.map((row) => sum(row));
  const columns = p.map((_, column) => sum(p.map((row) => row[column] as number)));
  const weight = (i: number, j: number): number =>
    weights === 'none'
      ? i === j
        ? 1
        : 0
      : weights === 'linear'
        ? 1 - Math.abs(i - j) / (size - 1)
        : 1 - ((i - j) / (size - 1)) ** 2;
  const over = (term: (i: number, j: number) => number): number =>
    sum(p.flatMap((row, i) => row.map((_, j) => term(i, j))));
  const cell = (i: number, j: number): number => (p[i] as number[])[j] as number;
  const seen = over((i, j) => weight(i, j) * cell(i, j));
  const chance = over((i, j) => weight(i, j) * (rows[i] as number) * (columns[j] as number));
  if (chance === 1)
    return refuse('statistics/no-spread', {
      asked: 'Kappa',
      found: 'one category only',
      allowed: 'at least two categories in use',
      todo: 'There is nothing to agree about.',
    });
  const kappa = (seen - chance) / (1 - chance);
  const ofRow = rows.map((_, i) => sum(columns.map((column, j) => weight(i, j) * column)));
  const ofColumn = columns.map((_, j) => sum(rows.map((row, i) => weight(i, j) * row)));
  const main = over(
    (i, j) =>
      cell(i, j) * (weight(i, j) - ((ofRow[i] as number) + (ofColumn[j] as number)) * (1 - kappa)) ** 2,
  );
  const atZero = over(
    (i, j) =>
      (rows[i] as number) *
      (columns[j] as number) *
      (weight(i, j) - ((ofRow[i] as number) + (ofColumn[j] as number))) ** 2,
  );
  const scale = n * (1 - chance) ** 2;
  const standardError = Math.sqrt(Math.max(0, main - (kappa - chance * (1 - kappa)) ** 2) / scale);
  const z = normalQuantile(0.975);
  return {
    kappa,
    standardError,
    standardErrorAtZero: Math.sqrt(Math.max(0, atZero - chance ** 2) / scale),
    low: kappa - z * standardError,
    high: kappa + z * standardError,
  };
}

/** Kappa as it would be with both categories equally common, with its exact interval. */
export function balancedKappa(
  agreed: number,
  of: number,
): { readonly kappa: number; readonly low: number; readonly high: number } | Refusal {
  const share = clopperPearsonInterval(agreed, of);
  return isRefusal(share)
    ? share
    : { kappa: 2 * share.share - 1, low: 2 * share.low - 1, high: 2 * share.high - 1 };
}

/** Many raters: one row per subject, one column per category, counts of ratings. */
export function fleissKappa(
  ratings: readonly (readonly number[])[],
): { readonly kappa: number; readonly seen: number; readonly chance: number } | Refusal {
  const raters = sum(ratings[0] ?? []);
  if (ratings.length < 2 || raters < 2 || ratings.some((row) => sum(row) !== raters)) {
    return refuse('statistics/not-a-table', {
      asked: 'Kappa of many raters',
      found: `${ratings.length} subjects, unequal ratings`,
      allowed: 'at least 2 subjects with the same number of ratings, at least 2',
      todo: 'Leave out subjects not rated by all.',
    });
  }
  const seen = mean(
    ratings.map((row) => (sum(row.map((count) => count * count)) - raters) / (raters * (raters - 1))),
  );
  const categories = ratings[0]?.length ?? 0;
  const chance = sum(
    Array.from(
      { length: categories },
      (_, column) => (sum(ratings.map((row) => row[column] as number)) / (ratings.length * raters)) ** 2,
    ),
  );
  return { kappa: (seen - chance) / (1 - chance), seen, chance };
}
