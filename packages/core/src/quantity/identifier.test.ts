// Proves     identifiers have the layout of RFC 9562 (sections 5.7 and 5.8), sort by time, and are stable for the same text.
// Published  RFC 9562 appendix A.6: the version 7 example 017F22E2-79B0-7CC3-98C4-DC0C0C07398F (time 1645557742000).
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { isEntryId, seededRandom, uuidOfText, uuidV7 } from './index.ts';

describe('identifiers', () => {
  it('gives the version 7 example of RFC 9562', () => {
    expect(uuidV7(1_645_557_742_000, [0x7c, 0xc3, 0x98, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f])).toBe(
      '017f22e2-79b0-7cc3-98c4-dc0c0c07398f',
    );
  });
  it('sorts by the time at which they were made', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2 ** 41 }), fc.integer({ min: 1, max: 1000 }), (time, more) => {
        const bytes = Array.from({ length: 10 }, (_, index) => (time + index * 37) & 255);
        expect(uuidV7(time, bytes) < uuidV7(time + more, bytes)).toBe(true);
      }),
      { seed: 5, numRuns: 200 },
    );
  });
  it('derives one id for one text, of version 8, and another for another text', () => {
    expect(uuidOfText('pub-1-e0001')).toBe(uuidOfText('pub-1-e0001'));
    const ids = new Set(Array.from({ length: 20_000 }, (_, index) => uuidOfText(`w-e${index}`)));
    expect(ids.size).toBe(20_000);
    expect([...ids].every(isEntryId)).toBe(true);
  });
  it('does not take another version, or capitals, for an entry id', () => {
    expect(isEntryId('017f22e2-79b0-4cc3-98c4-dc0c0c07398f')).toBe(false);
    expect(isEntryId('017F22E2-79B0-7CC3-98C4-DC0C0C07398F')).toBe(false);
  });
});

describe('the seeded source of randomness', () => {
  it('repeats itself for the same seed and has the moments of its distributions', () => {
    const one = seededRandom(42);
    const two = seededRandom(42);
    expect(Array.from({ length: 5 }, () => one.next())).toEqual(Array.from({ length: 5 }, () => two.next()));
    const random = seededRandom(1);
    const values = Array.from({ length: 20_000 }, () => random.normal());
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
    // Bounds: five standard errors of a mean and of a variance of 20,000 standard normals.
    expect(Math.abs(mean)).toBeLessThan(5 / Math.sqrt(20_000));
    expect(Math.abs(variance - 1)).toBeLessThan(5 * Math.sqrt(2 / 20_000));
  });
});
