// Proves     the four worked patients tell the values and times of the worked case
// Published  S-job-8b: knee 240 · 80 · at least 430 · 560 · drained 690 · 310 · 60; false high 520 610 585, drained 90;
//            silent miss 1,180 mL at 8 h; wrong bed 45 for 450, moved at 21:10
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { clockTime, instantMs, isRefusal } from '@ebbline/core/quantity';
import { checkEntry, compareEntries, isKind, type Entry } from '@ebbline/core/record';
import { coastZone } from '../world/places.ts';
import { workedPatientFalseHigh } from './worked-false-high.ts';
import { workedPatientKnee } from './worked-knee.ts';
import { workedPatientSilentMiss } from './worked-silent-miss.ts';
import { rightBedPatient, workedPatientWrongBed, wrongBedPatient } from './worked-wrong-bed.ts';

const seen = (entries: readonly Entry[], zone = coastZone): readonly string[] =>
  [...entries].sort(compareEntries).flatMap((entry) => {
    const at = clockTime(instantMs(entry.effectiveAt), zone);
    if (isKind(entry, 'reading'))
      return [
        `${at} read ${entry.payload.result === 'at-least' ? 'at least ' : ''}${entry.payload.volumeMl}`,
      ];
    if (isKind(entry, 'void')) return [`${at} passed ${entry.payload.volumeMl ?? 'not measured'}`];
    if (isKind(entry, 'drained')) return [`${at} drained ${entry.payload.volumeMl}`];
    return [];
  });
const accepted = (entries: readonly Entry[]): boolean =>
  entries.every(
    (entry) => !isRefusal(checkEntry(entry, Math.max(...entries.map((one) => instantMs(one.recordedAt))))),
  );

describe('the knee patient', () => {
  it('tells the worked evening to the minute', () => {
    expect(seen(workedPatientKnee())).toEqual([
      '13:10 read 240',
      '15:20 passed 80',
      '15:52 read at least 430',
      '15:56 read 560',
      '16:10 drained 690',
      '19:40 passed 310',
      '19:47 read 60',
    ]);
    expect(accepted(workedPatientKnee())).toBe(true);
  });

  it('has a look due at 14:40, another at 18:55, and the next at 02:30 by choice', () => {
    const due = workedPatientKnee()
      .filter((entry) => isKind(entry, 'step-advised'))
      .map((entry) => clockTime(instantMs(entry.payload.dueAt), coastZone));
    expect(due).toEqual(['13:20', '14:40', '15:25', '15:57', '16:11', '18:55', '19:45', '23:47']);
  });

  it('lets her sleep until 02:30, with a reason', () => {
    const answered = workedPatientKnee()
      .filter((entry) => isKind(entry, 'step-answered'))
      .at(-1);
    expect(answered?.payload.answer).toBe('departed');
    expect(clockTime(instantMs(answered?.payload.nextLookAt as string), coastZone)).toBe('02:30');
  });

  it('stops where it is told to', () => {
    const start = instantMs(
      workedPatientKnee({ day: '2026-05-14' }).find((entry) => entry.kind === 'watch-opened')
        ?.effectiveAt as string,
    );
    expect(seen(workedPatientKnee({ startMs: start, untilMs: start + 325 * 60_000 })).at(-1)).toBe(
      '16:10 drained 690',
    );
  });

  it('counts by instants on the night the clocks go back', () => {
    const due = workedPatientKnee({ day: '2026-10-24', zone: 'Europe/Copenhagen' })
      .filter((entry) => isKind(entry, 'step-answered'))
      .at(-1);
    expect(clockTime(instantMs(due?.payload.nextLookAt as string), 'Europe/Copenhagen')).toBe(
      '02:30 (first)',
    );
  });

  it('can be told in a zone of half hours', () => {
    expect(seen(workedPatientKnee({ zone: 'Asia/Kolkata' }), 'Asia/Kolkata')[0]).toBe('13:10 read 240');
  });
});

describe('the other worked patients', () => {
  it('reads 520, 610 and 585 mL in one look and drains 90', () => {
    const entries = workedPatientFalseHigh();
    expect(seen(entries)).toEqual(['11:02 read 520', '11:04 read 610', '11:06 read 585', '11:20 drained 90']);
    expect(
      new Set(entries.filter((entry) => isKind(entry, 'reading')).map((entry) => entry.payload.look)).size,
    ).toBe(1);
    expect(accepted(entries)).toBe(true);
  });

  it('passes urine twice without a measure and drains 1,180 mL eight hours after the birth', () => {
    const entries = workedPatientSilentMiss();
    expect(seen(entries)).toEqual([
      '09:25 passed not measured',
      '11:40 passed not measured',
      '14:10 drained 1180',
    ]);
    const look = entries.find((entry) => isKind(entry, 'step-advised'));
    expect(
      look && isKind(look, 'step-advised') ? clockTime(instantMs(look.payload.dueAt), coastZone) : '',
    ).toBe('12:10');
    expect(accepted(entries)).toBe(true);
  });

  it('has 45 corrected to 450 and moved to the right patient at 21:10, with the step taken on 45 still there', () => {
    const entries = workedPatientWrongBed();
    const [typed, corrected] = entries.filter((entry) => isKind(entry, 'reading'));
    const moved = entries.find((entry) => isKind(entry, 'moved-to-patient'));
    expect(typed?.payload.volumeMl).toBe(45);
    expect(corrected?.payload.volumeMl).toBe(450);
    expect(corrected?.corrects).toBe(typed?.id);
    expect(moved && isKind(moved, 'moved-to-patient') ? moved.payload : undefined).toMatchObject({
      of: corrected?.id,
      toPatient: rightBedPatient,
    });
    expect(clockTime(instantMs(moved?.effectiveAt as string), coastZone)).toBe('21:10');
    const relied = entries.filter(
      (entry) => isKind(entry, 'step-advised') && entry.payload.becauseOf === typed?.id,
    );
    expect(relied).toHaveLength(1);
    expect(relied[0]?.patient).toBe(wrongBedPatient);
    expect(accepted(entries)).toBe(true);
  });
});
