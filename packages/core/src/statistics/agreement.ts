/**
 * Do two ways of measuring agree? Limits of agreement with their intervals, with and without repeats, the
 * within-person standard deviation, proportional bias, and Lin's concordance.
 *
 * Units     those of the pairs (mL for volumes); differences are first less second
 * Domain    at least 3 pairs of finite numbers
 * Not for   repeats pooled as if from different people: `repeatedLimits`
 * Source    S-clinical-J1 to S-clinical-J7, S-clinical-J12; S-lin-1989
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { badList, mean, standardDeviation, sum, variance } from './check.ts';
import { normalQuantile, studentQuantile, studentTwoSided } from './distributions.ts';

/** As printed in 1999, not the exact normal quantile 1.95996. S-clinical-J2 */
const published = 1.96;

export type Pair = readonly [number, number];
export interface Interval {
  readonly low: number;
  readonly high: number;
}

export interface LimitsOfAgreement {
  readonly pairs: number;
  readonly bias: number;
  readonly standardDeviation: number;
  readonly biasStandardError: number;
  readonly biasInterval: Interval;
  readonly limits: Interval;
  readonly limitStandardError: number;
  readonly lowerLimitInterval: Interval;
  readonly upperLimitInterval: Interval;
}

const differences = (pairs: readonly Pair[]): number[] => pairs.map(([first, second]) => first - second);

/**
 * @param settings.multiple 1.96 (1999) or 2 (1986) standard deviations
 * @param settings.limitError `full`: √(1/n + z²/(2(n−1))); `short`: √(3/n), as printed in 1986
 */
export function limitsOfAgreement(
  pairs: readonly Pair[],
  settings: { readonly multiple?: number; readonly limitError?: 'full' | 'short' } = {},
): LimitsOfAgreement | Refusal {
  const bad = badList('Agreement', pairs.flat(), 6);
  if (bad) return bad;
  const apart = differences(pairs);
  const n = apart.length;
  const bias = mean(apart);
  const sd = standardDeviation(apart);
  const multiple = settings.multiple ?? published;
  const biasStandardError = sd / Math.sqrt(n);
  const limitStandardError =
    sd * Math.sqrt(settings.limitError === 'short' ? 3 / n : 1 / n + published ** 2 / (2 * (n - 1)));
  const t = studentQuantile(0.975, n - 1);
  const around = (middle: number, error: number): Interval => ({
    low: middle - t * error,
    high: middle + t * error,
  });
  const limits = { low: bias - multiple * sd, high: bias + multiple * sd };
  return {
    pairs: n,
    bias,
    standardDeviation: sd,
    biasStandardError,
    biasInterval: around(bias, biasStandardError),
    limits,
    limitStandardError,
    lowerLimitInterval: around(limits.low, limitStandardError),
    upperLimitInterval: around(limits.high, limitStandardError),
  };
}

/** Limits of the ratio first/second, for errors that grow with size. Zeros are refused, not dropped. */
export function ratioLimits(
  pairs: readonly Pair[],
): { readonly ratio: number; readonly low: number; readonly high: number } | Refusal {
  const bad = badList('Agreement as a ratio', pairs.flat(), 6);
  if (bad) return bad;
  const zeros = pairs.filter(([first, second]) => first <= 0 || second <= 0).length;
  if (zeros > 0)
    return refuse('statistics/zero-in-ratio', {
      asked: 'Agreement as a ratio',
      found: `${zeros} pairs with 0`,
      allowed: 'values above 0',
      todo: 'Leave those pairs out and say so.',
    });
  const logs = pairs.map(([first, second]) => Math.log(first / second));
  const [middle, spread] = [mean(logs), published * standardDeviation(logs)];
  return { ratio: Math.exp(middle), low: Math.exp(middle - spread), high: Math.exp(middle + spread) };
}

