// Proves     what is asked of a protocol, input by input: the facts of a watch become the question that its rows are
//            written for, at every line where an answer turns.
// Published  none: the dictionary is ours; over 75 is S-clinical-E14, child under 18 is common practice
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { foldPatient } from '@ebbline/core/facts';
import { instantMs, orThrow, uuidV7 } from '@ebbline/core/quantity';
import {
  defaultSettings,
  type Entry,
  type EntryKind,
  type PayloadOf,
  type UnitSettings,
} from '@ebbline/core/record';
import type { ProtocolInput, Trigger } from './dictionary.ts';
import { protocolInputOf } from './from-facts.ts';

const zone = 'Europe/London';

function patient(person: { ageYears?: number; birthDate?: string } = { ageYears: 60 }) {
  const entries: Entry[] = [];
  const add = <Kind extends EntryKind>(time: string, kind: Kind, payload: PayloadOf<Kind>): void => {
    const effectiveAt = `2026-05-14T${time}:00+01:00`;
    entries.push({
      id: uuidV7(instantMs(effectiveAt), [entries.length, 1, 2, 3, 4, 5, 6, 7, 8, 9]),
      organisation: 'o',
      patient: 'p',
      kind,
      effectiveAt,
      timeQuality: 'exact',
      recordedAt: effectiveAt,
      author: 'kl',
      madeOn: 't',
      payload,
    } as unknown as Entry);
  };
  add('05:00', 'patient-registered', {
    familyName: 'A',
    givenName: 'B',
    ...person,
    sex: 'male',
    identifierSystem: 's',
    identifierValue: '1',
    ward: 'six',
    bed: '4',
  });
  const open = (time = '08:00'): void => add(time, 'watch-opened', { setting: 'after-surgery', reason: 'x' });
  const read = (time: string, volumeMl: number, more: object = {}): void =>
    add(time, 'reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [], ...more });
  const ask = (time: string, trigger: Trigger, change: Partial<UnitSettings> = {}): ProtocolInput =>
    orThrow(
      protocolInputOf(
        foldPatient({
          patient: 'p',
          entries,
          nowMs: instantMs(`2026-05-14T${time}:00+01:00`),
          settings: { ...defaultSettings, ...change },
          zone,
        }),
        trigger,
        zone,
      ),
    );
  return { add, open, read, ask };
}

describe('the age band', () => {
  it.each([
    [17, 'child'],
    [18, 'adult'],
    [75, 'adult'],
    [76, 'over-75'],
  ] as const)('at %i years is %s', (ageYears, band) => {
    const { open, ask } = patient({ ageYears });
    open();
    expect(ask('08:00', 'watch-opened').ageBand).toBe(band);
  });
  it.each([
    ['2008-05-14', 'adult'],
    ['2008-05-15', 'child'],
  ] as const)('of a birth on %s is %s on 14 May 2026', (birthDate, band) => {
    const { open, ask } = patient({ birthDate });
    open();
    expect(ask('08:00', 'watch-opened').ageBand).toBe(band);
  });
});

describe('danger and refusal', () => {
  it('put the gravest of several signs', () => {
    const { add, open, ask } = patient();
    open();
    add('08:10', 'red-flag', { flag: 'anuria-or-high-potassium' });
    add('08:11', 'red-flag', { flag: 'new-leg-weakness' });
    add('08:12', 'red-flag', { flag: 'trauma' });
    expect(ask('08:15', 'symptom').redFlag).toBe('new-leg-weakness');
  });
  it('keep a refused catheter before the protocol, and let it go when consent is given', () => {
    const { add, open, ask } = patient();
    open();
    add('08:10', 'consent', { to: 'catheter', answer: 'declined' });
    expect(ask('08:15', 'symptom').doNotDrain).toBe('refusal');
    add('08:20', 'consent', { to: 'catheter', answer: 'given' });
    expect(ask('08:25', 'symptom').doNotDrain).toBe('none');
  });
});

describe('over the limit', () => {
  it.each([
    [499, {}, 'possible'],
    [500, {}, 'yes'],
    [200, {}, 'no'],
    [200, { result: 'at-least' }, 'possible'],
    [200, { doubts: ['cut-below'] }, 'possible'],
  ] as const)('by a reading of %i mL %o is %s', (volumeMl, more, answer) => {
    const { open, read, ask } = patient();
    open();
    read('09:00', volumeMl, more);
    expect(ask('09:00', 'reading').overLimit).toBe(answer);
  });
  it('is no after a drain, whatever was read before', () => {
    const { add, open, read, ask } = patient();
    open();
    read('09:00', 900);
    add('09:10', 'drained', { route: 'in-out', volumeMl: 880 });
    expect(ask('09:10', 'drained').overLimit).toBe('no');
  });
  it("goes by the estimate at other times, between the unit's two chances", () => {
    const { open, read, ask } = patient();
    open();
    read('09:00', 480);
    expect(ask('09:00', 'time', { tossUpLow: 0.01, tossUpHigh: 0.99 }).overLimit).toBe('possible');
    expect(ask('09:00', 'time', { tossUpLow: 0.001, tossUpHigh: 0.01 }).overLimit).toBe('yes');
    expect(ask('09:00', 'time', { tossUpLow: 0.98, tossUpHigh: 0.99 }).overLimit).toBe('no');
  });
});

describe('what has happened on this watch', () => {
  it('counts from its opening, voids that were measured, drains that were not from a bag', () => {
    const { add, open, read, ask } = patient();
    read('06:00', 100);
    add('06:30', 'void', { how: 'measured', volumeMl: 200 });
    add('06:45', 'drained', { route: 'in-out', volumeMl: 100 });
    open('08:00');
    read('09:00', 200);
    add('09:10', 'void', { how: 'measured', volumeMl: 180 });
    add('09:20', 'void', { how: 'not-measured' });
    add('09:30', 'drained', { route: 'in-out', volumeMl: 90 });
    add('09:40', 'drained', { route: 'from-catheter', volumeMl: 90 });
    expect(ask('10:00', 'time')).toMatchObject({ looksSoFar: 1, voidsSoFar: 1, drainsSoFar: 1 });
  });
  it('forgets a void once the bladder was drained after it', () => {
    const { add, open, ask } = patient();
    open();
    add('09:00', 'void', { how: 'measured', volumeMl: 180 });
    expect(ask('09:10', 'time')).toMatchObject({ voidedMl: 180, sinceVoidMin: 10 });
    add('09:30', 'drained', { route: 'in-out', volumeMl: 90 });
    const asked = ask('09:40', 'time');
    expect([asked.voidedMl, asked.sinceVoidMin, asked.sinceEmptiedMin]).toEqual([undefined, undefined, 10]);
  });
  it('takes the opening for the last emptying when none is known', () => {
    const { open, ask } = patient();
    open();
    expect(ask('10:30', 'time').sinceEmptiedMin).toBe(150);
  });
  it("has the hour of the ward's own clock", () => {
    const { open, ask } = patient();
    open();
    expect(ask('23:30', 'time').hourOfDay).toBe(23);
  });
});

describe('a void trial by backfill', () => {
  it('is asked with what was put in until something is passed, then with the share of it', () => {
    const { add, open, ask } = patient();
    add('07:50', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    open();
    add('09:00', 'instilled', { volumeMl: 300 });
    expect(ask('09:00', 'time')).toMatchObject({ catheterInPlace: true, instilledMl: 300 });
    add('09:05', 'catheter-removed', { reason: 'void-trial' });
    expect(ask('09:05', 'catheter-removed')).toMatchObject({ catheterInPlace: false, instilledMl: 300 });
    add('09:20', 'void', { how: 'measured', volumeMl: 210 });
    const asked = ask('09:21', 'void');
    expect(asked).toMatchObject({ voidedMl: 210, voidedOfInstilledPercent: 70 });
    expect(asked).not.toHaveProperty('instilledMl');
  });
  it('knows no share once a void was not measured, and none above ten times', () => {
    const { add, open, ask } = patient();
    open();
    add('09:00', 'instilled', { volumeMl: 20 });
    add('09:20', 'void', { how: 'measured', volumeMl: 400 });
    expect(ask('09:21', 'void').voidedOfInstilledPercent).toBe(1000);
    add('09:30', 'void', { how: 'not-measured' });
    const asked = ask('09:31', 'void');
    expect([asked.voidedOfInstilledPercent, asked.instilledMl]).toEqual([undefined, undefined]);
  });
});
