/**
 * Control charts: centre line and limits that tell a change from the usual variation.
 *
 * Units     those of the points; rates per unit of exposure
 * Domain    at least 2 points (moving ranges) or 1 (counts); a point on a limit is no signal
 * Errors    a moving range of two is divided by 1.128, as the tables print it, not by 2/√π
 * Source    S-clinical-K1 to S-clinical-K7 (NIST/SEMATECH e-Handbook); S-laney; S-nelson-1994
 */
import { refuse, type Refusal } from '../quantity/index.ts';
import { badList, mean, sum } from './check.ts';

/** Mean range of two normal values in standard deviations, as tabulated. S-clinical-K1 */
const d2 = 1.128;

/** 3/1.128 as the chart of times prints it. S-nelson-1994 */
const printedFactor = 2.66;

export interface ChartLimits {
  readonly centre: number;
  readonly low: number;
  readonly high: number;
  /** Places (from 0) of points outside the limits. */
  readonly outside: readonly number[];
}

const outsideOf = (
  points: readonly number[],
  low: number | readonly number[],
  high: number | readonly number[],
): number[] =>
  points.flatMap((point, index) => {
    const [below, above] = [
      typeof low === 'number' ? low : (low[index] as number),
      typeof high === 'number' ? high : (high[index] as number),
    ];
    return point < below || point > above ? [index] : [];
  });

/** Mean of the moving ranges of two. */
function meanMovingRange(points: readonly number[]): number {
  return mean(points.slice(1).map((point, index) => Math.abs(point - (points[index] as number))));
}

/** Individuals chart: mean ± 3 moving ranges / 1.128. */
export function individualsChart(
  points: readonly number[],
): (ChartLimits & { readonly movingRange: number }) | Refusal {
  const bad = badList('Individuals chart', points, 2);
  if (bad) return bad;
  const centre = mean(points);
  const movingRange = meanMovingRange(points);
  const spread = (3 * movingRange) / d2;
  return {
    centre,
    low: centre - spread,
    high: centre + spread,
    movingRange,
    outside: outsideOf(points, centre - spread, centre + spread),
  };
}

/** Exponentially weighted moving average with its long-run limits. */
export function ewmaChart(
  points: readonly number[],
  settings: {
    readonly weight: number;
    readonly target: number;
    readonly standardDeviation: number;
    readonly multiple?: number;
  },
): (ChartLimits & { readonly averages: readonly number[] }) | Refusal {
  const bad = badList('Moving-average chart', points, 1);
  if (bad) return bad;
  const { weight, target, standardDeviation } = settings;
  if (!(weight > 0 && weight <= 1) || !(standardDeviation > 0)) {
    return refuse('statistics/bad-setting', {
      asked: 'Moving-average chart',
      found: `weight ${weight}, standard deviation ${standardDeviation}`,
      allowed: 'a weight above 0 up to 1, a standard deviation above 0',
      todo: 'Correct the setting.',
    });
  }
  let average = target;
  const averages = points.map((point) => {
    average = weight * point + (1 - weight) * average;
    return average;
  });
  const spread = (settings.multiple ?? 3) * standardDeviation * Math.sqrt(weight / (2 - weight));
  return {
    centre: target,
    low: target - spread,
    high: target + spread,
    averages,
    outside: outsideOf(averages, target - spread, target + spread),
  };
}

export interface CusumChart {
  readonly above: readonly number[];
  readonly below: readonly number[];
  /** Places (from 0) at which either sum passes the decision limit. */
  readonly outside: readonly number[];
}

/** Two one-sided cumulative sums, each starting again at 0. */
export function cusumChart(
  points: readonly number[],
  settings: { readonly target: number; readonly slack: number; readonly decision: number },
): CusumChart | Refusal {
  const bad = badList('Cumulative-sum chart', points, 1);
  if (bad) return bad;
  let [up, down] = [0, 0];
  const above: number[] = [];
  const below: number[] = [];
  for (const point of points) {
    up = Math.max(0, up + point - settings.target - settings.slack);
    down = Math.max(0, down + settings.target - settings.slack - point);
    above.push(up);
    below.push(down);
  }
  return {
    above,
    below,
    outside: above.flatMap((value, index) =>
      value > settings.decision || (below[index] as number) > settings.decision ? [index] : [],
    ),
  };
}

