// Proves     a bound moves the state as cutting the normal does.
// Published  moments by direct numerical integration of the cut density (Simpson, 20 000 steps)
// Tolerance  1e-6 relative.
import { describe, expect, it } from 'vitest';
import { normalDensity, normalUpperTail } from '../statistics/index.ts';
import { expectWithin } from '../statistics/testing/within.ts';
import { contentAtLeast, normalHazard } from './at-least.ts';

const state = {
  contentMl: 300,
  rateMlPerH: 80,
  contentVariance: 90 ** 2,
  covariance: 1500,
  rateVariance: 40 ** 2,
};

const cutMoments = (mean: number, sd: number, bound: number): { mean: number; variance: number } => {
  const [low, high, steps] = [Math.max(bound, mean - 12 * sd), Math.max(bound, mean) + 12 * sd, 20_000];
  const width = (high - low) / steps;
  let [mass, first, second] = [0, 0, 0];
  for (let index = 0; index <= steps; index += 1) {
    const x = low + index * width;
    const weight =
      (index === 0 || index === steps ? 1 : index % 2 === 1 ? 4 : 2) * normalDensity((x - mean) / sd);
    mass += weight;
    first += weight * x;
    second += weight * x * x;
  }
  return { mean: first / mass, variance: second / mass - (first / mass) ** 2 };
};

describe('a reading known only as "at least"', () => {
  it.each([100, 250, 300, 412, 600, 800])('of %i mL gives the moments of the normal cut there', (boundMl) => {
    const want = cutMoments(300, 90, boundMl);
    const got = contentAtLeast(state, boundMl).state;
    expectWithin(got.contentMl, want.mean, 1e-6, 'mean');
    expectWithin(got.contentVariance, want.variance, 1e-5, 'variance');
    expectWithin(
      got.rateMlPerH,
      80 + (1500 / 90 ** 2) * (want.mean - 300),
      1e-6,
      'inflow moves along its correlation',
    );
  });

  it('far below what is expected changes nothing, and never lowers the content', () => {
    expect(contentAtLeast(state, 0).state.contentMl).toBeCloseTo(300.0, 0);
    for (let boundMl = 0; boundMl <= 2000; boundMl += 50) {
      const got = contentAtLeast(state, boundMl).state;
      expect(got.contentMl).toBeGreaterThanOrEqual(300);
      expect(got.contentVariance).toBeLessThanOrEqual(90 ** 2);
      expect(got.contentVariance * got.rateVariance - got.covariance ** 2).toBeGreaterThan(0);
    }
  });

  it('has a hazard that joins its tail expansion smoothly', () => {
    expect(normalHazard(8.0001) / (normalDensity(8.0001) / normalUpperTail(8.0001))).toBeCloseTo(1, 5);
    expect(normalHazard(50)).toBeCloseTo(50 + 1 / 50, 3);
  });
});
