/**
 * Log gamma, and the regularised incomplete gamma and beta functions, from which every distribution here is built.
 *
 * Method    log gamma: Stirling's series after shifting the argument above 12. Incomplete gamma: power series
 *           below a + 1, continued fraction above. Incomplete beta: continued fraction, on the side where it
 *           converges fast. Continued fractions by the modified Lentz recursion.
 * Domain    a, b > 0; x ≥ 0 (gamma), 0 ≤ x ≤ 1 (beta). Outside it the answer is NaN, which callers never pass on.
 * Errors    about 1e-13 relative for arguments up to 1e5.
 * Source    S-abramowitz-stegun (6.1.41, 6.5.29, 6.5.31, 26.5.8)
 */
const tiny = 1e-300;
const enough = 1e-16;

/** ln Γ(x) for x > 0. */
export function logGamma(x: number): number {
  if (!(x > 0)) return Number.NaN;
  let shift = 0;
  let value = x;
  while (value < 12) {
    shift += Math.log(value);
    value += 1;
  }
  const inverse = 1 / value;
  const square = inverse * inverse;
  const series =
    inverse *
    (1 / 12 -
      square *
        (1 / 360 -
          square * (1 / 1260 - square * (1 / 1680 - square * (1 / 1188 - (square * 691) / 360360)))));
  return (value - 0.5) * Math.log(value) - value + 0.5 * Math.log(2 * Math.PI) + series - shift;
}

/** Regularised lower incomplete gamma P(a, x) and its complement Q(a, x), each accurate in its own tail. */
export function incompleteGamma(a: number, x: number): { lower: number; upper: number } {
  if (!(a > 0) || !(x >= 0)) return { lower: Number.NaN, upper: Number.NaN };
  if (x === 0) return { lower: 0, upper: 1 };
  if (x === Number.POSITIVE_INFINITY) return { lower: 1, upper: 0 };
  const front = Math.exp(a * Math.log(x) - x - logGamma(a));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let step = 1; step < 10_000 && term > sum * enough; step += 1) {
      term *= x / (a + step);
      sum += term;
    }
    const lower = front * sum;
    return { lower, upper: 1 - lower };
  }
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let fraction = d;
  for (let step = 1; step < 10_000; step += 1) {
    const numerator = -step * (step - a);
    b += 2;
    d = numerator * d + b;
    if (Math.abs(d) < tiny) d = tiny;
    c = b + numerator / c;
    if (Math.abs(c) < tiny) c = tiny;
    d = 1 / d;
    const change = d * c;
    fraction *= change;
    if (Math.abs(change - 1) < enough * 4) break;
  }
  const upper = front * fraction;
  return { lower: 1 - upper, upper };
}

/** Regularised incomplete beta I_x(a, b). */
export function incompleteBeta(x: number, a: number, b: number): number {
  if (!(a > 0) || !(b > 0) || !(x >= 0) || !(x <= 1)) return Number.NaN;
  if (x === 0 || x === 1) return x;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const front =
    Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  let c = 1;
  let d = 1 - ((a + b) * x) / (a + 1);
  if (Math.abs(d) < tiny) d = tiny;
  d = 1 / d;
  let fraction = d;
  for (let step = 1; step < 10_000; step += 1) {
    const even = (step * (b - step) * x) / ((a + 2 * step - 1) * (a + 2 * step));
    const odd = (-(a + step) * (a + b + step) * x) / ((a + 2 * step) * (a + 2 * step + 1));
    let change = 1;
    for (const numerator of [even, odd]) {
      d = 1 + numerator * d;
      if (Math.abs(d) < tiny) d = tiny;
      c = 1 + numerator / c;
      if (Math.abs(c) < tiny) c = tiny;
      d = 1 / d;
      change = d * c;
      fraction *= change;
    }
    if (Math.abs(change - 1) < enough * 4) break;
  }
  return front * fraction;
}

/**
 * The point at which a rising function reaches a target, by bisection to the last bit that matters.
 * For quantiles: slower than Newton, but it cannot leave the bracket.
 */
export function solveRising(
  rising: (x: number) => number,
  target: number,
  low: number,
  high: number,
): number {
  let lower = low;
  let upper = high;
  for (let step = 0; step < 200; step += 1) {
    const middle = 0.5 * (lower + upper);
    if (middle === lower || middle === upper) break;
    if (rising(middle) < target) lower = middle;
    else upper = middle;
  }
  return 0.5 * (lower + upper);
}
