/**
 * A reading known only as "at least so much": the normal is cut at the bound and replaced by the normal with the
 * same mean and variance (moment match); the inflow moves along its correlation with the content.
 *
 *     α = (bound − m)/s    λ = φ(α)/(1 − Φ(α))    mean m + sλ    variance s²(1 + αλ − λ²)
 *
 * Units     mL
 * Errors    exact first two moments of the cut normal; beyond 8 s the tail expansion of λ is used
 * Not for   a bound that itself is uncertain by much: give its error as `boundVariance`
 * Source    moments of the truncated normal: S-abramowitz-stegun 26.2 and 7.1.23, S-truncated-normal
 */
import { normalCdf, normalDensity, normalUpperTail } from '../statistics/distributions.ts';
import type { FillingState } from './state.ts';

export interface CutState {
  readonly state: FillingState;
  /** Log probability that the content was at or above the bound. */
  readonly logProbability: number;
}

/** Hazard of the standard normal φ/(1 − Φ). */
export function normalHazard(alpha: number): number {
  if (alpha < -38) return 0;
  if (alpha > 8) {
    const inverse = 1 / (alpha * alpha);
    return alpha / (1 - inverse * (1 - 3 * inverse * (1 - 5 * inverse * (1 - 7 * inverse))));
  }
  return normalDensity(alpha) / normalUpperTail(alpha);
}

/** The state given that the content is at least the bound. */
export function contentAtLeast(state: FillingState, boundMl: number, boundVariance = 0): CutState {
  const spread = Math.sqrt(state.contentVariance + boundVariance);
  const alpha = (boundMl - state.contentMl) / spread;
  const hazard = normalHazard(alpha);
  const shrink = Math.min(1, Math.max(1e-9, hazard * (hazard - alpha)));
  const gainContent = state.contentVariance / spread;
  const gainRate = state.covariance / spread;
  return {
    state: {
      contentMl: state.contentMl + gainContent * hazard,
      rateMlPerH: state.rateMlPerH + gainRate * hazard,
      contentVariance: Math.max(
        1e-9,
        state.contentVariance - gainContent * gainContent * (hazard > 0 ? shrink : 0),
      ),
      covariance: state.covariance - gainContent * gainRate * (hazard > 0 ? shrink : 0),
      rateVariance: state.rateVariance - gainRate * gainRate * (hazard > 0 ? shrink : 0),
    },
    logProbability:
      alpha > 37
        ? -0.5 * alpha * alpha - Math.log(alpha * Math.sqrt(2 * Math.PI))
        : Math.log(Math.max(Number.MIN_VALUE, normalCdf(-alpha))),
  };
}
