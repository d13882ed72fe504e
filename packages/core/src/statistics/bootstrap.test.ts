// Proves     intervals by resampling agree with the normal ones where those hold, turn their sign with the values, are
//            the same for the same seed, and refuse what has no mean
// Published  a mean of 0 and 1 over n values: 95 % interval ± 1.96·√(p(1−p)/n)
// Tolerance  15 % of the width at n = 400; exact elsewhere
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '../quantity/index.ts';
import { bootstrapMean, percentileInterval } from './bootstrap.ts';

describe('a mean with its interval by resampling', () => {
  it('is as wide as the normal interval of a share', () => {
    const values = Array.from({ length: 400 }, (_, index) => (index % 4 === 0 ? 1 : 0));
    const { mean, low, high } = orThrow(bootstrapMean(values, 3));
    const half = 1.96 * Math.sqrt((0.25 * 0.75) / 400);
    expect(mean).toBe(0.25);
    expect(Math.abs(high - low - 2 * half)).toBeLessThan(0.15 * 2 * half);
    expect([low, high].every((one) => Math.abs(Math.abs(one - 0.25) - half) < 0.15 * 2 * half)).toBe(true);
  });

  it('holds the true mean about as often as it says', () => {
    const random = seededRandom(9);
    const held = Array.from({ length: 200 }, (_, run) => {
      const values = Array.from({ length: 40 }, () => random.normal() + 2);
      const { low, high } = orThrow(bootstrapMean(values, run));
      return low <= 2 && 2 <= high;
    }).filter(Boolean).length;
    expect(held).toBeGreaterThan(180);
    expect(held).toBeLessThan(200);
  });

  it('is zero wide where all are alike, turns with the sign, and comes back with the seed', () => {
    expect(bootstrapMean([2, 2, 2], 1)).toEqual({ mean: 2, low: 2, high: 2 });
    const values = [0, 1, 5, 2, 9];
    const [there, back] = [values, values.map((one) => -one)].map((one) => orThrow(bootstrapMean(one, 4)));
    expect(back?.low).toBeCloseTo(-(there?.high ?? 0), 12);
    expect(back?.high).toBeCloseTo(-(there?.low ?? 0), 12);
    expect(bootstrapMean(values, 4)).toEqual(there);
    expect(bootstrapMean(values, 5)).not.toEqual(there);
  });

  it('reads percentiles by straight lines', () => {
    const drawn = Array.from({ length: 41 }, (_, index) => 40 - index);
    expect(percentileInterval(20, drawn)).toEqual({ mean: 20, low: 1, high: 39 });
  });

  it('refuses one value alone, and what is no number', () => {
    for (const values of [[], [1], [1, Number.NaN]]) expect(isRefusal(bootstrapMean(values, 1))).toBe(true);
  });
});
