/**
 * Content and inflow of one bladder as a joint normal, and the four things that can happen to it.
 *
 *     dV = q dt + noise          q = inflow, mL/h: a random walk, or drawn back to a level
 *     K = P h / (h'P h + R)      P ← (I − K h') P (I − K h')' + K R K'   (Joseph form: stays positive definite)
 *
 * Frame     state [V, q]; covariance kept as its three numbers
 * Units     mL, mL/h, hours
 * Domain    hours ≥ 0; variances ≥ 0. Callers check; a negative step throws, since it is a fault of ours.
 * Errors    exact for any step length: one step split in two agrees to rounding, and so do same-time observations
 *           in any order
 * Source    R. E. Kalman 1960, Joseph's form: S-kalman-joseph; checked against conformance/data/statistics
 */
export interface FillingState {
  readonly contentMl: number;
  readonly rateMlPerH: number;
  readonly contentVariance: number;
  readonly covariance: number;
  readonly rateVariance: number;
}

/** How the two wander between observations. */
export interface FillingNoise {
  /** mL² per hour added to the content. */
  readonly contentVariancePerH: number;
  /** (mL/h)² per hour added to the inflow. */
  readonly rateVariancePerH: number;
  /** Pull of the inflow towards its level, per hour; 0 is a plain random walk. */
  readonly pullPerH: number;
  /** Level the inflow is drawn to. */
  readonly levelMlPerH: number;
}

export interface FillingStep {
  /** Factor from inflow to content over the step, hours. */
  readonly spanH: number;
  /** Factor on the inflow. */
  readonly keep: number;
  readonly addContentVariance: number;
  readonly addCovariance: number;
  readonly addRateVariance: number;
}

/** x − 2(1 − e^−x) + (1 − e^−2x)/2 without loss of digits for small x. */
function integratedSpread(x: number): number {
  if (x > 0.5) return x - 2 * -Math.expm1(-x) + 0.5 * -Math.expm1(-2 * x);
  let power = (x * x * x) / 6;
  let sum = 0;
  for (let n = 3; n < 40; n += 1) {
    const term = (n % 2 === 0 ? 1 : -1) * (2 - 2 ** (n - 1)) * power;
    sum += term;
    if (Math.abs(term) <= 1e-18 * Math.abs(sum)) break;
    power *= x / (n + 1);
  }
  return sum;
}

// Most steps are alike: ten or twenty minutes under the noise of one setting. What was worked out last is kept.
const kept = new Map<number, FillingStep>();
const keepAtMost = 512;
let keptFor: Omit<FillingNoise, 'levelMlPerH'> | undefined;

/** Transition and added noise of a step. */
export function stepOf(hours: number, noise: FillingNoise): FillingStep {
  if (!(hours >= 0)) throw new Error('a step backwards in time');
  const same =
    keptFor !== undefined &&
    keptFor.pullPerH === noise.pullPerH &&
    keptFor.rateVariancePerH === noise.rateVariancePerH &&
    keptFor.contentVariancePerH === noise.contentVariancePerH;
  if (!same) keptFor = noise;
  if (!same || kept.size >= keepAtMost) kept.clear();
  let step = kept.get(hours);
  if (step === undefined) {
    step = workedOutStep(hours, noise);
    kept.set(hours, step);
  }
  return step;
}

function workedOutStep(hours: number, noise: FillingNoise): FillingStep {
  const pull = noise.pullPerH;
  if (pull === 0) {
    return {
      spanH: hours,
      keep: 1,
      addContentVariance: noise.contentVariancePerH * hours + (noise.rateVariancePerH * hours ** 3) / 3,
      addCovariance: (noise.rateVariancePerH * hours ** 2) / 2,
      addRateVariance: noise.rateVariancePerH * hours,
    };
  }
  const gone = -Math.expm1(-pull * hours);
  return {
    spanH: gone / pull,
    keep: 1 - gone,
    addContentVariance:
      noise.contentVariancePerH * hours +
      (noise.rateVariancePerH / pull ** 3) * integratedSpread(pull * hours),
    addCovariance: (noise.rateVariancePerH * gone * gone) / (2 * pull * pull),
    addRateVariance: (noise.rateVariancePerH * -Math.expm1(-2 * pull * hours)) / (2 * pull),
  };
}