/** Straight line of the difference on the mean of the two. */
export function proportionalBias(pairs: readonly Pair[]):
  | {
      readonly intercept: number;
      readonly slope: number;
      readonly slopeStandardError: number;
      readonly p: number;
    }
  | Refusal {
  const bad = badList('Proportional bias', pairs.flat(), 6);
  if (bad) return bad;
  const apart = differences(pairs);
  const middles = pairs.map(([first, second]) => (first + second) / 2);
  const [mx, my] = [mean(middles), mean(apart)];
  const sxx = sum(middles.map((x) => (x - mx) ** 2));
  if (!(sxx > 0))
    return refuse('statistics/no-spread', {
      asked: 'Proportional bias',
      found: 'pairs all of one size',
      allowed: 'pairs of different size',
      todo: 'Wait for more pairs.',
    });
  const slope = sum(middles.map((x, index) => (x - mx) * ((apart[index] as number) - my))) / sxx;
  const intercept = my - slope * mx;
  const rest = sum(middles.map((x, index) => ((apart[index] as number) - intercept - slope * x) ** 2));
  const slopeStandardError = Math.sqrt(rest / (pairs.length - 2) / sxx);
  return {
    intercept,
    slope,
    slopeStandardError,
    p: studentTwoSided(slope / slopeStandardError, pairs.length - 2),
  };
}

export interface Repeatability {
  readonly differenceSd: number;
  readonly differenceRootMeanSquare: number;
  readonly withinSd: number;
  /** Twice the root mean square of the differences (1986). */
  readonly coefficient1986: number;
  /** 1.96 √2 times the within-person standard deviation. */
  readonly coefficient: number;
}

/** Two readings of the same person by the same means. */
export function repeatability(pairs: readonly Pair[]): Repeatability | Refusal {
  const bad = badList('Repeatability', pairs.flat(), 4);
  if (bad) return bad;
  const apart = differences(pairs);
  const meanSquare = sum(apart.map((d) => d * d)) / apart.length;
  const withinSd = Math.sqrt(meanSquare / 2);
  return {
    differenceSd: standardDeviation(apart),
    differenceRootMeanSquare: Math.sqrt(meanSquare),
    withinSd,
    coefficient1986: 2 * Math.sqrt(meanSquare),
    coefficient: published * Math.SQRT2 * withinSd,
  };
}

/** Within-person standard deviation from any number of repeats each (one-way analysis of variance). */
export function withinPersonSd(people: readonly (readonly number[])[]): number | Refusal {
  const bad = badList('Within-person spread', people.flat(), 2);
  if (bad) return bad;
  let [squares, degrees] = [0, 0];
  for (const repeats of people) {
    const middle = mean(repeats);
    squares += sum(repeats.map((value) => (value - middle) ** 2));
    degrees += repeats.length - 1;
  }
  return degrees > 0
    ? Math.sqrt(squares / degrees)
    : refuse('statistics/too-few', {
        asked: 'Within-person spread',
        found: 'no repeats',
        allowed: 'at least one person measured twice',
        todo: 'Measure someone twice.',
      });
}

/** Limits for single readings when each person has the same number of repeats by both means. */
export function repeatedLimits(
  people: readonly { readonly first: readonly number[]; readonly second: readonly number[] }[],
):
  | {
      readonly bias: number;
      readonly meanDifferenceSd: number;
      readonly correctedSd: number;
      readonly limits: Interval;
    }
  | Refusal {
  const bad = badList(
    'Agreement with repeats',
    people.flatMap((one) => [...one.first, ...one.second]),
    6,
  );
  if (bad) return bad;
  if (people.some((one) => one.first.length === 0 || one.second.length === 0)) {
    return refuse('statistics/too-few', {
      asked: 'Agreement with repeats',
      found: 'someone measured by one means only',
      allowed: 'both means for everyone',
      todo: 'Leave that person out.',
    });
  }
  const apart = people.map((one) => mean(one.first) - mean(one.second));
  const within = (of: 'first' | 'second'): number => {
    const sd = withinPersonSd(people.map((one) => one[of]));
    return typeof sd === 'number' ? sd * sd : 0;
  };
  const share = (of: 'first' | 'second'): number => 1 - mean(people.map((one) => 1 / one[of].length));
  const bias = mean(apart);
  const meanDifferenceSd = standardDeviation(apart);
  const correctedSd = Math.sqrt(
    meanDifferenceSd ** 2 + share('first') * within('first') + share('second') * within('second'),
  );
  const spread = published * correctedSd;
  return { bias, meanDifferenceSd, correctedSd, limits: { low: bias - spread, high: bias + spread } };
}