/** c chart: counts over equal periods. */
export function countChart(counts: readonly number[]): ChartLimits | Refusal {
  const bad = badList('Count chart', counts, 1);
  if (bad) return bad;
  const centre = mean(counts);
  const spread = 3 * Math.sqrt(centre);
  const [low, high] = [Math.max(0, centre - spread), centre + spread];
  return { centre, low, high, outside: outsideOf(counts, low, high) };
}

/** p chart: shares out of equal numbers. */
export function shareChart(shares: readonly number[], of: number): ChartLimits | Refusal {
  const bad = badList('Share chart', shares, 1);
  if (bad) return bad;
  if (!(of > 0))
    return refuse('statistics/not-a-share', {
      asked: 'Share chart',
      found: `out of ${of}`,
      allowed: 'out of more than 0',
      todo: 'Give how many each point is out of.',
    });
  const centre = mean(shares);
  const spread = 3 * Math.sqrt((centre * (1 - centre)) / of);
  const [low, high] = [Math.max(0, centre - spread), Math.min(1, centre + spread)];
  return { centre, low, high, outside: outsideOf(shares, low, high) };
}

export interface RateChart {
  readonly centre: number;
  readonly low: readonly number[];
  readonly high: readonly number[];
  readonly outside: readonly number[];
  /** Spread beyond Poisson (1 = none), when it was allowed for. */
  readonly sigmaZ?: number;
}

/** u chart: events over unequal exposures. With `allowExtraSpread`, Laney's correction for counts that vary more than Poisson. */
export function rateChart(
  events: readonly number[],
  exposures: readonly number[],
  settings: { readonly allowExtraSpread?: boolean } = {},
): RateChart | Refusal {
  const bad = badList('Rate chart', [...events, ...exposures], 2);
  if (bad) return bad;
  if (events.length !== exposures.length || exposures.some((exposure) => !(exposure > 0))) {
    return refuse('statistics/not-a-rate', {
      asked: 'Rate chart',
      found: `${events.length} counts and ${exposures.length} exposures`,
      allowed: 'one exposure above 0 for each count',
      todo: 'Leave out periods without exposure.',
    });
  }
  const centre = sum(events) / sum(exposures);
  const sds = exposures.map((exposure) => Math.sqrt(centre / exposure));
  const rates = events.map((count, index) => count / (exposures[index] as number));
  const sigmaZ =
    settings.allowExtraSpread === true
      ? meanMovingRange(rates.map((rate, index) => (rate - centre) / (sds[index] as number))) / d2
      : undefined;
  const factor = 3 * (sigmaZ ?? 1);
  const low = sds.map((sd) => Math.max(0, centre - factor * sd));
  const high = sds.map((sd) => centre + factor * sd);
  return {
    centre,
    low,
    high,
    outside: outsideOf(rates, low, high),
    ...(sigmaZ === undefined ? {} : { sigmaZ }),
  };
}

/** g chart: cases (or days) between rare events, geometric. */
export function betweenEventsChart(between: readonly number[]): ChartLimits | Refusal {
  const bad = badList('Chart of rare events', between, 1);
  if (bad) return bad;
  const centre = mean(between);
  const high = centre + 3 * Math.sqrt(centre * (centre + 1));
  return { centre, low: 0, high, outside: outsideOf(between, 0, high) };
}

/** t chart: time between rare events, made near normal by the power 1/3.6 and charted as individuals. */
export function timeBetweenChart(
  between: readonly number[],
): (ChartLimits & { readonly transformedMean: number; readonly transformedRange: number }) | Refusal {
  const bad = badList('Chart of times between events', between, 2);
  if (bad) return bad;
  const power = 3.6;
  const transformed = between.map((value) => Math.max(0, value) ** (1 / power));
  const transformedMean = mean(transformed);
  const transformedRange = meanMovingRange(transformed);
  const spread = printedFactor * transformedRange;
  const [low, high] = [Math.max(0, transformedMean - spread) ** power, (transformedMean + spread) ** power];
  return {
    centre: transformedMean ** power,
    low,
    high,
    transformedMean,
    transformedRange,
    outside: outsideOf(between, low, high),
  };
}
