// Proves     slips change only the lines they say, as they say; the same seed gives the same; each kind comes
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { hourMs, instantMs, minuteMs } from '@ebbline/core/quantity';
import type { SimulatedLine } from './lines.ts';
import { madeSlips, withSlips, type MadeSlip } from './slips.ts';
import { simulateWard, type SimulatedWard } from './ward.ts';
import { watchedPatient } from './watched-patient.ts';

const ward = (seed: number): SimulatedWard =>
  simulateWard(watchedPatient, {
    seed,
    ward: 'w1',
    patients: 24,
    hours: 24,
    beginsMs: Date.UTC(2026, 4, 12, 6),
    staff: () => ({
      nextLookMs: ({ lastLookMs, opensAtMs }) =>
        lastLookMs === undefined ? opensAtMs : lastLookMs + 3 * hourMs,
      drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
    }),
  });
const settings = { share: 0.5, zoneAheadMin: 120 };
const before = ward(5);
const { lines, slips } = withSlips(before, 5, settings);
const was = new Map(before.lines.map((line) => [line.id, line]));
const is = new Map(lines.map((line) => [line.id, line]));
const each = (slip: MadeSlip): readonly (readonly [SimulatedLine, SimulatedLine])[] =>
  slips
    .filter((one) => one.slip === slip)
    .map(({ lineId }) => [
      was.get(lineId.replace('-again', '')) as SimulatedLine,
      is.get(lineId) as SimulatedLine,
    ]);
const ml = (line: SimulatedLine): number => ('volumeMl' in line ? (line.volumeMl ?? Number.NaN) : Number.NaN);

describe('slips in a made-up ward', () => {
  it('come of every kind, the same for the same seed, and none where none is tried', () => {
    for (const slip of madeSlips) expect(each(slip).length).toBeGreaterThan(0);
    expect(withSlips(ward(5), 5, settings)).toEqual({ ward: 'w1', lines, slips });
    expect(withSlips(before, 6, settings).slips).not.toEqual(slips);
    expect(withSlips(before, 5, { ...settings, share: 0 })).toEqual({
      ward: 'w1',
      lines: before.lines,
      slips: [],
    });
  });

  it('leave every other line as it was, in charting order', () => {
    const touched = new Set(slips.map(({ lineId }) => lineId));
    for (const line of lines) if (!touched.has(line.id)) expect(line).toEqual(was.get(line.id));
    const times = lines.map((line) => instantMs(line.recordedAt));
    expect(times).toEqual(times.toSorted((a, b) => a - b));
  });

  it('swap two digits, or add a nought, of typed figures only', () => {
    for (const [one, other] of each('swapped-digits')) {
      expect(one.source).toBe('typed');
      expect(ml(other)).not.toBe(ml(one));
      expect([...String(ml(other))].sort()).toEqual([...String(ml(one))].sort());
    }
    for (const [one, other] of each('nought-too-many')) expect(ml(other)).toBe(10 * ml(one));
  });

  it("put a volume into a neighbour's chart, and leave a void out", () => {
    for (const [one, other] of each('other-chart'))
      expect(other).toEqual({ ...one, patient: expect.not.stringMatching(one.patient) });
    for (const [one, other] of each('missed-void')) {
      expect(other).toEqual(one);
      const out = before.lines.filter(
        (line) => line.kind === 'void' && line.patient === one.patient && !is.has(line.id),
      );
      expect(out.some((line) => instantMs(line.at) < instantMs(one.at))).toBe(true);
    }
  });

  it('chart a volume again later, as it was or rounder, and set clocks an hour or the offset wrong both ways', () => {
    for (const [one, other] of each('charted-again')) {
      expect(Math.abs(ml(other) - ml(one))).toBeLessThanOrEqual(5);
      expect(instantMs(other.recordedAt)).toBeGreaterThan(instantMs(one.recordedAt));
    }
    const out = each('wrong-clock').map(
      ([one, other]) => (instantMs(other.at) - instantMs(one.at)) / minuteMs,
    );
    expect(new Set(out)).toEqual(new Set([-120, -60, 60, 120]));
  });
});
