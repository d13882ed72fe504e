// Proves     a protocol against itself differs in nothing on made-up wards; longer waits up to a larger volume give fewer
//            looks and more hours over the limit; swapped drafts turn every sign; what the made-up ward assumes
// Published  none
// Tolerance  exact; intervals of swapped drafts to 1e-9
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal, orThrow } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
import { starterFor, type CompiledProtocol } from '@ebbline/protocol';
import {
  measureNames,
  otherPatient,
  placeOf,
  watchedPatient,
  type PatientCourse,
  type PatientTruth,
} from '@ebbline/simulate';
import { toEnd } from './progress.ts';
import { protocolStaff, type ProtocolStaff } from './protocol-staff.ts';
import { replaySimulated, type SimulatedReplay, type SimulatedRequest } from './replay-simulated.ts';
import {
  afterSurgery,
  alwaysSaying,
  endingAfterOneLook,
  examiningDiscomfort,
  waitingUpTo,
  withDue,
} from './testing/drafts.ts';

const asked = (more: Partial<SimulatedRequest>): SimulatedRequest => ({
  inForce: afterSurgery,
  draft: afterSurgery,
  patients: 12,
  hours: 24,
  seed: 5,
  settings: defaultSettings,
  ...more,
});
const tried = (more: Partial<SimulatedRequest>): SimulatedReplay =>
  orThrow(toEnd(replaySimulated(asked(more))));

const longWaits = withDue(waitingUpTo(afterSurgery, 450), { 'AS-31': 240, 'AS-32': 240, 'AS-33': 240 });

describe('a draft on made-up wards', () => {
  it('differs in nothing from itself, by either generator', () => {
    for (const generate of [watchedPatient, otherPatient]) {
      const { figures, unanswered } = tried({ generate, patients: 3, hours: 12 });
      for (const name of measureNames) {
        expect(figures[name].difference, name).toEqual({ mean: 0, low: 0, high: 0 });
        expect([figures[name].draft, figures[name].differ]).toEqual([figures[name].inForce, 0]);
      }
      expect(unanswered).toEqual({ inForce: 0, draft: 0 });
      expect(figures.looks.inForce).toBeGreaterThan(2);
    }
  });

  it('that waits longer and up to a larger volume takes fewer looks and lets more hours go over the limit', () => {
    const { figures } = tried({ draft: longWaits, patients: 12, hours: 16, seed: 6 });
    expect(figures.looks.difference?.high).toBeLessThan(0);
    expect(figures.hoursOverLimit.difference?.low).toBeGreaterThan(0);
  });

  it('turns every sign when the drafts are swapped', () => {
    const few = { patients: 4, hours: 12 };
    const there = tried({ ...few, draft: longWaits }).figures;
    const back = tried({ ...few, inForce: longWaits, draft: afterSurgery }).figures;
    expect(there.looks.difference?.mean).not.toBe(0);
    for (const name of measureNames) {
      const [a, b] = [there[name], back[name]];
      expect([b.inForce, b.draft]).toEqual([a.draft, a.inForce]);
      expect(b.difference?.mean).toBeCloseTo(-(a.difference?.mean ?? Number.NaN), 9);
      expect(b.difference?.low).toBeCloseTo(-(a.difference?.high ?? Number.NaN), 9);
      expect(b.difference?.high).toBeCloseTo(-(a.difference?.low ?? Number.NaN), 9);
    }
  });

  it('counts how often a protocol with a hole had no answer', () => {
    const draft: CompiledProtocol = {
      ...afterSurgery,
      tables: afterSurgery.tables.map((table) =>
        table.decision === 'Advice'
          ? { ...table, rows: table.rows.filter((row) => row.id !== 'AS-31') }
          : table,
      ),
    };
    const { unanswered } = tried({ draft, patients: 2, hours: 12 });
    expect(unanswered.inForce).toBe(0);
    expect(unanswered.draft).toBeGreaterThan(0);
  });

  it('refuses settings that made-up wards do not have, and numbers out of range', () => {
    const child = starterFor('child') as CompiledProtocol;
    for (const [more, code] of [
      [{ inForce: child, draft: child, patients: 2 }, 'replay/no-made-up-patients'],
      [{ patients: 1 }, 'replay/patients-out-of-range'],
      [{ patients: 2.5 }, 'replay/patients-out-of-range'],
      [{ patients: 1001 }, 'replay/patients-out-of-range'],
      [{ hours: 0 }, 'replay/hours-out-of-range'],
      [{ hours: 169 }, 'replay/hours-out-of-range'],
    ] as const) {
      const found = toEnd(replaySimulated(asked(more)));
      expect(isRefusal(found) && found.code).toBe(code);
    }
  });

  it('tells how far it is, and has nothing in hand when it is given up', () => {
    const work = replaySimulated(asked({ patients: 5, hours: 4 }));
    const steps = [work.next(), work.next(), work.next()];
    expect(steps.map((one) => (one.done === true ? Number.NaN : one.value.share))).toEqual([0, 0.2, 0.4]);
    expect(work.return(undefined as never)).toEqual({ done: true, value: undefined });
  });
});

