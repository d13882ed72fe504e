// Proves     the hull of a convex outline is itself, and dents are filled.
// Tolerance  1e-9 relative
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { convexHullAreaMm2, polygonAreaMm2 } from './index.ts';

describe('convex hull', () => {
  it('of a square with a dent is the square', () => {
    expect(convexHullAreaMm2([0, 0, 10, 0, 10, 10, 5, 2, 0, 10])).toBeCloseTo(100, 12);
    expect(polygonAreaMm2([0, 0, 10, 0, 10, 10, 5, 2, 0, 10])).toBeLessThan(70);
  });
  it('of an ellipse is the ellipse, and is never smaller than the polygon', () => {
    const ellipse = Array.from({ length: 60 }, (_, index) => [
      20 * Math.cos((index * Math.PI) / 30),
      12 * Math.sin((index * Math.PI) / 30),
    ]).flat();
    expect(convexHullAreaMm2(ellipse) / polygonAreaMm2(ellipse)).toBeCloseTo(1, 9);
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 1, max: 50, noNaN: true }), { minLength: 8, maxLength: 30 }),
        (radii) => {
          const star = radii.flatMap((radius, index) => [
            radius * Math.cos((2 * Math.PI * index) / radii.length),
            radius * Math.sin((2 * Math.PI * index) / radii.length),
          ]);
          expect(convexHullAreaMm2(star)).toBeGreaterThanOrEqual(polygonAreaMm2(star) * (1 - 1e-9));
        },
      ),
      { seed: 13, numRuns: 60 },
    );
  });
});
