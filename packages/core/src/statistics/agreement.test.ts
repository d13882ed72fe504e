// Proves     limits of agreement with every interval, repeats, concordance, intraclass correlation, kappas.
// Published  conformance/data/statistics/agreement-1986.json and raters.json; S-clinical-J9
// Tolerance  1e-6 relative; printed figures half their last digit.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '../quantity/index.ts';
import {
  concordance,
  kendallTau,
  limitsOfAgreement,
  meanAbsolutePercentage,
  pearsonCorrelation,
  proportionalBias,
  ratioLimits,
  repeatability,
  repeatedLimits,
  withinPersonSd,
  type Pair,
} from './agreement.ts';
import { intraclass, type Intraclass } from './intraclass.ts';
import { balancedKappa, cohenKappa, fleissKappa } from './kappa.ts';
import { expectWithin, sampleRows, referenceTable } from './testing/within.ts';

const expected = referenceTable('agreement-1986');
const raters = referenceTable('raters');

const one = 1e-6;
const zip = (a: readonly number[], b: readonly number[]): Pair[] =>
  a.map((value, index) => [value, b[index] as number]);
const first = zip(expected.wright1, expected.mini1);
const noSamples = !process.env['EBBLINE_SAMPLES'];

describe('limits of agreement', () => {
  it('of the 1986 table have the bias, limits and intervals of 1999', () => {
    const got = orThrow(limitsOfAgreement(first));
    const want = expected.first;
    expectWithin(got.bias, want.bias, one, 'bias');
    expectWithin(got.standardDeviation, want.standardDeviation, one, 'sd');
    expectWithin(got.biasStandardError, want.biasError, one, 'error of bias');
    expectWithin(got.limitStandardError, want.limitError, one, 'error of limit');
    for (const [interval, pair] of [
      [got.biasInterval, want.biasInterval],
      [got.limits, want.limits196],
      [got.lowerLimitInterval, want.lowerLimitInterval],
      [got.upperLimitInterval, want.upperLimitInterval],
    ] as const) {
      expectWithin(interval.low, pair[0] as number, one, 'low');
      expectWithin(interval.high, pair[1] as number, one, 'high');
    }
  });

  it('of the 1986 table have the limits and intervals printed then', () => {
    const got = orThrow(limitsOfAgreement(first, { multiple: 2, limitError: 'short' }));
    const want = expected.first;
    expectWithin(got.limits.low, want.limits2[0] as number, one, 'low');
    expectWithin(got.limits.high, want.limits2[1] as number, one, 'high');
    expectWithin(got.limitStandardError, want.limitErrorShort, one, 'error');
    expectWithin(got.lowerLimitInterval.low, want.lowerLimitIntervalShort[0] as number, one, 'lower low');
    expectWithin(got.lowerLimitInterval.high, want.lowerLimitIntervalShort[1] as number, one, 'lower high');
    expectWithin(got.upperLimitInterval.low, want.upperLimitIntervalShort[0] as number, one, 'upper low');
    expectWithin(got.upperLimitInterval.high, want.upperLimitIntervalShort[1] as number, one, 'upper high');
  });

  it('allow for repeats: the corrected spread is wider than that of the means', () => {
    const people = expected.wright1.map((value, index) => ({
      first: [value, expected.wright2[index] as number],
      second: [expected.mini1[index] as number, expected.mini2[index] as number],
    }));
    const got = orThrow(repeatedLimits(people));
    expectWithin(got.bias, expected.repeats.bias, one, 'bias');
    expectWithin(got.meanDifferenceSd, expected.repeats.meanDifferenceSd, one, 'sd of means');
    expectWithin(got.correctedSd, expected.repeats.correctedSd, one, 'corrected');
    expectWithin(got.limits.low, expected.repeats.limits[0] as number, one, 'low');
    expectWithin(got.limits.high, expected.repeats.limits[1] as number, one, 'high');
    expect(got.correctedSd).toBeGreaterThan(got.meanDifferenceSd);
  });

  it('swap sides when the two are swapped', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 1, max: 900 }), fc.integer({ min: 1, max: 900 })), {
          minLength: 3,
          maxLength: 30,
        }),
        (pairs) => {
          const there = orThrow(limitsOfAgreement(pairs));
          const back = orThrow(limitsOfAgreement(pairs.map(([a, b]) => [b, a] as const)));
          return (
            Math.abs(there.limits.low + back.limits.high) < 1e-6 && Math.abs(there.bias + back.bias) < 1e-9
          );
        },
      ),
      { seed: 42, numRuns: 100 },
    );
  });

  it('as a ratio are 0.988, 0.778 to 1.255 (S-clinical-J9), and refuse a zero', () => {
    const got = orThrow(ratioLimits(first));
    expect([got.ratio, got.low, got.high].map((value) => value.toFixed(3))).toEqual([
      '0.988',
      '0.778',
      '1.255',
    ]);
    expect(isRefusal(ratioLimits([...first, [0, 10]]))).toBe(true);
  });

  it('are refused from two pairs, or with a number that is none', () => {
    expect(isRefusal(limitsOfAgreement(first.slice(0, 2)))).toBe(true);
    expect(isRefusal(limitsOfAgreement([...first, [Number.NaN, 1]]))).toBe(true);
  });
});

