// Proves     the interval is wider for everything that should make one doubt, and never below nothing.
// Published  none: whether it holds the truth as often as it says is measured by bench/volume
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { intervalMl, spreadMl, type SpreadOf } from './interval.ts';

const usual: SpreadOf = {
  layout: 'rotational_fan',
  volumeMl: 250,
  wallMl: 4,
  perMmMl: 18,
  planesDisagreeMm: 0.5,
  darkShare: 0.95,
  shadedMl: 0,
  outsideMl: 0,
};

describe('the 90 % interval', () => {
  it.each<[string, Partial<SpreadOf>]>([
    ['the wall is less surely placed', { wallMl: 9 }],
    ['the planes disagree', { planesDisagreeMm: 3 }],
    ['the inside is not dark', { darkShare: 0.6 }],
    ['a part lies in shadow', { shadedMl: 40 }],
    ['a part lies outside', { outsideMl: 40 }],
    ['there are two planes only', { layout: 'two_orthogonal_planes' }],
  ])('is wider when %s', (_why, change) => {
    expect(spreadMl({ ...usual, ...change })).toBeGreaterThan(spreadMl(usual) * 1.05);
  });
  it('holds the volume, and its lower end is never below 0', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 1500, noNaN: true }),
        fc.double({ min: 0, max: 60, noNaN: true }),
        fc.double({ min: 0, max: 12, noNaN: true }),
        (volumeMl, wallMl, planesDisagreeMm) => {
          const { loMl, hiMl } = intervalMl({ ...usual, volumeMl, wallMl, planesDisagreeMm });
          expect(loMl).toBeGreaterThanOrEqual(0);
          expect(loMl).toBeLessThanOrEqual(volumeMl);
          expect(hiMl).toBeGreaterThan(volumeMl);
        },
      ),
      { seed: 11, numRuns: 300 },
    );
  });
});
