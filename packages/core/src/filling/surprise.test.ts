// Proves     a volume that the bladder explains is not questioned; one that a slip or a bad look explains better is, and is
//            asked as what it likeliest is
// Published  none: made patients
// Tolerance  shares above or below a half
import { describe, expect, it } from 'vitest';
import { hourMs, isRefusal, minuteMs, orThrow } from '../quantity/index.ts';
import type { FillingObservation } from './observation.ts';
import { priorFor, type FillingPrior } from './prior.ts';
import { shareToAsk, surpriseOf, type Measured, type Surprise } from './surprise.ts';

const reading = (
  minutes: number,
  volumeMl: number,
  doubts: readonly string[] = [],
): Measured & { kind: 'reading' } => ({
  kind: 'reading',
  atMs: minutes * minuteMs,
  volumeMl,
  bound: 'exact',
  doubts,
});
const passed = (minutes: number, volumeMl: number): Measured => ({
  kind: 'void',
  atMs: minutes * minuteMs,
  measured: true,
  volumeMl,
});
const before: readonly FillingObservation[] = [reading(0, 200), reading(60, 290), reading(120, 380)];
const ask = (
  measured: Measured,
  more: { typed?: boolean; prior?: FillingPrior; observations?: readonly FillingObservation[] } = {},
): Surprise =>
  orThrow(
    surpriseOf(more.observations ?? before, measured, {
      prior: more.prior ?? priorFor('after-surgery', { weightKg: 75 }),
      limitMl: 500,
      nowMs: measured.atMs,
      clockAheadMs: 12 * hourMs,
      typed: more.typed ?? true,
    }),
  );

describe('a volume before it is saved', () => {
  it('is not questioned where it lies in what was expected', () => {
    for (const measured of [reading(150, 430), passed(150, 400), reading(150, 400)]) {
      const { faultShare, expectedMl } = ask(measured);
      expect(faultShare).toBeLessThan(0.2);
      expect(measured.volumeMl).toBeGreaterThan(expectedMl.low);
      expect(measured.volumeMl).toBeLessThan(expectedMl.high);
    }
  });

  it('is asked about as a digit too many, only where somebody keyed it', () => {
    const keyed = ask(passed(150, 3800));
    expect(keyed.faultShare).toBeGreaterThan(0.9);
    expect(keyed.likeliest).toBe('extra-digit');
    expect(keyed.tail).toBeLessThan(1e-3);
    expect(ask(passed(150, 3800), { typed: false }).likeliest).not.toBe('extra-digit');
  });

  it('is asked about as a digit missing where a jug rarely shows so odd a little', () => {
    const odd = ask(passed(150, 42));
    expect(odd.likeliest).toBe('lost-digit');
    expect(odd.faultShare).toBeGreaterThan(ask(passed(150, 50)).faultShare);
  });

  it('is asked about as other fluid the sooner where a caution tells of it, and again where it was read before', () => {
    const plain = priorFor('after-surgery', { weightKg: 75 });
    const near = priorFor('after-surgery', { weightKg: 75, otherFluidNear: true });
    const high = reading(150, 800);
    expect(ask(high).likeliest).toBe('other-fluid');
    expect(ask(high, { prior: near }).faultShare).toBeGreaterThan(ask(high, { prior: plain }).faultShare);
    // Read much, drained little: the next high reading is doubted the more.
    const once: readonly FillingObservation[] = [
      reading(0, 200),
      reading(60, 700),
      { kind: 'drained', atMs: 70 * minuteMs, volumeMl: 240, thenIn: 'out' },
    ];
    const never: readonly FillingObservation[] = [
      reading(0, 200),
      { kind: 'drained', atMs: 70 * minuteMs, volumeMl: 240, thenIn: 'out' },
    ];
    const next = reading(130, 420);
    expect(ask(next, { observations: once }).faultShare).toBeGreaterThan(
      ask(next, { observations: never }).faultShare,
    );
  });

  it('is asked about as beside the bladder where whoever measured was unsure of that', () => {
    const sure = ask(reading(150, 20));
    const unsure = ask(reading(150, 20, ['unsure-aim']));
    expect(unsure.likeliest).toBe('off-target');
    expect(unsure.faultShare).toBeGreaterThan(sure.faultShare);
    expect(unsure.faultShare).toBeGreaterThan(0.6);
  });

  it('is asked about less for other fluid inside what was expected, and always far outside', () => {
    const found = (tail: number, faultShare: number, likeliest: Surprise['likeliest']): Surprise => ({
      tail,
      faultShare,
      likeliest,
      expectedMl: { low: 0, high: 500 },
    });
    expect(shareToAsk(found(0.2, 0.6, 'other-fluid'))).toBeCloseTo(0.3, 12);
    expect(shareToAsk(found(0.005, 0.6, 'other-fluid'))).toBe(0.6);
    expect(shareToAsk(found(0.2, 0.6, 'lost-digit'))).toBe(0.6);
    expect(shareToAsk(found(1e-4, 0.1, 'other-chart'))).toBe(0.5);
    expect(shareToAsk(found(1e-4, 0.9, 'other-chart'))).toBe(0.9);
    // A unit's own figures make its tails good for more.
    expect(shareToAsk(found(0.003, 0.1, 'other-chart'))).toBe(0.1);
    expect(shareToAsk(found(0.003, 0.1, 'other-chart'), 'own')).toBe(0.5);
  });

  it('is held against those who needed to pass urine, when it was passed', () => {
    const all = ask(reading(240, 400)).expectedMl;
    const whoPass = ask(passed(240, 400)).expectedMl;
    expect(whoPass.low).toBeGreaterThan(all.low);
  });

  it('is refused where it is no volume', () => {
    const refused = surpriseOf(before, reading(150, -5), {
      prior: priorFor('resting'),
      limitMl: 500,
      nowMs: 150 * minuteMs,
      clockAheadMs: 0,
      typed: true,
    });
    expect(isRefusal(refused) && refused.code).toBe('filling/not-a-volume');
  });
});
