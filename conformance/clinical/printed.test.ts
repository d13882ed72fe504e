// Proves     shipped functions give the worked examples of the clinical reference, row by row, entered by the front doors.
// Published  each test names its row; "printed" stands in the row's own source, "computed" is the row's arithmetic
// Tolerance  half the last digit shown. Where a print rounds on the way, the exact value is held as well.
import { describe, expect, it } from 'vitest';
import { fillingBetween, massBalance, plainCrossing } from '@ebbline/core/filling';
import { hourMs, minuteMs, orThrow } from '@ebbline/core/quantity';
import {
  concordance,
  countChart,
  ewmaChart,
  individualsChart,
  limitsOfAgreement,
  pearsonCorrelation,
  repeatability,
  shareChart,
  wilsonInterval,
  type Pair,
} from '@ebbline/core/statistics';

/** Within half the last digit of a figure as it is written. */
function expectPrinted(got: number, printed: string): void {
  const digits = printed.split('.')[1]?.length ?? 0;
  const tolerance = 0.5 * 10 ** -digits + 1e-9;
  expect(Math.abs(got - Number(printed)), `got ${got}, printed ${printed}`).toBeLessThanOrEqual(tolerance);
}

// Peak flow of 17 people by two meters, two readings each, L/min: Bland and Altman, Lancet 1986, Table 1.
const wright1 = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
const wright2 = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421];
const mini1 = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
const mini2 = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443];
const zip = (a: readonly number[], b: readonly number[]): Pair[] =>
  a.map((value, index) => [value, b[index] as number]);
const meters = zip(wright1, mini1);

describe('agreement of two meters', () => {
  it('has the bias and spread printed: -2.1 and 38.8 (S-clinical-J1)', () => {
    const got = orThrow(limitsOfAgreement(meters));
    expectPrinted(got.bias, '-2.1');
    expectPrinted(got.standardDeviation, '38.8');
    expectPrinted(got.bias, '-2.1176');
    expectPrinted(got.standardDeviation, '38.7651');
  });

  it('has the limits of 1986 by two and of 1999 by 1.96 spreads (S-clinical-J2)', () => {
    // Printed -79.7 and 75.5, from figures rounded first; the exact ones are -79.65 and 75.41.
    const of1986 = orThrow(limitsOfAgreement(meters, { multiple: 2, limitError: 'short' })).limits;
    expectPrinted(of1986.low, '-79.65');
    expectPrinted(of1986.high, '75.41');
    expect(Math.abs(of1986.high - 75.5)).toBeLessThan(0.1);
    const of1999 = orThrow(limitsOfAgreement(meters)).limits;
    expectPrinted(of1999.low, '-78.10');
    expectPrinted(of1999.high, '73.86');
  });

  it('has the interval of the bias, -22.05 to 17.81 (S-clinical-J3)', () => {
    const got = orThrow(limitsOfAgreement(meters));
    expectPrinted(got.biasStandardError, '9.40');
    expectPrinted(got.biasInterval.low, '-22.05');
    expectPrinted(got.biasInterval.high, '17.81');
  });

  it('has the intervals of the limits, -114.2 to -45.1 and 40.9 to 109.9 (S-clinical-J4)', () => {
    const got = orThrow(limitsOfAgreement(meters, { multiple: 2, limitError: 'short' }));
    expectPrinted(got.limitStandardError, '16.28');
    expectPrinted(got.lowerLimitInterval.low, '-114.2');
    expectPrinted(got.lowerLimitInterval.high, '-45.1');
    expectPrinted(got.upperLimitInterval.low, '40.9');
    expectPrinted(got.upperLimitInterval.high, '109.9');
    // The exact factor gives 16.3951; the row cuts it to 16.39.
    expectPrinted(orThrow(limitsOfAgreement(meters)).limitStandardError, '16.395');
  });

  it.each([
    ['Wright', zip(wright1, wright2), '43.29', '15.31', '42.43'],
    ['mini', zip(mini1, mini2), '56.32', '19.91', '55.19'],
  ] as const)(
    'has the repeatability of the %s meter by both forms (S-clinical-J5, S-clinical-J6)',
    (_name, pairs, of1986, within, later) => {
      const got = orThrow(repeatability(pairs));
      expectPrinted(got.coefficient1986, of1986);
      expectPrinted(got.withinSd, within);
      expectPrinted(got.coefficient, later);
    },
  );

  it('has a concordance of 0.9427 and a correlation of 0.94328 (S-clinical-J7)', () => {
    const got = orThrow(concordance(meters)).concordance;
    // 0.94274 with variances over n, 0.94275 over n - 1: either is Lin's.
    expect(got).toBeGreaterThan(0.942_735);
    expect(got).toBeLessThan(0.942_755);
    expectPrinted(orThrow(pearsonCorrelation(meters)), '0.94328');
  });
});

