// Proves     V = k·W·H·D keeps its coefficient, and shape words never become π/6.
// Published  clinical table rows A1 to A13, A16, A22, A23: worked examples, tolerance half the last printed digit
// Tolerance  as printed; properties 1e-12 relative
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '../quantity/index.ts';
import {
  caliperRelativeSd,
  caliperVolume,
  coefficientById,
  coefficientForShape,
  halfSumVolume,
  publishedCoefficients,
  smallVolumeCuboid,
} from './index.ts';

const base = { widthMm: 100, heightMm: 80, depthMm: 70 };
const by = (id: string) => orThrow(caliperVolume(base, orThrow(coefficientById(id))));

describe('caliper volume of 10 × 8 × 7 cm', () => {
  it.each([
    ['A1', 293.2],
    ['A1-0.52', 291.2],
    ['A1-0.5', 280.0],
    ['A2', 369.6],
    ['A3', 314.2],
    ['A4', 516.9],
    ['A5', 449.1],
    ['A6', 348.9],
    ['A7', 419.4],
    ['A8-whole', 403.2],
    ['A8-ellipsoid', 453.6],
    ['A8-cuboid', 498.4],
    ['A8-triangular-prism', 369.6],
    ['A9', 392.0],
    ['A10', 350.0],
    ['A11', 291.2],
    ['A11-0.75', 420.0],
    ['A11-0.66', 369.6],
    ['A22', 336.0],
    ['A23', 280.0],
  ])('by row %s is %f mL', (id, printed) => {
    expect(Math.abs(by(id).volumeMl - printed)).toBeLessThanOrEqual(0.05 + 1e-9);
  });
  it('keeps method, coefficient and source in every result', () => {
    for (const one of publishedCoefficients) {
      expect(by(one.id)).toMatchObject({
        method: 'calipers',
        coefficient: one.coefficient,
        coefficientSource: one.coefficientSource,
      });
    }
  });
});

describe('a shape label', () => {
  it('is refused without the name of its table [shape-label-needs-table]', () => {
    expect(coefficientForShape('ellipsoid', {})).toMatchObject({
      refused: true,
      code: 'geometry/table-not-named',
    });
    expect(coefficientForShape('ellipsoid', { table: 'geometric' })).toMatchObject({
      code: 'geometry/table-not-named',
    });
  });
  it('ellipsoid is 0.802 in children, 0.81 in adults, and never π/6', () => {
    expect(coefficientForShape('ellipsoid', { table: 'children-by-shape' })).toMatchObject({
      id: 'A5',
      coefficient: 0.802,
    });
    expect(
      coefficientForShape('ellipsoid', { table: 'adults-by-shape', acceptFromMemory: true }),
    ).toMatchObject({ coefficient: 0.81 });
    for (const one of publishedCoefficients)
      if (one.shape) expect(Math.abs(one.coefficient - Math.PI / 6)).toBeGreaterThan(0.03);
  });
  it('of the adult table is refused until the unit accepts figures written from memory', () => {
    expect(coefficientForShape('cuboid', { table: 'adults-by-shape' })).toMatchObject({
      code: 'geometry/table-off',
    });
  });
  it('that the table does not hold is refused, and so is an unknown row', () => {
    expect(coefficientForShape('pear', { table: 'children-by-shape' })).toMatchObject({
      code: 'geometry/unknown-shape',
    });
    expect(coefficientById('A99')).toMatchObject({ code: 'geometry/unknown-coefficient' });
  });
});

describe('caliper rules', () => {
  it('small-volume cuboid keeps 50 mL and turns 120 mL into 96 mL (A12)', () => {
    expect(smallVolumeCuboid({ widthMm: 50, heightMm: 40, depthMm: 25 })).toMatchObject({
      volumeMl: 50,
      coefficient: 1,
    });
    expect(smallVolumeCuboid({ widthMm: 60, heightMm: 50, depthMm: 40 })).toMatchObject({
      volumeMl: 96,
      coefficient: 0.8,
    });
  });
  it('small-volume cuboid keeps exactly 60 mL', () => {
    expect(smallVolumeCuboid({ widthMm: 60, heightMm: 50, depthMm: 20 })).toMatchObject({
      volumeMl: 60,
      coefficient: 1,
    });
  });
  it('half-sum of 180 and 220 mL is 200 mL (A13)', () => {
    expect(halfSumVolume(180, 220)).toMatchObject({ volumeMl: 200, method: 'half-sum' });
    expect(halfSumVolume(Number.NaN, 220)).toMatchObject({ code: 'geometry/section-volume-out-of-range' });
  });
  it('three errors of 5 % make 8.7 % when independent and 15 % when correlated (A16)', () => {
    expect(orThrow(caliperRelativeSd([0.05, 0.05, 0.05], 'independent'))).toBeCloseTo(0.0866, 4);
    expect(orThrow(caliperRelativeSd([0.05, 0.05, 0.05], 'correlated'))).toBeCloseTo(0.15, 12);
    expect(caliperRelativeSd([Number.NaN, 0, 0], 'correlated')).toMatchObject({ refused: true });
  });
  it.each([0, -1, 300.01, Number.NaN, Number.POSITIVE_INFINITY, undefined])(
    'refuses a depth of %s mm [diameter-domain]',
    (depthMm) => {
      const found = caliperVolume({ ...base, depthMm: depthMm as number }, orThrow(coefficientById('A1')));
      expect(isRefusal(found) && found.code).toBe('geometry/diameter-out-of-range');
    },
  );
  it('doubles when one diameter doubles', () => {
    const length = fc.double({ min: 1, max: 150, noNaN: true });
    fc.assert(
      fc.property(
        length,
        length,
        length,
        fc.constantFrom(...publishedCoefficients),
        (widthMm, heightMm, depthMm, k) => {
          const once = orThrow(caliperVolume({ widthMm, heightMm, depthMm }, k)).volumeMl;
          const twice = orThrow(caliperVolume({ widthMm: 2 * widthMm, heightMm, depthMm }, k)).volumeMl;
          expect(Math.abs(twice / once - 2)).toBeLessThan(1e-12);
        },
      ),
      { seed: 11, numRuns: 100 },
    );
  });
});
