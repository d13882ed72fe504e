// Proves     what is recorded at the bedside leads to the protocol's step through the facts, for the worked patients; and
//            an entry that keeps the answer folds back into a due item.
// Published  rows quote their own sources; the patients are made up (S-job-8b).
import { describe, expect, it } from 'vitest';
import { foldPatient, wardFactsOf } from '@ebbline/core/facts';
import { defaultSettings, type Entry, type EntryKind, type PayloadOf } from '@ebbline/core/record';
import { instantMs, instantOfMs, isRefusal, minuteMs, orThrow, uuidV7 } from '@ebbline/core/quantity';
import { adviseFrom, advicePayload, protocolInputOf, triggerOf } from './from-facts.ts';
import { starterFor } from './starters.ts';

const zone = 'Europe/London';
const settings = { ...defaultSettings, ownLimitHighestMl: 700 };

function ward(day = '2026-05-14') {
  const entries: Entry[] = [];
  const record = <Kind extends EntryKind>(time: string, kind: Kind, payload: PayloadOf<Kind>) => {
    const effectiveAt = `${day}T${time}:00+01:00`;
    const entry = {
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
    } as unknown as Entry;
    entries.push(entry);
    const trigger = triggerOf(kind, payload);
    if (trigger === undefined) return undefined;
    const facts = foldPatient({ patient: 'p', entries, nowMs: instantMs(effectiveAt), settings, zone });
    const advice = adviseFrom(facts, trigger, zone);
    if (!isRefusal(advice)) {
      entries.push({
        ...entry,
        id: uuidV7(instantMs(effectiveAt), [entries.length, 9, 2, 3, 4, 5, 6, 7, 8, 9]),
        kind: 'step-advised',
        payload: advicePayload(advice, effectiveAt, entry.id),
      } as Entry);
    }
    return advice;
  };
  const facts = (time: string) =>
    foldPatient({ patient: 'p', entries, nowMs: instantMs(`${day}T${time}:00+01:00`), settings, zone });
  const person = (ageYears: number | undefined, sex: 'female' | 'male') =>
    record('00:01', 'patient-registered', {
      familyName: 'A',
      givenName: 'B',
      ...(ageYears === undefined ? {} : { ageYears }),
      sex,
      identifierSystem: 's',
      identifierValue: '1',
      ward: 'six',
      bed: '4',
    });
  return { record, facts, person, entries };
}

describe('the worked patient after a knee replacement', () => {
  const { record, facts, person } = ward();
  person(72, 'female');
  record('13:05', 'context', { topic: 'own-capacity-ml', value: 620 });
  record('13:05', 'context', { topic: 'limit-ml', value: 600, limitSource: 'own-capacity' });
  record('13:05', 'watch-opened', {
    setting: 'after-surgery',
    reason: 'knee replacement, spinal block',
    lastVoidAt: '2026-05-14T07:30:00+01:00',
    lastVoidMl: 250,
  });

  it('is looked at again in 90 minutes after 240 mL: due 14:40, row AS-31', () => {
    const advice = orThrow(
      record('13:10', 'reading', { result: 'exact', volumeMl: 240, relation: 'before-void', doubts: [] }) ??
        (undefined as never),
    );
    expect(advice).toMatchObject({
      step: 'look-again',
      dueInMin: 90,
      row: { id: 'AS-31' },
      protocol: { approval: 'example-not-approved' },
    });
    expect(facts('13:11').due[0]).toMatchObject({
      protocolDueAtMs: instantMs('2026-05-14T14:40:00+01:00'),
      row: { id: 'AS-31', approved: false },
    });
  });
  it('is measured for a residual after passing 80 mL', () => {
    expect(record('15:20', 'void', { how: 'measured', volumeMl: 80 })).toMatchObject({
      step: 'measure-residual',
    });
  });
  it('is measured again at once when only a low bound of 430 mL was seen', () => {
    expect(
      record('15:52', 'reading', {
        result: 'at-least',
        volumeMl: 430,
        relation: 'after-void',
        doubts: ['cut-below'],
      }),
    ).toMatchObject({ step: 'measure-again-now' });
  });
  it("is drained at 560 mL, the limit of 600 mL being within the reading's error", () => {
    expect(
      record('15:56', 'reading', { result: 'exact', volumeMl: 560, relation: 'after-void', doubts: [] }),
    ).toMatchObject({ step: 'drain-in-out', row: { id: 'AS-19' } });
  });
  it('is looked at again by 18:55 after 690 mL were drained at 16:10', () => {
    expect(record('16:10', 'drained', { route: 'in-out', volumeMl: 690 })).toMatchObject({
      step: 'look-again',
      dueInMin: 165,
    });
    expect(facts('16:11').due[0]?.protocolDueAtMs).toBe(instantMs('2026-05-14T18:55:00+01:00'));
  });
  it('passes 310 mL and keeps 60: pass 1 of 2', () => {
    record('19:40', 'void', { how: 'measured', volumeMl: 310 });
    expect(
      record('19:47', 'reading', { result: 'exact', volumeMl: 60, relation: 'after-void', doubts: [] }),
    ).toMatchObject({ step: 'look-again', row: { id: 'AS-35' } });
    expect(facts('19:48').lowResidualsInARow).toBe(1);
  });
});

