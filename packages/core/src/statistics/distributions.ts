/**
 * Normal, chi-squared, Student t, F, beta and Poisson: tail areas and quantiles.
 *
 * Domain    probabilities strictly between 0 and 1 for quantiles; degrees of freedom > 0; else NaN.
 * Errors    tail areas about 1e-13 relative; quantiles by bisection to double precision. A beta quantile within
 *           1e-9 of 1 with a shape below 0.5 lies between two doubles: its tail area is then good to 1e-7 only.
 * Source    S-abramowitz-stegun (7.1, 26.4, 26.5, 26.6, 26.7)
 */
import { incompleteBeta, incompleteGamma, solveRising } from './special-functions.ts';

/** Density of the standard normal. */
export function normalDensity(z: number): number {
  return Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
}

/**
 * P(Z > z) for a standard normal, accurate far out in the tail.
 *
 * Method    near the middle the series φ(z)(z + z³/3 + z⁵/(3·5) + …); from 3 on the continued fraction
 *           φ(z)/(z + 1/(z + 2/(z + 3/…))), taken from the far end
 */
export function normalUpperTail(z: number): number {
  const size = Math.abs(z);
  if (size > 40) return z > 0 ? 0 : 1;
  if (size < 3) {
    let [term, sum] = [z, z];
    const square = z * z;
    for (let odd = 3; Math.abs(term) > 1e-17 * Math.abs(sum); odd += 2) {
      term *= square / odd;
      sum += term;
    }
    return 0.5 - normalDensity(z) * sum;
  }
  let below = size;
  for (let step = size < 5 ? 90 : 40; step >= 1; step -= 1) below = size + step / below;
  const tail = normalDensity(size) / below;
  return z > 0 ? tail : 1 - tail;
}

/** P(Z ≤ z) for a standard normal. */
export function normalCdf(z: number): number {
  return normalUpperTail(-z);
}

/** z with P(Z ≤ z) = probability. */
export function normalQuantile(probability: number): number {
  if (!(probability > 0) || !(probability < 1)) return Number.NaN;
  if (probability > 0.5) return -normalQuantile(1 - probability);
  return solveRising(normalCdf, probability, -40, 0);
}

/** P(X > x) for chi-squared. */
export function chiSquaredUpperTail(x: number, degrees: number): number {
  return incompleteGamma(0.5 * degrees, 0.5 * x).upper;
}

/** x with P(Γ(shape, scale 1) ≤ x) = probability. */
export function gammaQuantile(probability: number, shape: number): number {
  if (!(probability > 0) || !(probability < 1) || !(shape > 0)) return Number.NaN;
  let high = shape + 10 * Math.sqrt(shape) + 10;
  while (incompleteGamma(shape, high).lower < probability && high < 1e12) high *= 2;
  return solveRising((x) => incompleteGamma(shape, x).lower, probability, 0, high);
}

/** P(T ≤ t) for Student's t. */
export function studentCdf(t: number, degrees: number): number {
  const tail = 0.5 * incompleteBeta(degrees / (degrees + t * t), 0.5 * degrees, 0.5);
  return t > 0 ? 1 - tail : tail;
}

/** Two-sided p value of Student's t. */
export function studentTwoSided(t: number, degrees: number): number {
  return incompleteBeta(degrees / (degrees + t * t), 0.5 * degrees, 0.5);
}

/** t with P(T ≤ t) = probability. */
export function studentQuantile(probability: number, degrees: number): number {
  if (!(probability > 0) || !(probability < 1) || !(degrees > 0)) return Number.NaN;
  if (probability < 0.5) return -studentQuantile(1 - probability, degrees);
  let high = 10;
  while (studentCdf(high, degrees) < probability && high < 1e9) high *= 2;
  return solveRising((t) => studentCdf(t, degrees), probability, 0, high);
}

/** P(X > f) for the F distribution. */
export function fUpperTail(f: number, above: number, below: number): number {
  const share = (above * f) / (below + above * f);
  // Each side keeps its digits only while its share is the smaller one.
  return share < 0.5
    ? 1 - incompleteBeta(share, 0.5 * above, 0.5 * below)
    : incompleteBeta(below / (below + above * f), 0.5 * below, 0.5 * above);
}

/** f with P(X ≤ f) = probability; degrees of freedom may be fractions. */
export function fQuantile(probability: number, above: number, below: number): number {
  // Near 1 the share loses the digits that matter, so its complement is found on its own.
  const share = betaQuantile(probability, 0.5 * above, 0.5 * below);
  const rest = share > 0.5 ? betaQuantile(1 - probability, 0.5 * below, 0.5 * above) : 1 - share;
  return (below * (share > 0.5 ? 1 - rest : share)) / (above * rest);
}

/** x with I_x(a, b) = probability. */
export function betaQuantile(probability: number, a: number, b: number): number {
  if (!(probability > 0) || !(probability < 1) || !(a > 0) || !(b > 0)) return Number.NaN;
  return solveRising((x) => incompleteBeta(x, a, b), probability, 0, 1);
}
