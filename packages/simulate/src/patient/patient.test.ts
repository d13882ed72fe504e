// Proves     made-up bodies and readings have the shares and spreads that the generator states, and keep their volume
// Published  S-job-4.2: capacity 600 sd 200 in 200 to 1,600; sensation 70/20/10; within-reading sd 8 % + 15 mL; 6 % gross
// Tolerance  shares ± 0.03 at 4,000 draws (four standard errors or more)
import { describe, expect, it } from 'vitest';
import { hourMs, seededRandom } from '@ebbline/core/quantity';
import { openBladder } from './bladder.ts';
import { readVolume, typedVolume } from './reading-error.ts';
import { drawPatient, type VirtualPatient } from './virtual-patient.ts';

const still: VirtualPatient = {
  ageYears: 60,
  sex: 'female',
  weightKg: 70,
  capacityMl: 600,
  sensation: 'none',
  medianRateMlPerH: 120,
  keepsShare: 1,
};

describe('made-up patients', () => {
  it('have the capacities and sensations that the generator states', () => {
    const random = seededRandom(11);
    const drawn = Array.from({ length: 4000 }, () => drawPatient(random, 'after-surgery'));
    const capacities = drawn.map((one) => one.capacityMl);
    expect(Math.min(...capacities)).toBeGreaterThanOrEqual(200);
    expect(Math.max(...capacities)).toBeLessThanOrEqual(1600);
    expect(Math.abs(capacities.reduce((sum, one) => sum + one, 0) / 4000 - 602)).toBeLessThan(13);
    const share = (word: string): number => drawn.filter((one) => one.sensation === word).length / 4000;
    expect(Math.abs(share('ordinary') - 0.7)).toBeLessThan(0.03);
    expect(Math.abs(share('blunted') - 0.2)).toBeLessThan(0.03);
    expect(Math.abs(share('none') - 0.1)).toBeLessThan(0.03);
  });

  it('fill after surgery at 50 to 260 mL an hour nine times in ten', () => {
    const random = seededRandom(12);
    const rates = Array.from({ length: 4000 }, () => drawPatient(random, 'after-surgery').medianRateMlPerH);
    expect(Math.abs(rates.filter((rate) => rate >= 50 && rate <= 260).length / 4000 - 0.9)).toBeLessThan(
      0.05,
    );
  });

  it('keep what they make when nothing passes: content grows, and a drain takes it', () => {
    const bladder = openBladder(still, seededRandom(13), 0, 100);
    expect(bladder.advanceTo(4 * hourMs)).toBeUndefined();
    const full = bladder.volumeMl();
    expect(full).toBeGreaterThan(100 + 4 * 60);
    expect(full).toBeLessThan(100 + 4 * 250);
    const came = bladder.drain();
    expect(Math.abs(came + bladder.volumeMl() - full)).toBeLessThanOrEqual(0.5);
    expect(bladder.volumeMl()).toBeLessThanOrEqual(15);
  });

  it('pass urine at the urge, keeping their share', () => {
    const bladder = openBladder(
      { ...still, sensation: 'ordinary', keepsShare: 0.1 },
      seededRandom(14),
      0,
      300,
    );
    const passed = bladder.advanceTo(12 * hourMs);
    expect(passed?.passedMl).toBeGreaterThan(0.9 * 0.55 * 600 - 1);
    expect(passed?.passedMl).toBeLessThan(0.9 * 0.85 * 600);
    expect((passed?.leftMl ?? 0) / ((passed?.leftMl ?? 0) + (passed?.passedMl ?? 1))).toBeCloseTo(0.1, 2);
    expect(bladder.volumeMl()).toBe(passed?.leftMl);
  });
});

describe('made-up readings', () => {
  it('spread by 8 % and 15 mL, and go badly wrong six times in a hundred', () => {
    const random = seededRandom(15);
    const readings = Array.from({ length: 4000 }, () => readVolume(400, { scanner: 0, operator: 0 }, random));
    expect(Math.abs(readings.filter((one) => one.gross !== undefined).length / 4000 - 0.06)).toBeLessThan(
      0.015,
    );
    const plain = readings.filter((one) => one.gross === undefined).map((one) => one.volumeMl);
    const mean = plain.reduce((sum, one) => sum + one, 0) / plain.length;
    const sd = Math.sqrt(plain.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (plain.length - 1));
    expect(Math.abs(mean - 400)).toBeLessThan(4);
    expect(Math.abs(sd - 47)).toBeLessThan(3);
  });

  it('follow the error of their scanner', () => {
    const random = seededRandom(16);
    const high = Array.from(
      { length: 4000 },
      () => readVolume(500, { scanner: 0.12, operator: 0 }, random, 0).volumeMl,
    );
    expect(Math.abs(high.reduce((sum, one) => sum + one, 0) / 4000 - 560)).toBeLessThan(5);
  });

  it('are never negative, and end in 0 or 5 more often when typed', () => {
    const random = seededRandom(17);
    const typed = Array.from({ length: 4000 }, () =>
      typedVolume(readVolume(10, { scanner: 0, operator: 0 }, random).volumeMl, random),
    );
    expect(Math.min(...typed)).toBeGreaterThanOrEqual(0);
    const larger = Array.from({ length: 4000 }, () =>
      typedVolume(readVolume(450, { scanner: 0, operator: 0 }, random).volumeMl, random),
    );
    expect(Math.abs(larger.filter((one) => one % 5 === 0).length / 4000 - (0.35 + 0.65 * 0.2))).toBeLessThan(
      0.03,
    );
  });
});
