// Proves     each way of deciding gives the instant that a hand sum gives, all keep the same bounds, look when a patient says
//            that nothing comes, and drain at the limit; ours looks later the higher the tolerance
// Published  70 kg at 1 mL/kg/h (S-clinical-H1) from 220 mL to a limit of 500 mL: 4 h
// Tolerance  exact for the simple rules; ours equals the product's own way to a due time
import { describe, expect, it } from 'vitest';
import { hourMs, instantOfMs, isRefusal, minuteMs, orThrow } from '@ebbline/core/quantity';
import { knownThen, readWardLog } from '@ebbline/interop/wardlog';
import { observationsOf } from '@ebbline/core/facts';
import { placeOf, watchedPatient, type SimulatedLine, type StaffView } from '@ebbline/simulate';
import { inputsOfLines, toleranceInstantMs } from './next-look.ts';
import { staffOf, strategyOf } from './strategies.ts';

const opensAtMs = Date.UTC(2026, 4, 12, 6);
const stamp = (id: string, hours: number) => ({
  id,
  patient: 'w1-P01',
  at: instantOfMs(opensAtMs + hours * hourMs),
  atQuality: 'exact' as const,
  recordedAt: instantOfMs(opensAtMs + hours * hourMs),
  source: 'typed' as const,
});
const watch: SimulatedLine = {
  ...stamp('e1', 0),
  kind: 'watch',
  setting: 'after-surgery',
  ageY: 70,
  sex: 'female',
  weightKg: 70,
  limitMl: 500,
  cautions: [],
  catheterInPlace: false,
};
const reading = (hours: number, volumeMl: number): SimulatedLine => ({
  ...stamp(`r${hours}`, hours),
  kind: 'reading',
  volumeMl,
  bound: 'exact',
  doubts: [],
  afterVoid: false,
  look: `K${hours}`,
});
const passed = (hours: number, volumeMl: number): SimulatedLine => ({
  ...stamp(`v${hours}`, hours),
  kind: 'void',
  measured: true,
  class: 'jug',
  volumeMl,
});
const drained = (hours: number): SimulatedLine => ({
  ...stamp(`d${hours}`, hours),
  kind: 'drained',
  measured: true,
  route: 'in-out',
  volumeMl: 510,
});
const after = (nowH: number, lastLookH: number, ...known: readonly SimulatedLine[]): StaffView => ({
  nowMs: opensAtMs + nowH * hourMs,
  opensAtMs,
  known: [watch, ...known],
  lastLookMs: opensAtMs + lastLookH * hourMs,
});
const nextH = (name: string, view: StaffView): number =>
  (staffOf(orThrow(strategyOf(name))).nextLookMs(view) - opensAtMs) / hourMs;

