// Proves     tail areas and quantiles.
// Published  textbook tables: Φ(1.96), t 0.975 with 16 degrees 2.1199, χ² 3.841 at 5 %, F 0.95 (3, 10) 3.708 (S-abramowitz-stegun)
// Tolerance  as printed; inverse pairs 1e-9, shapes from 0.5 on (below it a beta quantile near 1 lies between two doubles).
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  betaQuantile,
  chiSquaredUpperTail,
  fQuantile,
  fUpperTail,
  gammaQuantile,
  normalCdf,
  normalQuantile,
  normalUpperTail,
  studentCdf,
  studentQuantile,
} from './distributions.ts';
import { evenly } from './testing/within.ts';
import { incompleteBeta, incompleteGamma, logGamma } from './special-functions.ts';

describe('distributions', () => {
  it('agree with printed tables', () => {
    expect(normalCdf(1.96)).toBeCloseTo(0.9750021, 7);
    expect(normalUpperTail(6)).toBeCloseTo(9.865876e-10, 15);
    expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 12);
    expect(studentQuantile(0.975, 16)).toBeCloseTo(2.1199053, 6);
    expect(chiSquaredUpperTail(3.841458821, 1)).toBeCloseTo(0.05, 9);
    expect(fQuantile(0.95, 3, 10)).toBeCloseTo(3.7082648, 6);
    expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.sqrt(Math.PI)), 12);
    expect(logGamma(11)).toBeCloseTo(Math.log(3_628_800), 12);
  });

  it('have quantiles that undo the tail areas', () => {
    fc.assert(
      fc.property(evenly(0.001, 0.999), evenly(0.5, 60), evenly(0.5, 60), (p, a, b) => {
        const pairs = [
          normalCdf(normalQuantile(p)),
          studentCdf(studentQuantile(p, a), a),
          1 - fUpperTail(fQuantile(p, a, b), a, b),
          incompleteBeta(betaQuantile(p, a, b), a, b),
          incompleteGamma(a, gammaQuantile(p, a)).lower,
        ];
        return pairs.every((value) => Math.abs(value - p) < 1e-9);
      }),
      { seed: 43, numRuns: 100 },
    );
  });

  it('have one normal tail whichever way it is worked out', () => {
    for (let z = -8; z <= 12; z += 0.01) {
      const byGamma = 0.5 * incompleteGamma(0.5, 0.5 * z * z).upper;
      const want = z > 0 ? byGamma : 1 - byGamma;
      expect(Math.abs(normalUpperTail(z) - want) / want).toBeLessThan(3e-13);
    }
    expect(normalUpperTail(Number.NaN)).toBeNaN();
  });

  it('give NaN outside their domain, never a number', () => {
    expect(normalQuantile(0)).toBeNaN();
    expect(studentQuantile(1.2, 4)).toBeNaN();
    expect(incompleteBeta(1.2, 1, 1)).toBeNaN();
  });
});
