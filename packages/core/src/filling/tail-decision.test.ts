// Proves     deciding by the rough tail answers as the full tail areas do, however close the share lies; quantiles found
//            by short steps have their probability below them, between far-apart lumps as well
// Published  polynomial 26.2.17 of Abramowitz and Stegun: off by less than 7.5e-8 (S-abramowitz-stegun)
// Tolerance  decisions exact; quantiles 1e-9 mL for one normal, their probability to 1e-9 for a mixture
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { normalQuantile, normalUpperTail } from '../statistics/distributions.ts';
import { sliceNormals } from './follow.ts';
import { contentAbove, contentQuantile, rateQuantile, type WeightedState } from './mixture.ts';
import { roughDensity, roughUpperTail } from './rough-tail.ts';
import { isAboveWith } from './tail-decision.ts';

const state = (contentMl: number, sdMl: number, rateMlPerH = 60, rateSd = 20) => ({
  contentMl,
  rateMlPerH,
  contentVariance: sdMl ** 2,
  covariance: 0,
  rateVariance: rateSd ** 2,
});

const real = (min: number, max: number) => fc.double({ min, max, noNaN: true });
/** One to ten normals whose weights add up to one. */
const mixtures = fc
  .array(fc.tuple(real(0.01, 1), real(-50, 1200), real(0.5, 250)), { minLength: 1, maxLength: 10 })
  .map((lumps): readonly WeightedState[] => {
    const total = lumps.reduce((sum, [weight]) => sum + weight, 0);
    return lumps.map(([weight, meanMl, sdMl]) => ({ weight: weight / total, state: state(meanMl, sdMl) }));
  });

describe('the rough tail', () => {
  it('is off by less than 7.5e-8 on either side', () => {
    for (let z = -9; z <= 9; z += 0.01)
      expect(Math.abs(roughUpperTail(z, roughDensity(z)) - normalUpperTail(z))).toBeLessThan(7.5e-8);
  });

  it('decides as the full tail areas do, also within a hair of the share', () => {
    fc.assert(
      fc.property(mixtures, real(0, 1000), real(0, 1), real(-1e-6, 1e-6), (parts, volumeMl, share, hair) => {
        const above = contentAbove(parts, volumeMl);
        for (const asked of [share, above, above + hair, above + hair / 1e6, 0, 1])
          expect(isAboveWith(parts, volumeMl, asked)).toBe(above >= asked);
      }),
      { seed: 41, numRuns: 2000 },
    );
  });
});

describe('quantiles', () => {
  it('of the nine slices are the printed ones', () => {
    expect(sliceNormals).toHaveLength(9);
    for (const [index, z] of sliceNormals.entries())
      expect(Math.abs(z - normalQuantile((index + 0.5) / 9))).toBeLessThan(1e-14);
  });

  it('of one normal are its mean and so many spreads', () => {
    for (const probability of [0.05, 0.25, 0.5, 0.75, 0.95]) {
      const at = normalQuantile(probability);
      const parts = [{ weight: 1, state: state(420, 55, 300, 40) }];
      expect(contentQuantile(parts, probability)).toBeCloseTo(420 + 55 * at, 9);
      expect(rateQuantile(parts, probability)).toBeCloseTo(300 + 40 * at, 9);
    }
  });

  it('have their probability below them, whatever the mixture', () => {
    fc.assert(
      fc.property(mixtures, fc.constantFrom(0.05, 0.25, 0.5, 0.75, 0.95), (parts, probability) => {
        const found = contentQuantile(parts, probability);
        const below = 1 - contentAbove(parts, found);
        if (found === 0) expect(below).toBeGreaterThanOrEqual(probability - 1e-9);
        else expect(Math.abs(below - probability)).toBeLessThan(1e-9);
      }),
      { seed: 42, numRuns: 2000 },
    );
  });

  it('are found between two narrow lumps far apart, where the density is nothing', () => {
    const parts = [
      { weight: 0.5, state: state(100, 1) },
      { weight: 0.5, state: state(900, 1) },
    ];
    const found = contentQuantile(parts, 0.5);
    expect(found).toBeGreaterThan(100);
    expect(found).toBeLessThan(900);
    expect(1 - contentAbove(parts, found)).toBeCloseTo(0.5, 9);
  });
});
