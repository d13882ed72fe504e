/**
 * Rates per exposure with exact Poisson intervals, Byar's approximation, and the exact ratio of two rates.
 *
 * Units     events per `per` units of exposure (default 1000, as for catheter-days)
 * Domain    events whole and ≥ 0; exposure > 0
 * Errors    Byar's lower limit is below zero for no events; it is cut at zero here
 * Source    exact: S-garwood, S-clinical-I10; Byar: S-breslow-day; ratio: conditional on the sum, S-clopper-pearson
 * @example  ratePer(5, 1000) // 5 (1.62 to 11.67) per 1000
 */
import { isRefusal, refuse, type Refusal } from '../quantity/index.ts';
import { gammaQuantile, normalQuantile } from './distributions.ts';
import { clopperPearsonInterval } from './proportions.ts';
import { logGamma } from './special-functions.ts';

export interface RateInterval {
  readonly rate: number;
  readonly low: number;
  readonly high: number;
}

const badRate = (events: number, exposure: number): Refusal | undefined =>
  Number.isInteger(events) && events >= 0 && exposure > 0 && Number.isFinite(exposure)
    ? undefined
    : refuse('statistics/not-a-rate', {
        asked: 'Rate',
        found: `${events} events in ${exposure}`,
        allowed: 'a whole number of events from 0, exposure above 0',
        todo: 'Check the events and the days counted.',
      });

export function ratePer(events: number, exposure: number, per = 1000, level = 0.95): RateInterval | Refusal {
  const bad = badRate(events, exposure);
  if (bad) return bad;
  const tail = (1 - level) / 2;
  const scale = per / exposure;
  return {
    rate: events * scale,
    low: events === 0 ? 0 : gammaQuantile(tail, events) * scale,
    high: gammaQuantile(1 - tail, events + 1) * scale,
  };
}

/** Byar's approximation, for comparison with published figures that used it. */
export function byarRatePer(
  events: number,
  exposure: number,
  per = 1000,
  level = 0.95,
): RateInterval | Refusal {
  const bad = badRate(events, exposure);
  if (bad) return bad;
  const z = normalQuantile(1 - (1 - level) / 2);
  const limit = (x: number, sign: 1 | -1): number =>
    x > 0 ? x * (1 - 1 / (9 * x) + (sign * z) / (3 * Math.sqrt(x))) ** 3 : 0;
  const scale = per / exposure;
  const [low, high] = [limit(events + 0.5, -1), limit(events + 0.5, 1)];
  return { rate: events * scale, low: Math.max(0, low) * scale, high: high * scale };
}

export interface RateRatio {
  readonly ratio: number;
  readonly low: number;
  readonly high: number;
  readonly p: number;
}

const logChoose = (n: number, k: number): number => logGamma(n + 1) - logGamma(k + 1) - logGamma(n - k + 1);

/** Two-sided exact binomial p: the probability of all outcomes no likelier than the one seen. */
function binomialTestP(count: number, of: number, share: number): number {
  const density = (k: number): number =>
    Math.exp(logChoose(of, k) + k * Math.log(share) + (of - k) * Math.log1p(-share));
  const seen = density(count) * (1 + 1e-7);
  let total = 0;
  for (let k = 0; k <= of; k += 1) {
    const one = density(k);
    if (one <= seen) total += one;
  }
  return Math.min(1, total);
}

/** Ratio of two rates with its exact interval and p, from the share of all events that fell in the first. */
export function rateRatio(
  first: { readonly events: number; readonly exposure: number },
  second: { readonly events: number; readonly exposure: number },
  level = 0.95,
): RateRatio | Refusal {
  const bad = badRate(first.events, first.exposure) ?? badRate(second.events, second.exposure);
  if (bad) return bad;
  const total = first.events + second.events;
  if (total === 0 || second.events === 0) {
    return refuse('statistics/not-a-rate', {
      asked: 'Ratio of rates',
      found: `${first.events} and ${second.events} events`,
      allowed: 'at least one event in the second',
      todo: 'Compare over a longer time.',
    });
  }
  const share = clopperPearsonInterval(first.events, total, level);
  if (isRefusal(share)) return share;
  const scale = second.exposure / first.exposure;
  const odds = (p: number): number => (p / (1 - p)) * scale;
  return {
    ratio: (first.events / second.events) * scale,
    low: odds(share.low),
    high: odds(share.high),
    p: binomialTestP(first.events, total, first.exposure / (first.exposure + second.exposure)),
  };
}
