/**
 * The plain linear-Gaussian filter over a series of steps, its smoother, and its log-likelihood. What the living
 * estimate rests on, kept apart so that it can be held against published figures.
 *
 *     smoothing    r ← h v/F + (I − K h')' T' r      x̂ = x + P r      (no matrix is inverted)
 *
 * Units     as in state.ts; for the local level model the inflow is pinned at 0 and "hours" count steps
 * Errors    1e-9 relative against conformance/data/statistics
 * Source    S-durbin-koopman (local level model and state smoothing recursion)
 */
import { advance, seeContent, stepOf, type FillingNoise, type FillingState } from './state.ts';

export interface SeriesStep {
  /** Hours since the step before. */
  readonly hours: number;
  readonly noise: FillingNoise;
  /** Content observed at the end of the step, with its error variance; absent when nothing was seen. */
  readonly seen?: { readonly contentMl: number; readonly variance: number };
  /** Volume taken out at the end of the step, with its error variance. */
  readonly out?: { readonly volumeMl: number; readonly variance: number };
}

export interface FilteredStep {
  readonly predicted: FillingState;
  readonly filtered: FillingState;
  readonly surprise?: number;
  readonly surpriseVariance?: number;
  readonly logDensity: number;
}

export function filterSeries(start: FillingState, steps: readonly SeriesStep[]): readonly FilteredStep[] {
  let state = start;
  return steps.map((step) => {
    const predicted = advance(state, step.hours, step.noise);
    const seen = step.seen ? seeContent(predicted, step.seen.contentMl, step.seen.variance) : undefined;
    const after = seen?.state ?? predicted;
    state = step.out
      ? {
          ...after,
          contentMl: after.contentMl - step.out.volumeMl,
          contentVariance: after.contentVariance + step.out.variance,
        }
      : after;
    return {
      predicted,
      filtered: state,
      ...(seen ? { surprise: seen.surprise, surpriseVariance: seen.surpriseVariance } : {}),
      logDensity: seen?.logDensity ?? 0,
    };
  });
}

/** States given the whole series; each is the state just before anything was taken out at that step. */
export function smoothSeries(
  steps: readonly SeriesStep[],
  filtered: readonly FilteredStep[],
): readonly FillingState[] {
  let [r0, r1, n00, n01, n11] = [0, 0, 0, 0, 0];
  const smoothed: FillingState[] = [];
  for (let index = steps.length - 1; index >= 0; index -= 1) {
    const { predicted, surprise, surpriseVariance } = filtered[index] as FilteredStep;
    const { contentVariance: a, covariance: b, rateVariance: c } = predicted;
    if (surprise !== undefined && surpriseVariance !== undefined) {
      const [k0, k1] = [a / surpriseVariance, b / surpriseVariance];
      const keep = 1 - k0;
      const [u0, u1] = [r0, r1];
      r0 = surprise / surpriseVariance + keep * u0 - k1 * u1;
      r1 = u1;
      const [m00, m01, m11] = [n00, n01, n11];
      n00 = 1 / surpriseVariance + keep * keep * m00 - 2 * keep * k1 * m01 + k1 * k1 * m11;
      n01 = keep * m01 - k1 * m11;
      n11 = m11;
    }
    smoothed.push({
      contentMl: predicted.contentMl + a * r0 + b * r1,
      rateMlPerH: predicted.rateMlPerH + b * r0 + c * r1,
      contentVariance: a - (a * a * n00 + 2 * a * b * n01 + b * b * n11),
      covariance: b - (a * b * n00 + (a * c + b * b) * n01 + b * c * n11),
      rateVariance: c - (b * b * n00 + 2 * b * c * n01 + c * c * n11),
    });
    const step = steps[index] as SeriesStep;
    const { spanH, keep } = stepOf(step.hours, step.noise);
    const [w0, w1] = [r0, r1];
    r0 = w0;
    r1 = spanH * w0 + keep * w1;
    const [q00, q01, q11] = [n00, n01, n11];
    n00 = q00;
    n01 = spanH * q00 + keep * q01;
    n11 = spanH * spanH * q00 + 2 * spanH * keep * q01 + keep * keep * q11;
  }
  return smoothed.reverse();
}

