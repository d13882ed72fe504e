// Proves     every chart's centre, limits and signals, and average run lengths.
// Published  conformance/data/statistics/control-charts.json (NIST/SEMATECH e-Handbook and others); S-clinical-K1 to K7
// Tolerance  1e-6 relative; the simulated run length within 4 %.
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '../quantity/index.ts';
import {
  betweenEventsChart,
  countChart,
  cusumChart,
  ewmaChart,
  individualsChart,
  rateChart,
  shareChart,
  timeBetweenChart,
} from './control-charts.ts';
import { cusumRunLength, ewmaRunLength, shewhartRunLength } from './run-length.ts';
import { expectWithin, referenceTable } from './testing/within.ts';

const expected = referenceTable('control-charts');

const one = 1e-6;

describe('control charts', () => {
  it('of individuals', () => {
    const got = orThrow(individualsChart(expected.individuals.points));
    for (const name of ['centre', 'movingRange', 'low', 'high'] as const)
      expectWithin(got[name], expected.individuals[name], one, name);
    expect(got.outside).toEqual([]);
  });

  it('of a weighted moving average', () => {
    const { points, averages, low, high, ...settings } = expected.movingAverage;
    const got = orThrow(ewmaChart(points, settings));
    for (const [index, value] of averages.entries())
      expectWithin(got.averages[index], value, one, `average ${index + 1}`);
    expectWithin(got.low, low, one, 'low');
    expectWithin(got.high, high, one, 'high');
  });

  it('of cumulative sums, which first signal at point 14', () => {
    const { points, above, below, firstSignal, ...settings } = expected.cumulativeSum;
    const got = orThrow(cusumChart(points, settings));
    for (const [index, value] of above.entries()) expect(got.above[index]).toBeCloseTo(value, 8);
    for (const [index, value] of below.entries()) expect(got.below[index]).toBeCloseTo(value, 8);
    expect((got.outside[0] ?? -1) + 1).toBe(firstSignal);
  });

  it('of counts, where a point on the limit is no signal and 31 is', () => {
    const got = orThrow(countChart(expected.counts.points));
    for (const name of ['centre', 'low', 'high'] as const)
      expectWithin(got[name], expected.counts[name], one, name);
    expect(got.outside.map((place) => expected.counts.points[place])).toEqual([31]);
    expect(expected.counts.points).toContain(28);
  });

  it('of a century of discoveries, with points 26, 28 and 29 outside', () => {
    // Yearly counts 1860 to 1959 (World Almanac), written from memory; their sum and the three points hold them.
    const counts = [
      ...'5302032361212133352440237X3Y9237723362435224042523365836605222634422475330222134221112144321411100'.replaceAll(
        ' ',
        '',
      ),
    ].map((mark) => (mark === 'X' ? 12 : mark === 'Y' ? 10 : Number(mark)));
    counts.push(2, 0);
    const got = orThrow(countChart(counts));
    expect(counts.length).toBe(100);
    expectWithin(got.centre, expected.discoveries.centre, one, 'centre');
    expectWithin(got.high, expected.discoveries.high, one, 'high');
    expect(got.outside.map((place) => place + 1)).toEqual(expected.discoveries.outside);
  });

  it('of shares', () => {
    const { points, of, ...want } = expected.shares;
    const got = orThrow(shareChart(points, of));
    for (const name of ['centre', 'low', 'high'] as const) expectWithin(got[name], want[name], one, name);
  });

  it('of rates over unequal exposure, plain and with extra spread', () => {
    const { events, days } = expected.rates;
    const plain = orThrow(rateChart(events, days));
    const wider = orThrow(rateChart(events, days, { allowExtraSpread: true }));
    expectWithin(plain.centre * 1000, expected.rates.centrePer1000, one, 'centre');
    expectWithin(wider.sigmaZ, expected.rates.sigmaZ, one, 'extra spread');
    for (const [index, value] of expected.rates.highPer1000.entries())
      expectWithin((plain.high[index] ?? 0) * 1000, value, one, `high ${index}`);
    for (const [index, value] of expected.rates.widerHighPer1000.entries())
      expectWithin((wider.high[index] ?? 0) * 1000, value, one, `wider ${index}`);
    expect(plain.low.every((low) => low === 0)).toBe(true);
  });

  it('of rates as printed: 12 in 6000, 8.71 at 400 days and 6.74 at 800 (S-clinical-K5)', () => {
    const got = orThrow(rateChart([2, 10], [0.4 * 2.5, 5]));
    expect(got.centre).toBe(2);
    const high = (n: number): number => orThrow(rateChart([n * 2, 12 - n * 2], [n, 6 - n])).high[0] as number;
    expect(high(0.4).toFixed(2)).toBe('8.71');
    expect(high(0.8).toFixed(2)).toBe('6.74');
  });

  it('of rare events, by cases and by time between', () => {
    const { points, centre, high, time } = expected.between;
    const cases = orThrow(betweenEventsChart(points));
    expectWithin(cases.centre, centre, one, 'centre');
    expectWithin(cases.high, high, one, 'high');
    const times = orThrow(timeBetweenChart(points));
    for (const name of ['transformedMean', 'transformedRange', 'low', 'high'] as const)
      expectWithin(times[name], time[name], one, name);
  });

  it('are refused without points or with a setting that cannot be', () => {
    expect(isRefusal(individualsChart([1]))).toBe(true);
    expect(isRefusal(countChart([Number.NaN]))).toBe(true);
    expect(isRefusal(rateChart([1, 2], [1, 0]))).toBe(true);
    expect(isRefusal(ewmaChart([1], { weight: 0, target: 0, standardDeviation: 1 }))).toBe(true);
  });
});

describe('average run length', () => {
  it('of the three charts is that of the reference', () => {
    const { movingAverage02and286, cumulativeSum05and4, threeSigma } = expected.runLengths;
    expectWithin(ewmaRunLength(0.2, 2.86), movingAverage02and286[0] as number, one, 'moving average');
    expectWithin(
      ewmaRunLength(0.2, 2.86, 1),
      movingAverage02and286[1] as number,
      one,
      'moving average shifted',
    );
    expectWithin(cusumRunLength(0.5, 4), cumulativeSum05and4[0] as number, one, 'cumulative sum');
    expectWithin(cusumRunLength(0.5, 4, 1), cumulativeSum05and4[1] as number, one, 'cumulative sum shifted');
    expectWithin(shewhartRunLength(3), threeSigma, one, 'three sigma');
  });

  it('of the shifted moving average is what simulation of the shipped chart gives', () => {
    const random = seededRandom(7);
    let total = 0;
    const runs = 4000;
    for (let run = 0; run < runs; run += 1) {
      const points = Array.from({ length: 120 }, () => random.normal() + 1);
      const got = orThrow(
        ewmaChart(points, { weight: 0.2, target: 0, standardDeviation: 1, multiple: 2.86 }),
      );
      total += (got.outside[0] ?? 120) + 1;
    }
    expectWithin(total / runs, ewmaRunLength(0.2, 2.86, 1), 0.04, 'simulated');
  });
});
