// Proves     what is told beside volumes changes the estimate when it acts, and not before: diuretics, "cannot pass".
// Published  a loop diuretic by mouth acts from about 1 h on, into a vein from about 5 min (S-clinical2-O5)
// Tolerance  exact, but where a difference in mL is named
import { describe, expect, it } from 'vitest';
import { hourMs, minuteMs, orThrow } from '../quantity/index.ts';
import { estimateAt } from './estimate.ts';
import type { FillingObservation } from './observation.ts';
import { priorFor } from './prior.ts';

const reading: FillingObservation = { kind: 'reading', atMs: 0, volumeMl: 100, bound: 'exact', doubts: [] };
const content = (atMin: number, ...more: readonly FillingObservation[]): number =>
  orThrow(
    estimateAt({
      observations: [reading, ...more],
      prior: priorFor('resting', {}),
      atMs: atMin * minuteMs,
      limitMl: 500,
      horizonMin: 60,
    }),
  ).content.p50Ml;
const diuretic = (state: 'oral' | 'iv'): FillingObservation => ({
  kind: 'covariate',
  atMs: minuteMs,
  name: 'loop-diuretic',
  state,
});

describe('a loop diuretic', () => {
  it('by mouth changes nothing in its first hour, and much in the second', () => {
    expect(Math.abs(content(55, diuretic('oral')) - content(55))).toBeLessThan(0.1);
    expect(content(120, diuretic('oral')) - content(120)).toBeGreaterThan(40);
  });
  it('into a vein acts at once, by mouth later and less', () => {
    const more = (state: 'oral' | 'iv', atMin: number): number =>
      content(atMin, diuretic(state)) - content(atMin);
    expect(more('iv', 30)).toBeGreaterThan(40);
    expect(more('iv', 60)).toBeGreaterThan(2 * more('iv', 30));
    expect(more('iv', 90)).toBeGreaterThan(2 * more('oral', 90));
  });
});

describe('"cannot pass"', () => {
  const says: FillingObservation = { kind: 'covariate', atMs: hourMs, name: 'cannot-pass', state: 'present' };
  it('means that there is much in the bladder, unless a catheter drains it', () => {
    expect(content(90, says)).toBeGreaterThan(content(90) + 50);
    const inPlace: FillingObservation = { kind: 'catheter', atMs: minuteMs, state: 'in' };
    expect(content(90, inPlace, says)).toBeCloseTo(content(90, inPlace), 6);
  });
});