/** Steps of a local level model: a level that wanders, seen with noise at even steps. `undefined` = missing. */
export function localLevelSteps(
  values: readonly (number | undefined)[],
  observationVariance: number,
  levelVariance: number,
): readonly SeriesStep[] {
  const noise: FillingNoise = {
    contentVariancePerH: levelVariance,
    rateVariancePerH: 0,
    pullPerH: 0,
    levelMlPerH: 0,
  };
  return values.map((value, index) => ({
    hours: index === 0 ? 0 : 1,
    noise,
    ...(value === undefined ? {} : { seen: { contentMl: value, variance: observationVariance } }),
  }));
}

/** Log-likelihood of a filtered series, leaving out the first observations that only set the start. */
export function seriesLogLikelihood(filtered: readonly FilteredStep[], leaveOut = 0): number {
  return filtered.slice(leaveOut).reduce((sum, step) => sum + step.logDensity, 0);
}

export interface LocalLevelFit {
  readonly observationVariance: number;
  readonly levelVariance: number;
  readonly logLikelihood: number;
}

/**
 * Maximum-likelihood variances of a local level model, by Newton's method on their logarithms with halved steps.
 *
 * Errors    the likelihood is flat at its top: parameters to about 1e-6 relative, the likelihood far better
 */
export function fitLocalLevel(values: readonly number[], startVariance = 1e7): LocalLevelFit {
  const start: FillingState = {
    contentMl: 0,
    rateMlPerH: 0,
    contentVariance: startVariance,
    covariance: 0,
    rateVariance: 0,
  };
  const height = (x: number, y: number): number =>
    seriesLogLikelihood(filterSeries(start, localLevelSteps(values, Math.exp(x), Math.exp(y))), 1);
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
  let [x, y] = [Math.log(variance / 2), Math.log(variance / 20)];
  const d = 1e-3;
  for (let step = 0; step < 100; step += 1) {
    const here = height(x, y);
    const slope = (h: number): { gx: number; gy: number } => ({
      gx:
        (8 * (height(x + h, y) - height(x - h, y)) - (height(x + 2 * h, y) - height(x - 2 * h, y))) /
        (12 * h),
      gy:
        (8 * (height(x, y + h) - height(x, y - h)) - (height(x, y + 2 * h) - height(x, y - 2 * h))) /
        (12 * h),
    });
    const { gx, gy } = slope(d);
    const hxx = (height(x + d, y) - 2 * here + height(x - d, y)) / (d * d);
    const hyy = (height(x, y + d) - 2 * here + height(x, y - d)) / (d * d);
    const hxy =
      (height(x + d, y + d) - height(x + d, y - d) - height(x - d, y + d) + height(x - d, y - d)) /
      (4 * d * d);
    const determinant = hxx * hyy - hxy * hxy;
    const concave = hxx < 0 && determinant > 0;
    let [dx, dy] = concave
      ? [-(hyy * gx - hxy * gy) / determinant, -(hxx * gy - hxy * gx) / determinant]
      : [gx / 10, gy / 10];
    const longest = Math.max(Math.abs(dx), Math.abs(dy));
    if (longest > 1) [dx, dy] = [dx / longest, dy / longest];
    if (longest < 1e-10) break;
    for (let halving = 0; halving < 30 && height(x + dx, y + dy) < here - 1e-9; halving += 1)
      [dx, dy] = [dx / 2, dy / 2];
    [x, y] = [x + dx, y + dy];
  }
  return { observationVariance: Math.exp(x), levelVariance: Math.exp(y), logLikelihood: height(x, y) };
}