export function pearsonCorrelation(pairs: readonly Pair[]): number | Refusal {
  const bad = badList('Correlation', pairs.flat(), 6);
  if (bad) return bad;
  const [xs, ys] = [pairs.map((pair) => pair[0]), pairs.map((pair) => pair[1])];
  const [mx, my] = [mean(xs), mean(ys)];
  return (
    sum(xs.map((x, index) => (x - mx) * ((ys[index] as number) - my))) /
    ((xs.length - 1) * Math.sqrt(variance(xs) * variance(ys)))
  );
}

export interface Concordance {
  readonly concordance: number;
  readonly low: number;
  readonly high: number;
  /** How far the best line is from equality, apart from scatter. */
  readonly biasCorrection: number;
}

/** Lin's concordance with its interval on Fisher's z scale. Never shown alone: limits of agreement go with it. */
export function concordance(pairs: readonly Pair[]): Concordance | Refusal {
  const r = pearsonCorrelation(pairs);
  if (typeof r !== 'number') return r;
  const n = pairs.length;
  const [xs, ys] = [pairs.map((pair) => pair[0]), pairs.map((pair) => pair[1])];
  const shrink = (n - 1) / n;
  const [vx, vy] = [variance(xs) * shrink, variance(ys) * shrink];
  const shift = mean(ys) - mean(xs);
  const estimate = (2 * r * Math.sqrt(vx * vy)) / (vx + vy + shift * shift);
  const u = shift / Math.sqrt(Math.sqrt(vx * vy));
  const c2 = estimate * estimate;
  const spread =
    (((1 - r * r) * c2 * (1 - c2)) / (r * r) +
      (2 * c2 * estimate * (1 - estimate) * u * u) / r -
      (0.5 * c2 * c2 * u ** 4) / (r * r)) /
    (n - 2);
  const half = (normalQuantile(0.975) * Math.sqrt(spread)) / (1 - c2);
  const z = Math.atanh(estimate);
  return {
    concordance: estimate,
    low: Math.tanh(z - half),
    high: Math.tanh(z + half),
    biasCorrection: estimate / r,
  };
}

/** Kendall's rank correlation, tau-b (ties allowed for). */
export function kendallTau(pairs: readonly Pair[]): number | Refusal {
  const bad = badList('Rank correlation', pairs.flat(), 4);
  if (bad) return bad;
  let [score, tiedX, tiedY] = [0, 0, 0];
  for (const [i, a] of pairs.entries()) {
    for (const b of pairs.slice(i + 1)) {
      const [dx, dy] = [Math.sign(a[0] - b[0]), Math.sign(a[1] - b[1])];
      score += dx * dy;
      if (dx === 0) tiedX += 1;
      if (dy === 0) tiedY += 1;
    }
  }
  const all = (pairs.length * (pairs.length - 1)) / 2;
  return score / Math.sqrt((all - tiedX) * (all - tiedY));
}

/** Mean of |first − second| as a percentage of the pair's mean. */
export function meanAbsolutePercentage(pairs: readonly Pair[]): number | Refusal {
  const bad = badList('Percentage difference', pairs.flat(), 2);
  if (bad) return bad;
  return mean(pairs.map(([first, second]) => (200 * Math.abs(first - second)) / (first + second)));
}
