// Proves     mean and spread from few values, shrunk to what was believed: other programs' figures, and the laws that make
//            it shrinkage.
// Published  conformance/data/statistics/shrunken-normal.json: scipy's t and inverse gamma, and the joint posterior summed
//            on a grid
// Tolerance  1e-9 relative, or 1e-12 beside 0; laws as stated beside them
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '../quantity/index.ts';
import { shrunkenNormal, type ShrunkenPrior } from './shrunken-normal.ts';
import { evenly, referenceTable } from './testing/within.ts';

const table = referenceTable('shrunken-normal');
const prior: ShrunkenPrior = table.prior;
const pairs = fc.array(evenly(-0.5, 0.5), { maxLength: 40 });

describe('a normal shrunk to what was believed', () => {
  it.each(table.cases.map((one) => [one.name, one] as const))(
    '%s: mean and spread as scipy has them',
    (_, one) => {
      const got = orThrow(shrunkenNormal(one.values, prior, table.held));
      const found = [
        got.mean.low,
        got.mean.likely,
        got.mean.high,
        got.spread.low,
        got.spread.likely,
        got.spread.high,
      ];
      for (const [place, expected] of [...one.mean, ...one.spread].entries())
        expect(Math.abs((found[place] ?? Number.NaN) - expected)).toBeLessThan(
          1e-9 * Math.abs(expected) + 1e-12,
        );
    },
  );

  it('is what was believed while there is no value', () => {
    const got = orThrow(shrunkenNormal([], { ...prior, mean: 0.03 }));
    expect(got.mean.likely).toBe(0.03);
    expect(got.mean.high - 0.03).toBeCloseTo(0.03 - got.mean.low, 12);
    expect(got.spread.low).toBeLessThan(prior.spread);
    expect(got.spread.high).toBeGreaterThan(prior.spread);
  });

  it('is the mean and the spread of the values once there are very many', () => {
    const random = seededRandom(81);
    const values = Array.from({ length: 200_000 }, () => -0.12 + 0.09 * random.normal());
    const mean = values.reduce((sum, one) => sum + one, 0) / values.length;
    const sd = Math.sqrt(values.reduce((sum, one) => sum + (one - mean) ** 2, 0) / values.length);
    const got = orThrow(shrunkenNormal(values, prior));
    expect(Math.abs(got.mean.likely - mean)).toBeLessThan(1e-5);
    expect(Math.abs(got.spread.likely - sd)).toBeLessThan(1e-5);
    expect(got.mean.high - got.mean.low).toBeLessThan(0.001);
  });

  it('does not mind the order of the values, to the last digit', () => {
    fc.assert(
      fc.property(pairs, (values) => {
        const there = orThrow(shrunkenNormal(values, prior));
        const back = orThrow(shrunkenNormal(values.toReversed(), prior));
        return JSON.stringify(there) === JSON.stringify(back);
      }),
      { seed: 82, numRuns: 200 },
    );
  });

  it('lies between what was believed and the mean of the values, nearer to it the more there are', () => {
    fc.assert(
      fc.property(evenly(-0.5, 0.5), fc.integer({ min: 1, max: 60 }), (value, count) => {
        const of = (many: number): number =>
          orThrow(
            shrunkenNormal(
              Array.from({ length: many }, () => value),
              prior,
            ),
          ).mean.likely;
        const [few, more] = [of(count), of(count + 1)];
        return (
          Math.abs(few) <= Math.abs(value) + 1e-12 &&
          Math.abs(more) >= Math.abs(few) - 1e-12 &&
          few * value >= 0
        );
      }),
      { seed: 83, numRuns: 200 },
    );
  });

  it('holds the lasting error in about nine of ten devices drawn from what is believed', () => {
    const random = seededRandom(84);
    const devices = 2000;
    let [mean, spread] = [0, 0];
    for (let device = 0; device < devices; device += 1) {
      // 10 degrees of freedom: the sum of ten squares of normals is the gamma's draw.
      let squares = 0;
      for (let one = 0; one < prior.spreadWorth; one += 1) squares += random.normal() ** 2;
      const sd = Math.sqrt((prior.spreadWorth * prior.spread ** 2) / squares);
      const off = (sd / Math.sqrt(prior.meanWorth)) * random.normal();
      const values = Array.from({ length: 1 + random.below(20) }, () => off + sd * random.normal());
      const got = orThrow(shrunkenNormal(values, prior));
      if (off >= got.mean.low && off <= got.mean.high) mean += 1;
      if (sd >= got.spread.low && sd <= got.spread.high) spread += 1;
    }
    // Four standard errors of 0.9 in 2000.
    for (const held of [mean, spread]) expect(Math.abs(held / devices - 0.9)).toBeLessThan(4 * 0.0067);
  });

  it('is refused for what is no number', () => {
    expect(isRefusal(shrunkenNormal([0.1, Number.NaN], prior))).toBe(true);
    expect(isRefusal(shrunkenNormal([0.1], { ...prior, spread: 0 }))).toBe(true);
    expect(isRefusal(shrunkenNormal([0.1], prior, 1))).toBe(true);
  });
});
