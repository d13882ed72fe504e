/**
 * Comparisons of two shares, accuracy of a yes-or-no test, and paired change (McNemar).
 *
 * Domain    counts whole and ≥ 0, groups not empty; ratios refuse when a cell that they divide by is 0
 * Errors    ratios by the log-normal approximation; sensitivity and the like by the exact interval
 * Source    S-clinical-E7 (worked ratio), S-altman-medical-research for the standard errors
 * @example  compareShares({ events: 12, of: 100 }, { events: 24, of: 100 }) // risk ratio 0.5 (0.26 to 0.94)
 */
import { isRefusal, refuse, type Refusal } from '../quantity/index.ts';
import { badShare } from './check.ts';
import { chiSquaredUpperTail, normalQuantile } from './distributions.ts';
import { clopperPearsonInterval } from './proportions.ts';

export interface Estimate {
  readonly estimate: number;
  readonly low: number;
  readonly high: number;
}

const z95 = normalQuantile(0.975);

const onLogScale = (estimate: number, standardError: number): Estimate => ({
  estimate,
  low: estimate * Math.exp(-z95 * standardError),
  high: estimate * Math.exp(z95 * standardError),
});

export interface ShareComparison {
  readonly riskRatio: Estimate;
  /** Difference of the shares, not in percent. */
  readonly riskDifference: Estimate;
  readonly oddsRatio: Estimate;
}

export function compareShares(
  first: { readonly events: number; readonly of: number },
  second: { readonly events: number; readonly of: number },
): ShareComparison | Refusal {
  const bad =
    badShare('Comparison', first.events, first.of) ?? badShare('Comparison', second.events, second.of);
  if (bad) return bad;
  const [a, b, c, d] = [first.events, first.of - first.events, second.events, second.of - second.events];
  if (a === 0 || b === 0 || c === 0 || d === 0) {
    return refuse('statistics/empty-cell', {
      asked: 'Comparison',
      found: `${a}, ${b}, ${c} and ${d}`,
      allowed: 'no group in which none or all had it',
      todo: 'Show the two shares with their intervals instead.',
    });
  }
  const [p, q] = [a / first.of, c / second.of];
  const half = z95 * Math.sqrt((p * (1 - p)) / first.of + (q * (1 - q)) / second.of);
  return {
    riskRatio: onLogScale(p / q, Math.sqrt(1 / a - 1 / first.of + 1 / c - 1 / second.of)),
    riskDifference: { estimate: p - q, low: p - q - half, high: p - q + half },
    oddsRatio: onLogScale((a * d) / (b * c), Math.sqrt(1 / a + 1 / b + 1 / c + 1 / d)),
  };
}

export interface TestAccuracy {
  readonly apparentPrevalence: Estimate;
  readonly truePrevalence: Estimate;
  readonly sensitivity: Estimate;
  readonly specificity: Estimate;
  readonly accuracy: Estimate;
  readonly diagnosticOddsRatio: Estimate;
  readonly youden: Estimate;
  readonly numberNeeded: Estimate;
  readonly positivePredictive: Estimate;
  readonly negativePredictive: Estimate;
  readonly positiveLikelihoodRatio: Estimate;
  readonly negativeLikelihoodRatio: Estimate;
  /** Share of all with a negative test. */
  readonly ruledOut: Estimate;
  /** Share of the well with a positive test; of the sick with a negative one. */
  readonly positiveAmongWell: Estimate;
  readonly negativeAmongSick: Estimate;
  /** Share of the positive who are well; of the negative who are sick. */
  readonly wellAmongPositive: Estimate;
  readonly sickAmongNegative: Estimate;
}

/** Accuracy of a yes-or-no test against the truth. */
export function testAccuracy(counts: {
  readonly truePositive: number;
  readonly falsePositive: number;
  readonly falseNegative: number;
  readonly trueNegative: number;
}): TestAccuracy | Refusal {
  const { truePositive: tp, falsePositive: fp, falseNegative: fn, trueNegative: tn } = counts;
  const cells = [tp, fp, fn, tn];
  if (cells.some((cell) => !Number.isInteger(cell) || cell <= 0)) {
    return refuse('statistics/empty-cell', {
      asked: 'Accuracy',
      found: cells.join(', '),
      allowed: 'whole numbers above 0 in all four cells',
      todo: 'Show the single shares with their intervals instead.',
    });
  }
  const all = tp + fp + fn + tn;
  const exact = (count: number, of: number): Estimate => {
    const interval = clopperPearsonInterval(count, of);
    return isRefusal(interval)
      ? { estimate: Number.NaN, low: Number.NaN, high: Number.NaN }
      : { estimate: interval.share, low: interval.low, high: interval.high };
  };
  const sensitivity = exact(tp, tp + fn);
  const specificity = exact(tn, tn + fp);
  const youden = {
    estimate: sensitivity.estimate + specificity.estimate - 1,
    low: sensitivity.low + specificity.low - 1,
    high: sensitivity.high + specificity.high - 1,
  };
  const [sick, well] = [tp + fn, fp + tn];
  return {
    apparentPrevalence: exact(tp + fp, all),
    truePrevalence: exact(sick, all),
    sensitivity,
    specificity,
    accuracy: exact(tp + tn, all),
    diagnosticOddsRatio: onLogScale((tp * tn) / (fp * fn), Math.sqrt(1 / tp + 1 / fp + 1 / fn + 1 / tn)),
    youden,
    numberNeeded: { estimate: 1 / youden.estimate, low: 1 / youden.high, high: 1 / youden.low },
    positivePredictive: exact(tp, tp + fp),
    negativePredictive: exact(tn, tn + fn),
    positiveLikelihoodRatio: onLogScale(
      tp / sick / (fp / well),
      Math.sqrt(1 / tp - 1 / sick + 1 / fp - 1 / well),
    ),
    negativeLikelihoodRatio: onLogScale(
      fn / sick / (tn / well),
      Math.sqrt(1 / fn - 1 / sick + 1 / tn - 1 / well),
    ),
    ruledOut: exact(fn + tn, all),
    positiveAmongWell: exact(fp, well),
    negativeAmongSick: exact(fn, sick),
    wellAmongPositive: exact(fp, tp + fp),
    sickAmongNegative: exact(fn, fn + tn),
  };
}

/** McNemar's test from the two counts that changed. */
export function mcNemar(
  changedOneWay: number,
  changedOther: number,
  continuityCorrected = false,
): { readonly chiSquared: number; readonly p: number } | Refusal {
  const changed = changedOneWay + changedOther;
  if (!(changed > 0) || changedOneWay < 0 || changedOther < 0) {
    return refuse('statistics/too-few', {
      asked: 'Paired change',
      found: `${changed} changed`,
      allowed: 'at least 1 pair that changed',
      todo: 'There is nothing to test.',
    });
  }
  const apart = Math.max(0, Math.abs(changedOneWay - changedOther) - (continuityCorrected ? 1 : 0));
  const chiSquared = apart ** 2 / changed;
  return { chiSquared, p: chiSquaredUpperTail(chiSquared, 1) };
}