describe('when to look next', () => {
  it.each([
    ['fixed-4h', after(1, 1, reading(1, 220)), 5],
    ['fixed-2.5h', after(1, 1, reading(1, 220)), 3.5],
    ['weight', after(1, 1, reading(1, 220)), 5],
    ['weight-2', after(1, 1, reading(1, 220)), 3],
    ['weight', after(3, 1, reading(1, 220), passed(2, 200)), 5],
    // 220 mL + 70 mL less 200 mL leaves 90 mL at 2 h; 410 mL more take 5.857 h.
    ['weight-less-voids', after(3, 1, reading(1, 220), passed(2, 200)), 2 + 410 / 70],
    // What is passed beyond what was thought to be in leaves nothing, not less: 500 mL from 2 h, at 2 mL/kg/h.
    ['weight-less-voids-2', after(3, 1, reading(1, 220), passed(2, 900)), 2 + 500 / 140],
    ['line', after(3, 3, reading(1, 100), reading(3, 300)), 5],
    ['line', after(3, 3, reading(1, 300), reading(3, 250)), 3 + 8],
    // After draining, it is empty: 500 mL at 70 mL/h are 7.14 h from 3 h on.
    ['weight', after(3, 3, reading(3, 520), drained(3)), 3 + 500 / 70],
    ['line', after(3, 3, reading(1, 300), reading(3, 520), drained(3)), 3 + 500 / 70],
    // To four fifths of the limit: 400 mL.
    ['weight@0.8', after(1, 1, reading(1, 220)), 1 + 180 / 70],
    ['weight-less-voids-2@0.8', after(1, 1, reading(1, 220)), 1 + 180 / 140],
    ['line@0.8', after(3, 3, reading(1, 100), reading(3, 300)), 4],
    // 0 mL at 3 h and 200 mL at 4 h: 300 mL more take an hour and a half.
    ['line', after(4, 4, reading(3, 520), drained(3), reading(4, 200)), 5.5],
  ])('%s gives the hand sum', (name, view, hours) => {
    expect(nextH(name, view)).toBeCloseTo(hours, 9);
  });

  it('is never sooner than half an hour after a look, nor later than eight hours', () => {
    for (const name of ['weight', 'line', 'ours-5']) {
      expect(nextH(name, after(1, 1, reading(1, 498)))).toBe(1.5);
      expect(nextH(name, after(1, 1, drained(1)))).toBeLessThanOrEqual(9);
    }
    expect(nextH('weight-0.1', after(1, 1, drained(1)))).toBe(9);
    expect(nextH('ours-99', after(1, 1, drained(1)))).toBe(9);
  });

  it('is at once when the watch opens, and when a patient says that nothing comes', () => {
    expect(nextH('fixed-4h', { nowMs: opensAtMs, opensAtMs, known: [watch], lastLookMs: undefined })).toBe(0);
    const told: SimulatedLine = { ...stamp('s2', 2), kind: 'symptom', symptom: 'urge-cannot-pass' };
    for (const name of ['fixed-4h', 'weight', 'line', 'ours-10'])
      expect(nextH(name, after(2, 1, reading(1, 120), told))).toBe(2);
    // Told before the last look: that look was the answer.
    expect(nextH('fixed-4h', after(3, 3, told, reading(3, 120)))).toBe(7);
  });

  it('keeps what the product would do for `ours` and `chance`: the more is borne, the later', () => {
    const view = after(1, 1, reading(1, 220));
    for (const kind of ['ours', 'chance']) {
      const hours = [2, 10, 35].map((percent) => nextH(`${kind}-${percent}`, view));
      expect(hours).toEqual([...hours].sort((a, b) => a - b));
    }
    // What may have left without anybody charting it makes the same chance come later.
    expect(nextH('chance-20', view)).toBeGreaterThan(nextH('ours-20', view));
    // A unit whose patients make twice as much is told to look earlier.
    const factors = { common: { inflowMlPerH: 2 }, bySetting: {} };
    for (const name of ['ours-20', 'chance-20'])
      expect(staffOf(orThrow(strategyOf(name, factors))).nextLookMs(view), name).toBeLessThan(
        staffOf(orThrow(strategyOf(name))).nextLookMs(view),
      );
  });

  it('is later for ours the more chance of being over the limit a unit bears', () => {
    const view = after(1, 1, reading(1, 220));
    const hours = [2, 5, 10, 20, 35, 50].map((percent) => nextH(`ours-${percent}`, view));
    expect(hours).toEqual([...hours].sort((a, b) => a - b));
    expect((hours.at(-1) ?? 0) - (hours[0] ?? 0)).toBeGreaterThan(0.75);
  });

  it('refuses a name that it does not know, and says the names', () => {
    for (const name of [
      'fixed-4',
      'fixed-0h',
      'ours-5h',
      'ours-100',
      'ours',
      'weight-2h',
      'weight-99',
      'line@3',
      'fixed-4h@0.8',
      'ours-5@0.8',
      'chance',
      'often',
    ]) {
      const refusal = strategyOf(name);
      expect(isRefusal(refusal) && refusal.code, name).toBe('simulate/unknown-strategy');
    }
  });

  it('drains when a look shows the limit, not a millilitre less', () => {
    const { drains } = staffOf(orThrow(strategyOf('weight')));
    const shown = (volumeMl: number) =>
      drains(reading(1, volumeMl) as never, watch as never, undefined as never);
    expect([shown(499), shown(500)]).toEqual([false, true]);
  });
});

describe('what ours is told', () => {
  it('is what a ward log read as a file says, at every moment of a made-up watch', () => {
    const { lines, truth } = watchedPatient({
      seed: 3,
      ...placeOf(3, 4, opensAtMs),
      hours: 24,
      staff: staffOf(orThrow(strategyOf('fixed-3h'))),
    });
    const log = orThrow(readWardLog(lines.map((line) => JSON.stringify(line)).join('\n')));
    for (let step = 0; step <= 24; step += 1) {
      const nowMs = truth.opensAtMs + step * 60 * minuteMs;
      const known = lines.filter((line) => Date.parse(line.recordedAt) <= nowMs);
      const inputs = inputsOfLines(known, nowMs);
      expect(observationsOf(inputs.live, nowMs)).toEqual(knownThen(log, nowMs, truth.patient).observations);
      expect(inputs.limitMl).toBe(truth.limitMl);
      const early = toleranceInstantMs(inputs, 0.05, nowMs) ?? Infinity;
      expect(early).toBeLessThanOrEqual(toleranceInstantMs(inputs, 0.2, nowMs) ?? Infinity);
    }
  });
});
