// Proves     what slips make of a volume, and that a volume charted again is told from one that came again
// Published  none: counted by hand
// Tolerance  1e-12
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { minuteMs } from '../quantity/index.ts';
import { chartedAgainShare, type ChartedVolume } from './again.ts';
import { anyonesVolume, evenness, slipsOfKeys, slipShares } from './slips.ts';

const kinds = ['reading', 'void', 'drained', 'bag'] as const;
/** Somebody who only ever means one volume. */
const means =
  (meantMl: number) =>
  (volumeMl: number): number =>
    volumeMl === meantMl ? 1 : 0;
const slip = (keyedMl: number, meantMl: number, fault: string): number =>
  slipsOfKeys(keyedMl, means(meantMl)).find(([name]) => name === fault)?.[1] ?? 0;

describe('slips of the keys', () => {
  it('make 1500 of 150 by one digit too many, most often by the nought at the end', () => {
    // A nought at the end: a half, and its place of four and one of ten digits. The other nought is not the last.
    expect(slip(1500, 150, 'extra-digit')).toBeCloseTo(
      slipShares['extra-digit'] * (0.5 + 0.5 / 40 + 0.5 / 40),
      12,
    );
    expect(slip(1500, 500, 'extra-digit')).toBeCloseTo(slipShares['extra-digit'] * (0.5 / 40), 12);
  });

  it('make 43 of 430, of 143 and of 443 by a digit missing, the last by either of its fours', () => {
    const third = slipShares['lost-digit'] / 3;
    expect(slip(43, 430, 'lost-digit')).toBeCloseTo(third, 12);
    expect(slip(43, 143, 'lost-digit')).toBeCloseTo(third, 12);
    expect(slip(43, 443, 'lost-digit')).toBeCloseTo(2 * third, 12);
    expect(slip(43, 560, 'lost-digit')).toBe(0);
  });

  it('make 530 of 350 by two digits swapped, and nothing of a leading nought', () => {
    expect(slip(530, 350, 'swapped-digits')).toBeCloseTo(slipShares['swapped-digits'] / 2, 12);
    expect(slip(505, 55, 'swapped-digits')).toBe(0);
    expect(slip(7, 7, 'swapped-digits')).toBe(0);
    expect(slip(550, 550, 'swapped-digits')).toBe(0);
  });

  it('are never likelier than their share, whatever is keyed and meant', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 5000 }), fc.integer({ min: 0, max: 5000 }), (keyed, meantMl) => {
        for (const [fault, likely] of slipsOfKeys(keyed, means(meantMl))) {
          expect(likely).toBeGreaterThanOrEqual(0);
          expect(likely).toBeLessThanOrEqual(slipShares[fault as keyof typeof slipShares] + 1e-12);
        }
      }),
      { seed: 7 },
    );
  });
});

describe('what is measured of anybody', () => {
  it('is about as round as people read it off: on average 1 over ten millilitres', () => {
    for (const kind of kinds) {
      let sum = 0;
      for (let ml = 100; ml < 110; ml += 1) sum += evenness(kind, ml);
      expect(sum / 10).toBeCloseTo(1, 12);
      expect(evenness(kind, 200)).toBeGreaterThan(evenness(kind, 203));
    }
  });

  it('sums to all of it over every millilitre', () => {
    for (const kind of kinds) {
      let sum = 0;
      for (let ml = 0; ml <= 20_000; ml += 1) sum += anyonesVolume(kind, ml);
      expect(Math.abs(sum - 1)).toBeLessThan(0.02);
    }
  });
});

describe('a volume that is charted already', () => {
  const before: ChartedVolume = { volumeMl: 133, atMs: 0, recordedAtMs: 0, typed: false, look: 'a' };
  const now = (volumeMl: number, minutes: number, laterMin: number, look = 'b'): ChartedVolume => ({
    volumeMl,
    atMs: minutes * minuteMs,
    recordedAtMs: laterMin * minuteMs,
    typed: true,
    look,
  });

  it('is the same one when it is keyed again within ten minutes of it', () => {
    expect(chartedAgainShare(now(133, 5, 40), before)).toBe(1);
    expect(chartedAgainShare({ ...now(133, 5, 40), typed: false }, before)).toBeLessThan(0.5);
  });

  it('is likely the same one when it is put down rounder from memory, and not when it is a repeat of one look', () => {
    expect(chartedAgainShare(now(130, -5, 49), before)).toBeGreaterThan(0.9);
    expect(chartedAgainShare(now(130, -5, 49, 'a'), before)).toBe(0);
    expect(chartedAgainShare(now(130, 0, 2), before)).toBe(0);
    expect(chartedAgainShare(now(140, -5, 49), before)).toBe(0);
  });

  it('comes again by itself hours later, the more so a round one, and at the end of the range', () => {
    expect(chartedAgainShare(now(133, 200, 200), before)).toBeLessThan(0.5);
    expect(chartedAgainShare(now(250, 200, 200), { ...before, volumeMl: 250 })).toBe(0);
    expect(chartedAgainShare(now(999, 3, 3), { ...before, volumeMl: 999 })).toBe(0);
  });
});