describe('repeatability and concordance', () => {
  it.each(['wright', 'mini'] as const)('of the %s meter are those of the reference', (name) => {
    const pairs =
      name === 'wright' ? zip(expected.wright1, expected.wright2) : zip(expected.mini1, expected.mini2);
    const got = orThrow(repeatability(pairs));
    expectWithin(got.differenceSd, expected[name].differenceSd, one, 'sd');
    expectWithin(got.differenceRootMeanSquare, expected[name].rootMeanSquare, one, 'root mean square');
    expectWithin(got.withinSd, expected[name].withinSd, one, 'within');
    expectWithin(got.coefficient1986, expected[name].coefficient1986, one, '1986');
    expectWithin(got.coefficient, expected[name].coefficient, one, 'coefficient');
    expectWithin(orThrow(withinPersonSd(pairs)), expected[name].withinSd, one, 'by analysis of variance');
  });

  it('give concordance with its interval, correlation, slope, ranks and percentage', () => {
    const got = orThrow(concordance(first));
    expectWithin(got.concordance, expected.concordance.estimate, one, 'concordance');
    expectWithin(got.low, expected.concordance.low, one, 'low');
    expectWithin(got.high, expected.concordance.high, one, 'high');
    expectWithin(got.biasCorrection, expected.concordance.biasCorrection, one, 'bias correction');
    expectWithin(orThrow(pearsonCorrelation(first)), expected.correlation, one, 'correlation');
    const slope = orThrow(proportionalBias(first));
    expectWithin(slope.intercept, expected.slope.intercept, one, 'intercept');
    expectWithin(slope.slope, expected.slope.slope, one, 'slope');
    expectWithin(slope.slopeStandardError, expected.slope.slopeError, one, 'error of slope');
    expectWithin(slope.p, expected.slope.p, one, 'p');
    expectWithin(
      orThrow(kendallTau(first.map(([a, b]) => [Math.abs(a - b), (a + b) / 2] as const))),
      expected.kendallOfSizeOnMean,
      one,
      'ranks',
    );
    expectWithin(orThrow(meanAbsolutePercentage(first)), expected.meanAbsolutePercentage, one, 'percentage');
  });
});

describe('intraclass correlation', () => {
  it('has all six forms of the 1979 table', () => {
    const got = orThrow(intraclass(raters.ratings));
    for (const want of raters.forms) {
      const form = got[want.form as keyof Intraclass];
      for (const name of ['correlation', 'f', 'above', 'below', 'p', 'low', 'high'] as const)
        expectWithin(form[name], want[name], one, `${want.form} ${name}`);
    }
  });

  it('is refused when someone was not rated by all', () => {
    expect(isRefusal(intraclass([[1, 2], [3]]))).toBe(true);
  });
});

describe('kappa', () => {
  it('of a two by two table has the reference error under no agreement, and the balanced form', () => {
    const want = raters.kappaTwoByTwo;
    const got = orThrow(cohenKappa(want.table));
    expectWithin(got.kappa, want.kappa, one, 'kappa');
    expectWithin(got.standardErrorAtZero, want.errorAtZero, one, 'error');
    expectWithin(
      got.kappa - 1.959963984540054 * got.standardErrorAtZero,
      want.intervalAtZero[0] as number,
      one,
      'low',
    );
    const balanced = orThrow(balancedKappa(35, 50));
    for (const [index, value] of [balanced.kappa, balanced.low, balanced.high].entries())
      expectWithin(value, want.balanced[index] as number, one, 'balanced');
  });

  it.skipIf(noSamples)(
    'of four by four, plain and weighted, has the reference errors (EBBLINE_SAMPLES names the data)',
    async () => {
      const rows = (await sampleRows('vcd-sexualfun-table.csv')) ?? [];
      const table = [0, 1, 2, 3].map((i) => [0, 1, 2, 3].map((j) => Number(rows[j * 4 + i]?.[2])));
      for (const weights of ['none', 'linear', 'quadratic'] as const) {
        const got = orThrow(cohenKappa(table, weights));
        expectWithin(got.kappa, raters.kappaFourByFour[weights][0] as number, one, weights);
        expectWithin(
          got.standardError,
          raters.kappaFourByFour[weights][1] as number,
          one,
          `${weights} error`,
        );
      }
    },
  );

  it.skipIf(noSamples)(
    'of many raters has the reference figures (EBBLINE_SAMPLES names the data)',
    async () => {
      const rows = ((await sampleRows('fleiss-example.csv')) ?? []).map((row) => row.map(Number));
      const got = orThrow(fleissKappa(rows));
      for (const name of ['kappa', 'seen', 'chance'] as const)
        expectWithin(got[name], raters.manyRaters[name], one, name);
    },
  );

  it('is 1 in full agreement and refused on one category', () => {
    expect(
      orThrow(
        cohenKappa([
          [5, 0],
          [0, 5],
        ]),
      ).kappa,
    ).toBe(1);
    expect(
      isRefusal(
        cohenKappa([
          [5, 0],
          [0, 0],
        ]),
      ),
    ).toBe(true);
  });
});
