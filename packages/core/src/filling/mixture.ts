/**
 * A content distribution as a few weighted normals, shown cut off at zero.
 *
 *     P(content ≤ x) = Σ w Φ((x − m)/s) for x ≥ 0; what lies below zero is shown as an empty bladder
 *
 * Units     mL
 * Errors    quantiles to 1e-9 mL: Newton's steps where the density allows, else false position
 */
import { normalCdf, normalQuantile, normalUpperTail } from '../statistics/distributions.ts';
import { roughDensity, roughUpperTail } from './rough-tail.ts';
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

/** A mixture of normals on one axis. */
interface Lumps {
  readonly weights: readonly number[];
  readonly means: readonly number[];
  readonly spreads: readonly number[];
}

function lumpsOf(
  parts: readonly WeightedState[],
  mean: (state: FillingState) => number,
  variance: (state: FillingState) => number,
): Lumps {
  const means = parts.map((part) => mean(part.state));
  const spreads = parts.map((part) => Math.sqrt(Math.max(1e-12, variance(part.state))));
  const alike = means.every((one, index) => one === means[0] && spreads[index] === spreads[0]);
  if (!alike) return { weights: parts.map((part) => part.weight), means, spreads };
  return {
    weights: [parts.reduce((sum, part) => sum + part.weight, 0)],
    means: means.slice(0, 1),
    spreads: spreads.slice(0, 1),
  };
}

const belowIn = ({ weights, means, spreads }: Lumps, x: number): number => {
  let sum = 0;
  for (let index = 0; index < weights.length; index += 1)
    sum +=
      (weights[index] as number) * normalCdf((x - (means[index] as number)) / (spreads[index] as number));
  return sum;
};

// The same few shares are asked for each time.
const standardQuantiles = new Map<number, number>();

function standardQuantile(probability: number): number {
  let found = standardQuantiles.get(probability);
  if (found === undefined) {
    found = normalQuantile(probability);
    if (standardQuantiles.size < 64) standardQuantiles.set(probability, found);
  }
  return found;
}

/** Tail area and density at once, to 7.5e-8 (see rough-tail.ts); for finding the place, not for the digits. */
const roughIn = ({ weights, means, spreads }: Lumps, x: number): { below: number; density: number } => {
  let below = 0;
  let density = 0;
  for (let index = 0; index < weights.length; index += 1) {
    const weight = weights[index] as number;
    const spread = spreads[index] as number;
    const z = (x - (means[index] as number)) / spread;
    const height = roughDensity(z);
    below += weight * roughUpperTail(-z, height);
    density += (weight * height) / spread;
  }
  return { below, density };
};

/**
 * Newton's steps, kept in their bracket, on the rough area; then on the full one until a step no longer matters.
 * Undefined where the density is too thin for the steps to be trusted.
 */
function quickQuantile(lumps: Lumps, probability: number, top: number): number | undefined {
  let low = 0;
  let high = top;
  let x = Math.min(top, Math.max(0, lumps.means[0] as number));
  for (let step = 0; step < 60; step += 1) {
    const { below, density } = roughIn(lumps, x);
    if (below < probability) low = x;
    else high = x;
    const off = (probability - below) / density;
    const next = x + off;
    const inside = next > low && next < high;
    x = inside ? next : 0.5 * (low + high);
    if (inside && Math.abs(off) < 1e-4) break;
  }
  const narrowest = Math.min(...lumps.spreads);
  for (let step = 0; step < 4; step += 1) {
    const { density } = roughIn(lumps, x);
    if (!(density > 1e-6)) return undefined;
    const off = (probability - belowIn(lumps, x)) / density;
    x += off;
    if (!(x > 0 && x < top)) return undefined;
    // What is left is at most off²/2 times the share in which the density changes in one unit, 9 to a spread at most.
    if (4.5 * off * off < 1e-9 * narrowest) return x;
  }
  return undefined;
}

function quantile(
  parts: readonly WeightedState[],
  probability: number,
  mean: (state: FillingState) => number,
  variance: (state: FillingState) => number,
): number {
  const lumps = lumpsOf(parts, mean, variance);
  if (lumps.weights.length === 1 && Math.abs((lumps.weights[0] as number) - 1) < 1e-12) {
    const [middle, spread] = [lumps.means[0] as number, lumps.spreads[0] as number];
    return Math.max(0, middle + spread * standardQuantile(probability));
  }
  const below = (x: number): number => belowIn(lumps, x);
  const nearly = roughIn(lumps, 0).below;
  if (nearly > probability + 1e-6) return 0;
  if (nearly > probability - 1e-6 && below(0) >= probability) return 0;
  let low = 0;
  let high = Math.max(
    1,
    ...lumps.means.map((middle, index) => middle + 9 * (lumps.spreads[index] as number)),
  );
  const quick = quickQuantile(lumps, probability, high);
  if (quick !== undefined) return quick;
  // False position with the stale end halved, so that neither end sticks; it cannot leave the bracket.
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
