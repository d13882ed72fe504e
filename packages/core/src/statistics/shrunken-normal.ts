/**
 * Mean and spread of a normal from few values, shrunk to what was believed before: the normal–inverse-gamma family.
 *
 *     believed   σ² ~ inverse gamma(a₀, b₀)     mean | σ² ~ N(m₀, σ²/k₀)
 *     learnt     k = k₀ + n     m = (k₀ m₀ + n x̄)/k     a = a₀ + n/2     b = b₀ + ½Σ(x − x̄)² + k₀ n (x̄ − m₀)²/(2k)
 *     mean ~ t with 2a degrees about m, scale √(b/(a k))     1/σ² ~ gamma(a, b)
 *
 * Units     those of the values
 * Domain    finite values, none is allowed; k₀, a₀, b₀ above 0
 * Errors    the same in whatever order the values come; 1e-9 against another program
 *           (conformance/data/statistics/shrunken-normal.json)
 * Source    S-normal-inverse-gamma
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { mean, sum } from './check.ts';
import { gammaQuantile, studentQuantile } from './distributions.ts';

export interface ShrunkenPrior {
  /** Believed mean, and how many values that is worth. */
  readonly mean: number;
  readonly meanWorth: number;
  /** Believed spread, and how many values that is worth: the mode of σ² lies a little below its square. */
  readonly spread: number;
  readonly spreadWorth: number;
}

export interface Ranged {
  readonly low: number;
  readonly likely: number;
  readonly high: number;
}

export interface ShrunkenNormal {
  readonly values: number;
  /** Middle and the interval that holds it with the chance asked for. */
  readonly mean: Ranged;
  /** Median and interval of the spread. */
  readonly spread: Ranged;
}

/** @param held chance that each interval holds what it is for, 0.9 unless told */
export function shrunkenNormal(
  values: readonly number[],
  prior: ShrunkenPrior,
  held = 0.9,
): ShrunkenNormal | Refusal {
  const { meanWorth, spread, spreadWorth } = prior;
  if (
    !values.every(Number.isFinite) ||
    !Number.isFinite(prior.mean) ||
    ![meanWorth, spread, spreadWorth].every((one) => one > 0 && Number.isFinite(one)) ||
    !(held > 0 && held < 1)
  ) {
    return refuse('statistics/not-a-number', {
      asked: 'Mean and spread',
      found: 'a value or a belief that is no number above 0',
      allowed: 'finite values; a spread and worths above 0',
      todo: 'Check the values.',
    });
  }
  // Sums in one order, so that the order of arrival changes no digit.
  const ordered = values.toSorted((one, other) => one - other);
  const n = ordered.length;
  const middle = n === 0 ? prior.mean : mean(ordered);
  const worth = meanWorth + n;
  const likely = prior.mean + (n / worth) * (middle - prior.mean);
  const shape = (spreadWorth + n) / 2;
  const scale =
    (spreadWorth * spread * spread +
      sum(ordered.map((one) => (one - middle) ** 2)) +
      (meanWorth * n * (middle - prior.mean) ** 2) / worth) /
    2;
  const reach = studentQuantile((1 + held) / 2, 2 * shape) * Math.sqrt(scale / (shape * worth));
  const spreadAt = (share: number): number => Math.sqrt(scale / gammaQuantile(1 - share, shape));
  return {
    values: n,
    mean: { low: likely - reach, likely, high: likely + reach },
    spread: { low: spreadAt((1 - held) / 2), likely: spreadAt(0.5), high: spreadAt((1 + held) / 2) },
  };
}
