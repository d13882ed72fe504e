// Proves     quantiles and tails of weighted values are those of the sorted list, wherever the values lie.
// Published  none: held against sorting
// Tolerance  exact.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inOrder, pointsOf, weightAbove } from './weighted.ts';

describe('weighted values', () => {
  it('have the quantiles of their sorted list, and none past infinity', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            value: fc.oneof(
              fc.integer({ min: 0, max: 40 }),
              // One far off makes all the others fall into one bin.
              fc.constant(1e6),
              fc.constant(Number.POSITIVE_INFINITY),
            ),
            weight: fc.integer({ min: 1, max: 9 }),
          }),
          { minLength: 1, maxLength: 60 },
        ),
        fc.integer({ min: 1, max: 99 }),
        (items, percent) => {
          const total = items.reduce((sum, one) => sum + one.weight, 0);
          const values = Float64Array.from(items, (one) => one.value);
          const weight = Float64Array.from(items, (one) => one.weight / total);
          const share = percent / 100 + 1e-6;
          let run = 0;
          const wanted = items
            .toSorted((one, other) => one.value - other.value)
            .find((one) => {
              run += one.weight / total;
              return run >= share - 1e-12;
            })?.value;
          expect(inOrder(values, weight).quantile(share)).toBe(
            wanted === Number.POSITIVE_INFINITY ? undefined : wanted,
          );
        },
      ),
      { seed: 5, numRuns: 300 },
    );
  });

  it('count what lies above a bound, and take a normal as four points of one quarter each', () => {
    expect(weightAbove(Float64Array.of(1, 2, 3), Float64Array.of(0.2, 0.3, 0.5), 1.5)).toBeCloseTo(0.8, 12);
    const { values, weight } = pointsOf(Float64Array.of(100), Float64Array.of(400), Float64Array.of(1));
    expect([...weight]).toEqual([0.25, 0.25, 0.25, 0.25]);
    expect(values.reduce((sum, one) => sum + one / 4, 0)).toBeCloseTo(100, 9);
    expect(Math.min(...pointsOf(Float64Array.of(1), Float64Array.of(400), Float64Array.of(1)).values)).toBe(
      0,
    );
  });
});
