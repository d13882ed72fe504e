// Proves     the instant is the first on the grid at which the estimate's own chance reaches the share; it is never after
//            the protocol's time; it comes later than where nothing is let out, and sooner for who is known to pass nothing
// Published  none
// Tolerance  exact on the grid of a quarter of an hour
import { describe, expect, it } from 'vitest';
import { hourMs, isRefusal, minuteMs, orThrow } from '../quantity/index.ts';
import { chanceReachedAtMs, type ChanceAheadQuestion } from './chance-ahead.ts';
import { estimateAt, limitLikelyAtMs } from './estimate.ts';
import type { FillingObservation } from './observation.ts';
import { priorFor } from './prior.ts';

const looked: FillingObservation = {
  kind: 'reading',
  atMs: 0,
  volumeMl: 240,
  bound: 'exact',
  doubts: [],
};
const question = (over: Partial<ChanceAheadQuestion> = {}): ChanceAheadQuestion => ({
  observations: [looked],
  prior: priorFor('after-surgery'),
  limitMl: 500,
  fromMs: 30 * minuteMs,
  untilMs: 8 * hourMs,
  share: 0.15,
  ...over,
});
const over = (atMs: number): number =>
  orThrow(estimateAt({ ...question(), atMs, horizonMin: 1 })).overLimitProbability;

describe('when the chance of being over the limit is reached, as long as nothing more is charted', () => {
  it('is the first quarter of an hour at which the estimate says so', () => {
    const atMs = orThrow(chanceReachedAtMs(question()));
    expect((atMs - 30 * minuteMs) % (15 * minuteMs)).toBe(0);
    expect(atMs).toBeGreaterThan(hourMs);
    expect(atMs).toBeLessThan(8 * hourMs);
    expect(over(atMs)).toBeGreaterThanOrEqual(0.15);
    for (let before = 30 * minuteMs; before < atMs; before += 15 * minuteMs)
      expect(over(before)).toBeLessThan(0.15);
  });

  it("is never after the protocol's own time, and at once where the chance is there already", () => {
    for (const untilMs of [hourMs, 2 * hourMs, 8 * hourMs])
      for (const share of [0.001, 0.15, 0.99])
        expect(orThrow(chanceReachedAtMs(question({ untilMs, share })))).toBeLessThanOrEqual(untilMs);
    expect(orThrow(chanceReachedAtMs(question({ share: 1e-9 })))).toBe(30 * minuteMs);
    expect(orThrow(chanceReachedAtMs(question({ share: 0.999 })))).toBe(8 * hourMs);
  });

  it('comes later than where nothing is let out', () => {
    const nothingLeaves = orThrow(
      limitLikelyAtMs({ ...question(), atMs: 0, horizonMin: 24 * 60, share: 0.15 }) ?? Infinity,
    );
    expect(orThrow(chanceReachedAtMs(question()))).toBeGreaterThan(nothingLeaves);
  });

  it('comes sooner for a ward in which hardly anybody passes urine', () => {
    const held = { ...priorFor('after-surgery'), voidsLowPerH: 0.001, voidsHighPerH: 0.001 };
    expect(orThrow(chanceReachedAtMs(question({ prior: held, share: 0.3 })))).toBeLessThan(
      orThrow(chanceReachedAtMs(question({ share: 0.3 }))),
    );
  });

  it('refuses a share that is none, and a span without an end', () => {
    for (const [wrong, code] of [
      [{ share: 0 }, 'filling/share-out-of-range'],
      [{ share: 1 }, 'filling/share-out-of-range'],
      [{ untilMs: Infinity }, 'filling/horizon-out-of-range'],
      [{ limitMl: 1 }, 'filling/limit-out-of-range'],
    ] as const) {
      const refusal = chanceReachedAtMs(question(wrong));
      expect(isRefusal(refusal) && refusal.code).toBe(code);
    }
  });
});
