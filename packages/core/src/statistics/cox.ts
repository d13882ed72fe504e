/**
 * Proportional hazards with one covariate, by Newton's method on the partial likelihood; ties after Efron or Breslow.
 *
 * Domain    at least one event on which the covariate varies
 * Errors    converges to 1e-10 in the coefficient; refuses when it runs away
 * Source    S-cox, S-efron
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { normalQuantile } from './distributions.ts';
import type { TimedOutcome } from './survival.ts';

export interface CoxFit {
  readonly coefficient: number;
  readonly standardError: number;
  readonly hazardRatio: number;
  readonly low: number;
  readonly high: number;
  /** Log partial likelihood at 0 and at the coefficient. */
  readonly logLikelihood: readonly [number, number];
}

export function coxOneCovariate(
  outcomes: readonly (TimedOutcome & { readonly covariate: number })[],
  ties: 'efron' | 'breslow' = 'efron',
): CoxFit | Refusal {
  const ordered = [...outcomes].sort((a, b) => b.time - a.time);
  const step = (beta: number): { height: number; slope: number; curve: number } => {
    let [height, slope, curve] = [0, 0, 0];
    let [s0, s1, s2] = [0, 0, 0];
    for (let start = 0; start < ordered.length;) {
      const time = (ordered[start] as { time: number }).time;
      let [d, d0, d1, d2, covariates] = [0, 0, 0, 0, 0];
      let end = start;
      for (; end < ordered.length && (ordered[end] as { time: number }).time === time; end += 1) {
        const one = ordered[end] as TimedOutcome & { covariate: number };
        const x = one.covariate;
        const weight = Math.exp(beta * x);
        s0 += weight;
        s1 += weight * x;
        s2 += weight * x * x;
        if (one.happened) {
          d += 1;
          d0 += weight;
          d1 += weight * x;
          d2 += weight * x * x;
          covariates += x;
        }
      }
      if (d > 0) {
        height += beta * covariates;
        slope += covariates;
        for (let tie = 0; tie < d; tie += 1) {
          const share = ties === 'efron' ? tie / d : 0;
          const [t0, t1, t2] = [s0 - share * d0, s1 - share * d1, s2 - share * d2];
          height -= Math.log(t0);
          slope -= t1 / t0;
          curve += t2 / t0 - (t1 / t0) ** 2;
        }
      }
      start = end;
    }
    return { height, slope, curve };
  };
  let beta = 0;
  let now = step(0);
  const first = now.height;
  for (let round = 0; round < 50; round += 1) {
    if (!(now.curve > 1e-12) || Math.abs(beta) > 50) {
      return refuse('statistics/does-not-converge', {
        asked: 'Hazard ratio',
        found: 'a comparison that has no finite answer',
        allowed: 'events in both groups',
        todo: 'Show the two curves instead.',
      });
    }
    const move = now.slope / now.curve;
    beta += move;
    now = step(beta);
    if (Math.abs(move) < 1e-11) break;
  }
  const standardError = 1 / Math.sqrt(now.curve);
  const z = normalQuantile(0.975);
  return {
    coefficient: beta,
    standardError,
    hazardRatio: Math.exp(beta),
    low: Math.exp(beta - z * standardError),
    high: Math.exp(beta + z * standardError),
    logLikelihood: [first, now.height],
  };
}