/** The state after a step whose factors are known: they are the same for every state that takes it. */
export function advanceBy(
  state: FillingState,
  step: FillingStep,
  hours: number,
  noise: Pick<FillingNoise, 'pullPerH' | 'levelMlPerH'>,
): FillingState {
  const { spanH, keep, addContentVariance, addCovariance, addRateVariance } = step;
  const level = noise.pullPerH === 0 ? 0 : noise.levelMlPerH;
  const off = state.rateMlPerH - level;
  return {
    contentMl: state.contentMl + level * hours + off * spanH,
    rateMlPerH: level + off * keep,
    contentVariance:
      state.contentVariance +
      2 * spanH * state.covariance +
      spanH * spanH * state.rateVariance +
      addContentVariance,
    covariance: keep * (state.covariance + spanH * state.rateVariance) + addCovariance,
    rateVariance: keep * keep * state.rateVariance + addRateVariance,
  };
}

/** The state so many hours later with nothing seen. */
export function advance(state: FillingState, hours: number, noise: FillingNoise): FillingState {
  return advanceBy(state, stepOf(hours, noise), hours, noise);
}

export interface SeenState {
  readonly state: FillingState;
  /** Observed less expected. */
  readonly surprise: number;
  /** Variance that the surprise should have. */
  readonly surpriseVariance: number;
  /** Log density of the observation before it was seen. */
  readonly logDensity: number;
}

function see(state: FillingState, value: number, variance: number, onContent: 0 | 1): SeenState {
  const { contentVariance: a, covariance: b, rateVariance: c } = state;
  const [mean, spread, gainContent, gainRate] = onContent
    ? [state.contentMl, a + variance, a / (a + variance), b / (a + variance)]
    : [state.rateMlPerH, c + variance, b / (c + variance), c / (c + variance)];
  const surprise = value - mean;
  const keep = 1 - (onContent ? gainContent : gainRate);
  const next = onContent
    ? {
        contentVariance: keep * keep * a + gainContent * gainContent * variance,
        covariance: keep * (b - gainRate * a) + gainContent * gainRate * variance,
        rateVariance: c - 2 * gainRate * b + gainRate * gainRate * a + gainRate * gainRate * variance,
      }
    : {
        contentVariance:
          a - 2 * gainContent * b + gainContent * gainContent * c + gainContent * gainContent * variance,
        covariance: keep * (b - gainContent * c) + gainContent * gainRate * variance,
        rateVariance: keep * keep * c + gainRate * gainRate * variance,
      };
  return {
    state: {
      contentMl: state.contentMl + gainContent * surprise,
      rateMlPerH: state.rateMlPerH + gainRate * surprise,
      ...next,
    },
    surprise,
    surpriseVariance: spread,
    logDensity: -0.5 * (Math.log(2 * Math.PI * spread) + (surprise * surprise) / spread),
  };
}

/** The state after content was observed with this error variance. */
export const seeContent = (state: FillingState, contentMl: number, variance: number): SeenState =>
  see(state, contentMl, variance, 1);

/** The state after the inflow was observed with this error variance. */
export const seeRate = (state: FillingState, rateMlPerH: number, variance: number): SeenState =>
  see(state, rateMlPerH, variance, 0);

/** The state after a volume left, known with this error variance. */
export function takeOut(state: FillingState, volumeMl: number, variance: number): FillingState {
  return {
    ...state,
    contentMl: state.contentMl - volumeMl,
    contentVariance: state.contentVariance + variance,
  };
}

/** The state after the bladder was emptied to a known remainder; the inflow goes on as it was. */
export function resetContent(state: FillingState, contentMl: number, variance: number): FillingState {
  return { ...state, contentMl, contentVariance: variance, covariance: 0 };
}
