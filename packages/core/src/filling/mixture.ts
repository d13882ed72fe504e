/**
 * A content distribution as a few weighted normals, shown cut off at zero.
 *
 *     P(content ≤ x) = Σ w Φ((x − m)/s) for x ≥ 0; what lies below zero is shown as an empty bladder
 *
 * Units     mL
 * Errors    quantiles by bisection to 1e-9 mL
 */
import { normalCdf, normalUpperTail } from '../statistics/distributions.ts';
import type { FillingState } from './state.ts';

export interface WeightedState {
  readonly weight: number;
  readonly state: FillingState;
}

/** P(content > x). */
export function contentAbove(parts: readonly WeightedState[], volumeMl: number): number {
  let sum = 0;
  for (const { weight, state } of parts) {
    sum +=
      weight *
      normalUpperTail((volumeMl - state.contentMl) / Math.sqrt(Math.max(1e-12, state.contentVariance)));
  }
  return Math.min(1, Math.max(0, sum));
}

function quantile(
  parts: readonly WeightedState[],
  probability: number,
  mean: (state: FillingState) => number,
  variance: (state: FillingState) => number,
): number {
  const spreads = parts.map((part) => Math.sqrt(Math.max(1e-12, variance(part.state))));
  const below = (x: number): number =>
    parts.reduce(
      (sum, part, index) =>
        sum + part.weight * normalCdf((x - mean(part.state)) / (spreads[index] as number)),
      0,
    );
  if (below(0) >= probability) return 0;
  // False position with the stale end halved, so that neither end sticks; it cannot leave the bracket.
  let low = 0;
  let high = Math.max(1, ...parts.map((part, index) => mean(part.state) + 9 * (spreads[index] as number)));
  let atLow = below(0) - probability;
  let atHigh = below(high) - probability;
  if (atHigh <= 0) return high;
  for (let step = 0; step < 200 && high - low > 1e-9 * Math.max(1, high); step += 1) {
    const guess = step % 4 === 3 ? 0.5 * (low + high) : low - (atLow * (high - low)) / (atHigh - atLow);
    const at = below(guess) - probability;
    if (Math.abs(at) < 1e-14) return guess;
    if (at < 0) {
      low = guess;
      atLow = at;
      atHigh *= 0.5;
    } else {
      high = guess;
      atHigh = at;
      atLow *= 0.5;
    }
  }
  return 0.5 * (low + high);
}

/** Content with so much probability at or below it; never negative. */
export const contentQuantile = (parts: readonly WeightedState[], probability: number): number =>
  quantile(
    parts,
    probability,
    (state) => state.contentMl,
    (state) => state.contentVariance,
  );

/** Inflow with so much probability at or below it; never negative. */
export const rateQuantile = (parts: readonly WeightedState[], probability: number): number =>
  quantile(
    parts,
    probability,
    (state) => state.rateMlPerH,
    (state) => state.rateVariance,
  );

/** One normal with the mean and covariance of the mixture. */
export function matchMoments(parts: readonly WeightedState[]): FillingState {
  const total = parts.reduce((sum, part) => sum + part.weight, 0);
  let contentMl = 0;
  let rateMlPerH = 0;
  for (const { weight, state } of parts) {
    contentMl += (weight / total) * state.contentMl;
    rateMlPerH += (weight / total) * state.rateMlPerH;
  }
  let contentVariance = 0;
  let covariance = 0;
  let rateVariance = 0;
  for (const { weight, state } of parts) {
    const share = weight / total;
    const offContent = state.contentMl - contentMl;
    const offRate = state.rateMlPerH - rateMlPerH;
    contentVariance += share * (state.contentVariance + offContent * offContent);
    covariance += share * (state.covariance + offContent * offRate);
    rateVariance += share * (state.rateVariance + offRate * offRate);
  }
  return { contentMl, rateMlPerH, contentVariance, covariance, rateVariance };
}
