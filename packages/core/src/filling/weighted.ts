/**
 * Quantiles and tails of weighted values: a count in even bins finds the bin, and only that bin is sorted.
 *
 * Domain    weights that sum to 1; values finite or +Infinity
 * Errors    a quantile is the first value with so much weight at or below it; past a value of +Infinity there is none
 */
export interface WeightedOrder {
  /** The value with so much weight at or below it; undefined when that is +Infinity. */
  readonly quantile: (share: number) => number | undefined;
}

const bins = 1024;

export function inOrder(values: Float64Array, weight: Float64Array): WeightedOrder {
  let least = Infinity;
  let largest = -Infinity;
  for (const value of values) {
    if (value === Infinity) continue;
    if (value < least) least = value;
    if (value > largest) largest = value;
  }
  if (least === Infinity) return { quantile: () => undefined };
  const width = (largest - least) / bins;
  const inBin = new Float64Array(bins);
  // Many may lie at the least value itself: over the limit already, or an empty bladder.
  let atLeast = 0;
  let total = 0;
  for (let place = 0; place < values.length; place += 1) {
    const value = values[place] as number;
    if (value === Infinity) continue;
    const own = weight[place] as number;
    total += own;
    if (value <= least) atLeast += own;
    else {
      const bin = Math.min(bins - 1, ((value - least) / width) | 0);
      inBin[bin] = (inBin[bin] as number) + own;
    }
  }
  return {
    quantile: (share) => {
      if (share > total + 1e-9) return undefined;
      if (share <= atLeast || width === 0) return least;
      let run = atLeast;
      let bin = 0;
      while (bin < bins - 1 && run + (inBin[bin] as number) < share) {
        run += inBin[bin] as number;
        bin += 1;
      }
      // Within its bin the value itself, so that the answer does not depend on where the bins lie.
      const inside: number[] = [];
      for (let place = 0; place < values.length; place += 1) {
        const value = values[place] as number;
        if (value > least && value < Infinity && Math.min(bins - 1, ((value - least) / width) | 0) === bin)
          inside.push(place);
      }
      inside.sort((one, other) => (values[one] as number) - (values[other] as number));
      for (const place of inside) {
        run += weight[place] as number;
        if (run >= share - 1e-12) return values[place] as number;
      }
      return inside.length > 0 ? (values[inside.at(-1) as number] as number) : largest;
    },
  };
}

/** Weight of the values above a bound. */
export function weightAbove(values: Float64Array, weight: Float64Array, bound: number): number {
  let sum = 0;
  for (let place = 0; place < values.length; place += 1)
    if ((values[place] as number) > bound) sum += weight[place] as number;
  return Math.min(1, Math.max(0, sum));
}

/** Middles of four equal slices of a standard normal, z with P(Z ≤ z) = 1/8, 3/8, 5/8, 7/8 (S-arithmetic). */
export const slices: readonly number[] = [
  -1.1503493803760079, -0.31863936396437514, 0.31863936396437514, 1.1503493803760079,
];

/** Each normal of a list as four points of a quarter of its weight; no point is below 0. */
export function pointsOf(
  means: Float64Array,
  variances: Float64Array,
  weight: Float64Array,
): { readonly values: Float64Array; readonly weight: Float64Array } {
  const values = new Float64Array(slices.length * means.length);
  const shares = new Float64Array(values.length);
  for (let one = 0; one < means.length; one += 1) {
    const sd = Math.sqrt(variances[one] as number);
    for (let slice = 0; slice < slices.length; slice += 1) {
      const place = slices.length * one + slice;
      values[place] = Math.max(0, (means[one] as number) + sd * (slices[slice] as number));
      shares[place] = (weight[one] as number) / slices.length;
    }
  }
  return { values, weight: shares };
}
