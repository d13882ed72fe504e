// Proves     the second generator differs from the first in what it says it differs in, and takes nothing from it but the
//            random source and the types of what comes out
// Published  none: S-made-other-physics
// Tolerance  shares as stated beside them
import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { hourMs, minuteMs, type RandomSource } from '@ebbline/core/quantity';
import { placeOf, watchedPatient, type PatientGenerator, type PatientTruth, type Staff } from '../index.ts';
import { otherPatient } from './index.ts';
import { otherReading } from './scanner.ts';
import { streamFor } from '../streams.ts';

const beginsMs = Date.UTC(2026, 4, 12, 6);
const idle: Staff = { nextLookMs: () => Infinity, drains: () => false };
const truthsOf = (generate: PatientGenerator, staff: Staff = idle): readonly PatientTruth[] =>
  Array.from(
    { length: 150 },
    (_, index) => generate({ seed: 8, ...placeOf(8, index, beginsMs), hours: 48, staff }).truth,
  );
const others = truthsOf(otherPatient);
const firsts = truthsOf(watchedPatient);

/** Share of steps in which inflow is what it was in the step before. */
const standsStill = (truth: PatientTruth): number =>
  truth.inflowMl.filter((ml, step) => step > 0 && ml === truth.inflowMl[step - 1]).length /
  truth.inflowMl.length;
const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, one) => sum + one, 0) / values.length;

describe('the other physics', () => {
  it('takes from the first generator only the random source and the types', () => {
    const folder = new URL('.', import.meta.url);
    const from = readdirSync(folder)
      .filter((name) => name.endsWith('.ts') && !name.endsWith('.test.ts'))
      .flatMap((name) => [...readFileSync(new URL(name, folder), 'utf8').matchAll(/from '(\.\.\/[^']+)'/g)])
      .map((match) => match[1]);
    expect(new Set(from)).toEqual(new Set(['../streams.ts', '../course.ts', '../lines.ts']));
  });

  it('fills in steps: most of the time exactly as five minutes before, where the first never stands still', () => {
    expect(meanOf(others.map(standsStill))).toBeGreaterThan(0.85);
    expect(meanOf(firsts.map(standsStill))).toBeLessThan(0.1);
  });

  it('empties anew each time: the share that one poor emptier leaves behind varies, where in the first it is a trait', () => {
    const spread = (truths: readonly PatientTruth[]): number => {
      const perPatient = truths
        .filter((truth) => truth.emptying === 'poor')
        .map((truth) =>
          truth.outflows
            .filter((one) => one.kind === 'void')
            .map((one) => one.leftMl / (one.leftMl + one.volumeMl)),
        )
        .filter((shares) => shares.length >= 4);
      expect(perPatient.length).toBeGreaterThan(8);
      // A second attempt leaves another share: the middle half is compared.
      return meanOf(
        perPatient.map((shares) => {
          const sorted = [...shares].sort((a, b) => a - b);
          return (
            (sorted[Math.floor(0.75 * sorted.length)] ?? 0) - (sorted[Math.floor(0.25 * sorted.length)] ?? 0)
          );
        }),
      );
    };
    expect(spread(others)).toBeGreaterThan(2 * spread(firsts));
  });

  it('goes by the clock for nearly half: draining once leaves the times of their later voids as they were', () => {
    const once: Staff = {
      nextLookMs: ({ lastLookMs, opensAtMs }) =>
        lastLookMs === undefined ? opensAtMs + 3 * hourMs : Infinity,
      drains: () => true,
    };
    const unmoved = (generate: PatientGenerator, before: readonly PatientTruth[]): number => {
      const after = truthsOf(generate, once);
      const times = (truth: PatientTruth): readonly number[] =>
        truth.outflows.filter((one) => one.kind === 'void').map((one) => one.atMs);
      // Those in whom draining took something out.
      const empty = before.flatMap((truth, index) => {
        const drained = after[index] as PatientTruth;
        const took = drained.outflows.find((one) => one.kind === 'drained')?.volumeMl ?? 0;
        return truth.emptying === 'good' && took > 100 ? [[times(truth), times(drained)] as const] : [];
      });
      expect(empty.length).toBeGreaterThan(50);
      return empty.filter(([one, two]) => one.length > 0 && one.join() === two.join()).length / empty.length;
    };
    // Nearly half go by the clock; some of them had under 30 mL at their first time after draining.
    expect(unmoved(otherPatient, others)).toBeGreaterThan(0.3);
    expect(unmoved(otherPatient, others)).toBeLessThan(0.6);
    // In the first, only those whose urge is past its threshold either way, as when a block wears off.
    expect(unmoved(watchedPatient, firsts)).toBeLessThan(0.2);
  });
});

describe('its scanner', () => {
  const request = { seed: 8, ward: 'w1', patient: 'w1-P01' };
  const ratios = (atMs: number, random: RandomSource, operator?: string): readonly number[] =>
    Array.from({ length: 3000 }, () => otherReading(request, atMs, 400, random, 'L1').truth)
      .filter((one) => one.gross === undefined && (operator === undefined || one.operator === operator))
      .map((one) => one.shownMl / 400);
  const middle = (values: readonly number[]): number =>
    [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;

  it('shows tens', () => {
    const random = streamFor(1, 'tens');
    for (let count = 0; count < 200; count += 1)
      expect(otherReading(request, beginsMs, 437, random, 'L1').truth.shownMl % 10).toBe(0);
  });

  it('has heavier tails than a normal with the same middle half', () => {
    const errors = ratios(beginsMs, streamFor(2, 'tails'), 'M1').map(Math.log);
    const centre = middle(errors);
    const off = errors.map((one) => Math.abs(one - centre));
    // Half lie within 0.07 or so, and tens of mL blur that; a normal of that width would have 0.3 in 100 beyond 0.31.
    expect(middle(off)).toBeLessThan(0.1);
    expect(off.filter((one) => one > 0.31).length / off.length).toBeGreaterThan(0.015);
  });

  it('drifts with its operator: near minutes alike, days apart not', () => {
    const drift = (afterMs: number): number =>
      middle(ratios(beginsMs + afterMs, streamFor(3, 'drift'), 'M2'));
    expect(Math.abs(drift(0) - drift(10 * minuteMs))).toBeLessThan(1e-9);
    const days = Array.from({ length: 12 }, (_, day) => drift(day * 24 * hourMs));
    expect(Math.max(...days) - Math.min(...days)).toBeGreaterThan(0.1);
    const steps = Array.from({ length: 24 }, (_, step) => drift(step * 3 * hourMs));
    const near = meanOf(steps.slice(1).map((one, step) => Math.abs(one - (steps[step] ?? 0))));
    const apart = meanOf(days.slice(1).map((one, day) => Math.abs(one - (days[day] ?? 0))));
    expect(near).toBeLessThan(apart);
  });
});
