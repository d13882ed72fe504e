// Proves     what another reading would bring is what drawing readings one by one gives, and the closed forms where there
//            are any.
// Published  none: sums of normals. On the line the expected wrong side is arctan(τ/s)/π (the quadrant of two normals)
// Tolerance  1e-8 against closed forms; 4 standard errors against 200,000 drawn pairs
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { isRefusal, orThrow, seededRandom } from '../quantity/index.ts';
import { normalUpperTail } from '../statistics/index.ts';
import { evenly } from '../statistics/testing/within.ts';
import { readAgain } from './read-again.ts';

const ask = (volumeMl: number, standardDeviationMl: number, lineMl: number, sharedShare: number) =>
  orThrow(readAgain({ volumeMl, standardDeviationMl, lineMl, sharedShare }));

describe('another reading', () => {
  it('on the line leaves the wrong side at arctan(τ/s)/π: a quarter when nothing is shared', () => {
    expect(ask(400, 80, 400, 0).wrongSideAfter).toBeCloseTo(0.25, 8);
    for (const share of [0.1, 0.3, 0.5, 0.7, 0.9, 0.99]) {
      const own = Math.sqrt((1 - share) / 2);
      expect(ask(400, 80, 400, share).wrongSideAfter).toBeCloseTo(
        Math.atan(Math.sqrt(share + own * own) / own) / Math.PI,
        8,
      );
    }
  });

  it('brings nothing when a repeat shares all of the error', () => {
    const { changesProbability, settlesProbability, wrongSideBefore, wrongSideAfter } = ask(440, 80, 400, 1);
    expect([changesProbability, settlesProbability]).toEqual([0, 0]);
    expect(wrongSideAfter).toBe(wrongSideBefore);
    expect(wrongSideBefore).toBeCloseTo(normalUpperTail(0.5), 12);
  });

  it('is what 200,000 drawn pairs of readings give', () => {
    const random = seededRandom(71);
    const draws = 200_000;
    for (const [volumeMl, sd, lineMl, share] of [
      [560, 80, 600, 0.7],
      [430, 60, 400, 0.35],
      [300, 45, 300, 0.5],
      [520, 70, 400, 0],
    ] as const) {
      let [changes, settles, wrong] = [0, 0, 0];
      for (let draw = 0; draw < draws; draw += 1) {
        // All that is known of the true volume is the first reading: its error is taken off again.
        const shared = Math.sqrt(share) * sd * random.normal();
        const own = Math.sqrt(1 - share) * sd * random.normal();
        const truth = volumeMl - shared - own;
        const second = truth + shared + Math.sqrt(1 - share) * sd * random.normal();
        const mean = (volumeMl + second) / 2;
        if (mean >= lineMl !== volumeMl >= lineMl) changes += 1;
        if (mean >= lineMl !== truth >= lineMl) wrong += 1;
        const left = sd * Math.sqrt(share + (1 - share) / 2);
        if (normalUpperTail(Math.abs(mean - lineMl) / left) < 0.2) settles += 1;
      }
      const got = ask(volumeMl, sd, lineMl, share);
      for (const [count, expected] of [
        [changes, got.changesProbability],
        [settles, got.settlesProbability],
        [wrong, got.wrongSideAfter],
      ] as const) {
        const error = Math.sqrt((expected * (1 - expected)) / draws);
        expect(Math.abs(count / draws - expected)).toBeLessThan(4 * error + 1e-6);
      }
    }
  });

  it('never makes the wrong side likelier, the less is shared the better, and is the same from either side', () => {
    fc.assert(
      fc.property(
        evenly(0, 1000),
        evenly(5, 200),
        evenly(0, 1000),
        evenly(0, 1),
        (volumeMl, sd, lineMl, share) => {
          const got = ask(volumeMl, sd, lineMl, share);
          const less = ask(volumeMl, sd, lineMl, share / 2);
          const mirrored = ask(Math.max(0, lineMl), sd, volumeMl, share);
          return (
            got.wrongSideAfter <= got.wrongSideBefore + 1e-9 &&
            less.wrongSideAfter <= got.wrongSideAfter + 1e-9 &&
            less.changesProbability >= got.changesProbability - 1e-12 &&
            Math.abs(mirrored.wrongSideAfter - got.wrongSideAfter) < 1e-9 &&
            [got.changesProbability, got.settlesProbability, got.wrongSideAfter].every(
              (one) => one >= 0 && one <= 1 + 1e-9,
            )
          );
        },
      ),
      { seed: 72, numRuns: 300 },
    );
  });

  it('goes by the unit’s toss-up', () => {
    const question = { volumeMl: 430, standardDeviationMl: 60, lineMl: 400, sharedShare: 0.3 };
    const strict = orThrow(readAgain(question, { tossUpFrom: 0.05 })).settlesProbability;
    expect(strict).toBeLessThan(orThrow(readAgain(question, { tossUpFrom: 0.3 })).settlesProbability);
    expect(orThrow(readAgain(question, { tossUpFrom: 0.5 })).settlesProbability).toBeCloseTo(1, 9);
  });

  it('is refused without an error, or with a share that is none', () => {
    for (const bad of [{ standardDeviationMl: 0 }, { sharedShare: 1.2 }, { volumeMl: Number.NaN }])
      expect(
        isRefusal(
          readAgain({ volumeMl: 430, standardDeviationMl: 60, lineMl: 400, sharedShare: 0.5, ...bad }),
        ),
      ).toBe(true);
  });
});