describe('control charts as the handbook prints them', () => {
  it('of individuals: 50.81, moving range 1.8778, limits 45.8159 and 55.8041 (S-clinical-K1)', () => {
    const got = orThrow(individualsChart([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]));
    expectPrinted(got.centre, '50.81');
    expectPrinted(got.movingRange, '1.8778');
    // The handbook rounds the moving range to four digits before it multiplies.
    expect(Math.abs(got.high - 55.8041)).toBeLessThan(2e-4);
    expect(Math.abs(got.low - 45.8159)).toBeLessThan(2e-4);
  });

  it('of shares: 0.2313 in samples of 50, limits 0.0524 and 0.4102 (S-clinical-K3)', () => {
    // 347 of 1500, spread over thirty samples as evenly as whole numbers allow.
    const got = orThrow(
      shareChart(
        Array.from({ length: 30 }, (_, index) => (index < 17 ? 12 : 11) / 50),
        50,
      ),
    );
    expectPrinted(got.centre, '0.2313');
    expectPrinted(got.high, '0.4102');
    expectPrinted(got.low, '0.0524');
  });

  it('of counts: 16, limits 4 and 28, a point on the limit being no signal (S-clinical-K4)', () => {
    const got = orThrow(countChart([28, 4, 16, 16]));
    expect(got).toMatchObject({ centre: 16, low: 4, high: 28, outside: [] });
    expect(orThrow(countChart([31, 1, 16, 16])).outside).toEqual([0, 1]);
  });

  it('of a moving average: upper limit 52.5884, lower 47.41157 of which the print cuts the end (S-clinical-K6)', () => {
    const got = orThrow(
      ewmaChart([52, 47, 53, 49.3, 50.1], {
        weight: 0.3,
        target: 50,
        standardDeviation: 2.0539,
        multiple: 3,
      }),
    );
    expectPrinted(got.high, '52.5884');
    expectPrinted(got.low, '47.41157');
    for (const [index, printed] of ['50.60', '49.52', '50.56', '50.18', '50.16'].entries())
      expectPrinted(got.averages[index] as number, printed);
  });
});

describe('intervals of a share', () => {
  it.each([
    [80, 931, '0.0696', '0.1057'],
    [107, 909, '0.0984', '0.1403'],
  ])('of %i in %i are those of the row (S-clinical-K13)', (count, of, low, high) => {
    const got = orThrow(wilsonInterval(count, of));
    expectPrinted(got.low, low);
    expectPrinted(got.high, high);
  });
});

describe('filling', () => {
  it('between reading and drain: 400 mL, 120 mL/h, 20 min make 440 mL (S-clinical-A21)', () => {
    const { lowMl, highMl } = fillingBetween(0, 20 * minuteMs, 120, 120);
    expect([400 + lowMl, 400 + highMl]).toEqual([440, 440]);
  });

  it.each([
    [75, 4],
    [150, 2],
    [300, 1],
  ])('from 200 to 500 mL at %i mL/h takes %i h (S-clinical-O1)', (rate, hours) => {
    const got = orThrow(
      plainCrossing({ volumeMl: 200, atMs: 0, limitMl: 500, lowMlPerH: rate, highMlPerH: rate }),
    );
    expect([got.earliestAtMs / hourMs, got.latestAtMs / hourMs]).toEqual([hours, hours]);
  });

  it('from 0 to 400 mL at 75 mL/h takes 5.3 h: the interval of a programme (S-clinical-F5)', () => {
    const got = orThrow(plainCrossing({ volumeMl: 0, atMs: 0, limitMl: 400, lowMlPerH: 75, highMlPerH: 75 }));
    expectPrinted(got.latestAtMs / hourMs, '5.3');
  });

  it.each([
    [1, '42'],
    [3, '14'],
  ])(
    'rate between two readings of SD 30 mL, %i h apart, has an SD of %s mL/h (S-clinical-O3)',
    (hours, printed) => {
      const reading = (atMs: number, volumeMl: number) =>
        ({ kind: 'reading', atMs, volumeMl, bound: 'exact', doubts: [], standardDeviationMl: 30 }) as const;
      const implied = orThrow(massBalance([reading(0, 200), reading(hours * hourMs, 200 + 100 * hours)]))[0]
        ?.impliedMlPerH;
      const half = ((implied?.high ?? Number.NaN) - (implied?.low ?? Number.NaN)) / 2;
      // Mass balance allows three spreads to either side.
      expectPrinted(half / 3, printed);
      expect(implied?.middle).toBeCloseTo(100, 9);
    },
  );
});