describe('the worked patient whose reading is falsely high', () => {
  it('is not drained again on the number after 585 mL read and 90 mL drained', () => {
    const { record, person } = ward();
    person(78, 'female');
    record('10:00', 'watch-opened', { setting: 'stroke-or-rehabilitation', reason: 'restless' });
    for (const [time, volumeMl] of [
      ['10:05', 520],
      ['10:07', 610],
      ['10:09', 585],
    ] as const)
      record(time, 'reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [] });
    expect(record('10:20', 'drained', { route: 'in-out', volumeMl: 90 })).toMatchObject({
      step: 'check-catheter',
    });
    const again = record('10:40', 'reading', {
      result: 'exact',
      volumeMl: 600,
      relation: 'no-void',
      doubts: [],
    });
    expect(again).toMatchObject({ step: 'call-clinician' });
  });
});

describe('a patient whose catheter could not be passed', () => {
  it.each(['after-surgery', 'catheter-removed', 'after-birth', 'stroke-or-rehabilitation'] as const)(
    'with 800 mL read, setting %s, is not told that the bladder was drained',
    (setting) => {
      const { record, facts, person } = ward();
      person(60, 'male');
      record('09:00', 'watch-opened', { setting, reason: 'x' });
      record('10:00', 'reading', { result: 'exact', volumeMl: 800, relation: 'no-void', doubts: [] });
      expect(record('10:10', 'drained', { route: 'in-out', difficulty: 'failed' })).toMatchObject({
        step: 'measure-again-now',
        dueInMin: 5,
      });
      expect(facts('10:11').due[0]?.dueAtMs).toBe(instantMs('2026-05-14T10:15:00+01:00'));
    },
  );
});

describe('a patient with ascites', () => {
  it('has a person decide on a reading, and after a drain of 700 mL is looked at again, not told that little drained', () => {
    const { record, person } = ward();
    person(66, 'male');
    record('09:00', 'caution', { caution: 'ascites', present: true });
    expect(record('09:05', 'watch-opened', { setting: 'after-surgery', reason: 'hernia' })).toMatchObject({
      step: 'call-clinician',
      row: { id: 'AS-24' },
    });
    expect(
      record('10:00', 'reading', { result: 'exact', volumeMl: 650, relation: 'no-void', doubts: [] }),
    ).toMatchObject({ step: 'call-clinician', row: { id: 'AS-12' } });
    expect(record('10:30', 'drained', { route: 'in-out', volumeMl: 700 })).toMatchObject({
      step: 'look-again',
      row: { id: 'AS-39' },
    });
    expect(record('12:00', 'void', { how: 'measured', volumeMl: 200 })).toMatchObject({
      step: 'ask-and-examine',
      row: { id: 'AS-25' },
    });
  });
});

describe('the worked patient who is missed in silence', () => {
  it('stays due through voids that nobody measured, and is overdue at six hours', () => {
    const { record, facts, person } = ward();
    person(31, 'female');
    record('06:00', 'watch-opened', {
      setting: 'after-birth',
      reason: 'vaginal birth, epidural',
      lastVoidAt: '2026-05-14T06:00:00+01:00',
    });
    record('08:00', 'void', { how: 'not-measured' });
    record('11:00', 'void', { how: 'not-measured' });
    const six = facts('12:00');
    expect(six.due.length).toBeGreaterThan(0);
    expect(six.due[0]?.dueAtMs).toBeLessThanOrEqual(instantMs('2026-05-14T12:00:00+01:00'));
    expect(facts('12:15').due[0]?.overdue).toBe(true);
  });
});

describe('a watch and its protocol', () => {
  const start = () => {
    const { record, person, facts } = ward();
    person(60, 'male');
    record('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    return { record, facts };
  };
  it('[H6-version] keeps the version of its first step, and says so when the unit has another by now', () => {
    const { facts } = start();
    const now = starterFor('after-surgery');
    if (!now) throw new Error('no starter');
    expect(facts('10:01').watch.protocol).toEqual({ id: now.id, version: now.version });
    expect(adviseFrom(facts('10:01'), 'time', zone, { ...now, version: now.version + 1 })).toMatchObject({
      code: 'protocol/other-version',
    });
    expect(adviseFrom(facts('10:01'), 'time', zone, now)).toMatchObject({ step: expect.any(String) });
  });
  it('gives the same step when the same facts are asked again', () => {
    const { facts } = start();
    expect(adviseFrom(facts('10:01'), 'time', zone)).toEqual(adviseFrom(facts('10:01'), 'time', zone));
  });
});

describe('the board of a ward with the silent patient', () => {
  it('has her in its first row from six hours on, before everybody who is due later', () => {
    const silent = ward();
    silent.person(31, 'female');
    silent.record('06:00', 'watch-opened', {
      setting: 'after-birth',
      reason: 'vaginal birth, epidural',
      lastVoidAt: '2026-05-14T06:00:00+01:00',
    });
    silent.record('08:00', 'void', { how: 'not-measured' });
    silent.record('11:00', 'void', { how: 'not-measured' });
    const other = ward();
    other.person(60, 'male');
    other.record('11:30', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    other.record('11:40', 'reading', { result: 'exact', volumeMl: 120, relation: 'no-void', doubts: [] });
    for (const time of ['12:00', '13:00', '14:00']) {
      const rows = wardFactsOf('six', silent.facts(time).nowMs, [
        { ...other.facts(time), patient: 'other' },
        silent.facts(time),
      ]).patients;
      expect(rows[0]?.watch.setting, time).toBe('after-birth');
    }
  });
});

describe('a question that cannot be put', () => {
  it('is refused without an age, since adult rows never answer a child', () => {
    const { record, person } = ward();
    person(undefined, 'male');
    expect(record('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' })).toMatchObject({
      code: 'protocol/no-age',
    });
  });
  it('is refused for a child', () => {
    const { record, person } = ward();
    person(7, 'male');
    expect(record('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' })).toMatchObject({
      code: 'protocol/adults-only',
    });
  });
  it('gives an entry that is due later than it was made', () => {
    const { record, person } = ward();
    person(60, 'male');
    const advice = orThrow(
      record('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' }) ?? (undefined as never),
    );
    const payload = advicePayload(advice, instantOfMs(0));
    expect(instantMs(payload.dueAt)).toBe(advice.dueInMin * minuteMs);
    expect(payload).not.toHaveProperty('noLaterThanAt');
  });
  it('keeps the end of the range that a row gives', () => {
    const { record, person } = ward();
    person(60, 'male');
    const advice = orThrow(
      record('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' }) ?? (undefined as never),
    );
    const payload = advicePayload({ ...advice, noLaterThanMin: 240 }, instantOfMs(0));
    expect(instantMs(payload.noLaterThanAt ?? '')).toBe(240 * minuteMs);
  });
});

describe('own capacity', () => {
  it('is put to the protocol as measured, and as a limit within the bounds of the unit (S-clinical-E7)', () => {
    const { record, facts, person } = ward();
    person(70, 'female');
    record('11:50', 'watch-opened', { setting: 'after-surgery', reason: 'knee' } as never);
    const asked = (): unknown => orThrow(protocolInputOf(facts('12:30'), 'time', zone));
    expect(asked()).toMatchObject({ limitMl: settings.unitLimitMl });
    expect(asked()).not.toHaveProperty('ownCapacityMl');
    record('12:00', 'context', { topic: 'own-capacity-ml', value: 950 } as never);
    expect(asked()).toMatchObject({ ownCapacityMl: 950, limitMl: 700 });
  });
});