describe('what the made-up ward does', () => {
  /** A few patients under one protocol. */
  function courses(
    protocol: CompiledProtocol,
    hours = 12,
  ): readonly (PatientCourse & { readonly ward: ProtocolStaff })[] {
    return Array.from({ length: 12 }, (_, index) => {
      const ward = protocolStaff(protocol, defaultSettings);
      const place = placeOf(11, index, 1_778_565_600_000);
      const course = watchedPatient({
        seed: 11,
        ...place,
        hours,
        staff: ward.staff,
        looksChartedAtOnce: true,
      });
      return { ...course, ward };
    });
  }
  const gapsMin = ({ readings }: PatientTruth): readonly number[] =>
    readings.slice(1).map((one, index) => (one.atMs - (readings[index]?.atMs ?? 0)) / 60_000);

  /**
   * Looks that followed a plain one well under the limit, where no law of safety takes the answer away from the protocol,
   * each with what was written between the two.
   */
  function followed({ truth, lines }: PatientCourse) {
    if (lines.some((one) => one.kind === 'watch' && one.cautions.length > 0)) return [];
    return truth.readings.slice(1).flatMap((one, index) => {
      const before = truth.readings[index];
      if (before === undefined || before.shownMl >= 0.5 * truth.limitMl) return [];
      const line = lines.find((each) => each.kind === 'reading' && instantMs(each.at) === before.atMs);
      if (line?.kind !== 'reading' || line.doubts.length > 0 || line.bound !== 'exact') return [];
      const between = lines.filter((each) => {
        const atMs = instantMs(each.recordedAt);
        return each.kind !== 'reading' && atMs > before.atMs && atMs <= one.atMs;
      });
      const complained = (sinceMs: number): boolean =>
        lines.some(
          (each) =>
            each.kind === 'symptom' && instantMs(each.at) > sinceMs && instantMs(each.at) <= before.atMs,
        );
      return [{ gapMin: (one.atMs - before.atMs) / 60_000, between, before, complained }];
    });
  }
  const asks = ({ between }: ReturnType<typeof followed>[number]): boolean =>
    between.some((one) => ['void', 'drained', 'symptom'].includes(one.kind));

  it('looks when the protocol says so', () => {
    const undisturbed = courses(alwaysSaying('look-again', 45), 8)
      .flatMap(followed)
      .filter((one) => !asks(one) && !one.complained(-Infinity));
    expect(undisturbed.length).toBeGreaterThan(20);
    expect(new Set(undisturbed.map((one) => one.gapMin))).toEqual(new Set([45]));
  });

  it('takes discomfort as settled by an examination that finds less than the limit', () => {
    const after = courses(examiningDiscomfort)
      .flatMap(followed)
      .filter((one) => !asks(one) && one.complained(one.before.atMs - 10 * 60_000));
    expect(after.length).toBeGreaterThan(0);
    expect(new Set(after.map((one) => one.gapMin))).toEqual(new Set([45]));
  });

  it('has a person pass a catheter at or above the limit, and look again in an hour under it', () => {
    const found = courses(alwaysSaying('call-clinician', 15), 10);
    const drainedAt = new Set<number>();
    for (const { truth } of found) {
      const drains = truth.outflows.filter((one) => one.kind === 'drained').map((one) => one.atMs);
      for (const one of truth.readings)
        expect(drains.includes(one.atMs), `${one.shownMl} of ${truth.limitMl}`).toBe(
          one.shownMl >= truth.limitMl,
        );
      drains.forEach((atMs) => drainedAt.add(atMs));
    }
    expect(drainedAt.size).toBeGreaterThan(0);
    const again = found.flatMap(followed).filter((one) => !asks(one));
    expect(again.length).toBeGreaterThan(5);
    expect(new Set(again.map((one) => one.gapMin))).toEqual(new Set([60]));
  });

  it('ends the course where a catheter is left in, and the looks where a watch can end', () => {
    const left = courses(alwaysSaying('leave-catheter-and-plan', 0));
    expect(left.length).toBeGreaterThan(2);
    for (const { truth, ward } of left.filter((one) => one.ward.leftInMs() < Infinity)) {
      expect(truth.readings.at(-1)?.atMs).toBe(ward.leftInMs());
      expect(truth.outflows.filter((one) => one.kind === 'drained')).toHaveLength(1);
    }
    expect(left.filter((one) => one.ward.leftInMs() < Infinity).length).toBeGreaterThan(0);
  });

  it('looks no more once the watch can end, unless the patient says that something is wrong', () => {
    const ended = courses(endingAfterOneLook);
    const again = ended.flatMap(followed);
    expect(again.every(({ between }) => between.some((one) => one.kind === 'symptom'))).toBe(true);
    // There were voids after the end that asked nothing any more.
    const voided = ended.filter(({ truth, lines }) => {
      const lastMs = truth.readings.at(-1)?.atMs ?? 0;
      return lines.some((one) => one.kind === 'void' && instantMs(one.recordedAt) > lastMs);
    });
    expect(voided.length).toBeGreaterThan(2);
    // A watch that ends at once is looked at for a symptom alone.
    for (const { truth, lines } of courses(alwaysSaying('watch-can-end', 60)))
      if (!lines.some((one) => one.kind === 'symptom')) expect(truth.readings).toEqual([]);
  });

  it('never looks twice within five minutes, whatever is advised', () => {
    for (const { truth } of courses(alwaysSaying('measure-again-now', 0), 1))
      expect(Math.min(...gapsMin(truth))).toBeGreaterThanOrEqual(5);
  });
});
