// Proves     intervals of shares and rates, comparisons of two groups, accuracy and paired change.
// Published  conformance/data/statistics/shares-and-rates.json (R, epitools, epiR); S-clinical-E7, I1, I10, K13
// Tolerance  1e-6 relative; printed figures half their last digit.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '../quantity/index.ts';
import { clopperPearsonInterval, wilsonInterval } from './proportions.ts';
import { byarRatePer, ratePer, rateRatio } from './rates.ts';
import { evenly, expectWithin, referenceTable } from './testing/within.ts';
import { compareShares, mcNemar, testAccuracy } from './two-by-two.ts';

const table = referenceTable('shares-and-rates');

const one = 1e-6;

describe('interval of a share', () => {
  it.each(table.shares)('of $count in $of agrees with the reference, plain, corrected and exact', (row) => {
    const { count, of } = row;
    for (const [name, got, expected] of [
      ['plain', wilsonInterval(count, of), row.wilson],
      ['corrected', wilsonInterval(count, of, { continuityCorrected: true }), row.wilsonCorrected],
      ['exact', clopperPearsonInterval(count, of), row.exact],
    ] as const) {
      expectWithin(orThrow(got).low, expected[0] as number, one, `${name} low of ${count}/${of}`);
      expectWithin(orThrow(got).high, expected[1] as number, one, `${name} high of ${count}/${of}`);
    }
  });

  it('matches the trial of individual capacity: 80 of 931 is 0.0696 to 0.1057 (S-clinical-K13)', () => {
    const interval = orThrow(wilsonInterval(80, 931));
    expect(interval.low).toBeCloseTo(0.0696, 4);
    expect(interval.high).toBeCloseTo(0.1057, 4);
  });

  it('is refused when the count exceeds the whole, with what was found', () => {
    const refusal = wilsonInterval(7, 5);
    expect(isRefusal(refusal) && refusal.found).toBe('7 of 5');
    expect(isRefusal(wilsonInterval(0, 0))).toBe(true);
    expect(isRefusal(clopperPearsonInterval(Number.NaN, 4))).toBe(true);
  });

  it('holds the share, lies in 0 to 1, and the exact one is never inside out', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 400 }), evenly(0, 1), (of, part) => {
        const count = Math.round(of * part);
        for (const interval of [
          orThrow(wilsonInterval(count, of)),
          orThrow(clopperPearsonInterval(count, of)),
        ]) {
          if (
            !(
              interval.low >= 0 &&
              interval.low <= interval.share + 1e-12 &&
              interval.share <= interval.high + 1e-12 &&
              interval.high <= 1
            )
          )
            return false;
        }
        return true;
      }),
      { seed: 41, numRuns: 150 },
    );
  });
});

describe('rate', () => {
  it.each(table.rates)('of $events in $days days agrees with the reference', (row) => {
    const exact = orThrow(ratePer(row.events, row.days));
    const byar = orThrow(byarRatePer(row.events, row.days));
    expectWithin(exact.rate, row.per1000, one, 'rate');
    expectWithin(exact.low, row.exact[0] as number, one, 'exact low');
    expectWithin(exact.high, row.exact[1] as number, one, 'exact high');
    expectWithin(byar.low, row.byar[0] as number, one, 'Byar low');
    expectWithin(byar.high, row.byar[1] as number, one, 'Byar high');
  });

  it('of none in 400 days still allows 9.2 per 1000 (S-clinical-I10), and of 3 in 750 is 4.0, 0.8 to 11.7 (S-clinical-I1)', () => {
    expect(orThrow(ratePer(0, 400)).high).toBeCloseTo(9.2, 1);
    const three = orThrow(ratePer(3, 750));
    expect([three.rate, three.low, three.high].map((value) => value.toFixed(1))).toEqual([
      '4.0',
      '0.8',
      '11.7',
    ]);
  });

  it('has an exact ratio to another', () => {
    const { first, second, ratio, interval, p } = table.rateRatio;
    const got = orThrow(
      rateRatio(
        { events: first[0] as number, exposure: first[1] as number },
        { events: second[0] as number, exposure: second[1] as number },
      ),
    );
    expectWithin(got.ratio, ratio, one, 'ratio');
    expectWithin(got.low, interval[0] as number, one, 'low');
    expectWithin(got.high, interval[1] as number, one, 'high');
    expectWithin(got.p, p, one, 'p');
  });

  it('is refused without exposure', () => {
    expect(isRefusal(ratePer(3, 0))).toBe(true);
    expect(isRefusal(ratePer(1.5, 10))).toBe(true);
  });
});

describe('two groups', () => {
  it('compare as the reference says, as ratio, difference and odds', () => {
    const got = orThrow(compareShares({ events: 12, of: 100 }, { events: 24, of: 100 }));
    const { riskRatio, riskDifferencePercent, oddsRatio } = table.comparison;
    for (const [name, estimate, expected, scale] of [
      ['ratio', got.riskRatio, riskRatio, 1],
      ['difference', got.riskDifference, riskDifferencePercent, 100],
      ['odds', got.oddsRatio, oddsRatio, 1],
    ] as const) {
      expectWithin(estimate.estimate * scale, expected[0] as number, one, name);
      expectWithin(estimate.low * scale, expected[1] as number, one, `${name} low`);
      expectWithin(estimate.high * scale, expected[2] as number, one, `${name} high`);
    }
  });

  it('give the trial figure 0.730, 0.555 to 0.961 (S-clinical-E7)', () => {
    const { riskRatio } = orThrow(compareShares({ events: 80, of: 931 }, { events: 107, of: 909 }));
    expect([riskRatio.estimate, riskRatio.low, riskRatio.high].map((value) => value.toFixed(3))).toEqual([
      '0.730',
      '0.555',
      '0.961',
    ]);
  });

  it('are refused when nobody had it in one', () => {
    expect(isRefusal(compareShares({ events: 0, of: 10 }, { events: 2, of: 10 }))).toBe(true);
  });

  it('give every figure of accuracy', () => {
    const { counts, ...expected } = table.accuracy;
    const [truePositive, falsePositive, falseNegative, trueNegative] = counts as [
      number,
      number,
      number,
      number,
    ];
    const got = orThrow(testAccuracy({ truePositive, falsePositive, falseNegative, trueNegative }));
    const all = { ...got, ruledIn: got.apparentPrevalence };
    for (const [name, [estimate, low, high]] of Object.entries(expected)) {
      const mine = all[name as keyof typeof all];
      expectWithin(mine.estimate, estimate as number, one, name);
      expectWithin(mine.low, low as number, one, `${name} low`);
      expectWithin(mine.high, high as number, one, `${name} high`);
    }
  });

  it('give McNemar for paired change', () => {
    const { changed, chiSquared, p } = table.mcNemar;
    const got = orThrow(mcNemar(changed[0] as number, changed[1] as number));
    expectWithin(got.chiSquared, chiSquared, one, 'chi-squared');
    expectWithin(got.p, p, one, 'p');
  });
});
