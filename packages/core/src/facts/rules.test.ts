// Proves     the rules of the fold that no worked patient happens to meet, one by one: the limit, discomfort, drains that
//            failed, totals, corrections, what is due, catheters, the unit's share.
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { minuteMs } from '../quantity/index.ts';
import { defaultSettings } from '../record/index.ts';
import { observationsOf } from './estimate.ts';
import { foldPatient } from './fold.ts';
import { catheterDays, countingInstants } from './catheter.ts';
import { at, passed, read, watched, zone } from './testing/course.ts';
import { advised, maker, type Maker } from './testing/make.ts';
import { unitFigures } from './unit.ts';

const iso = (m: Maker, time: string): string => new Date(m.at(time)).toISOString();

describe('the limit', () => {
  const withLimit = (limitSource: 'prescriber' | 'unit') => {
    const m = watched();
    m.add('08:01', 'context', { topic: 'limit-ml', value: 1000, limitSource });
    return at(m, '08:02');
  };
  it("stays within the unit's bounds, except when the prescriber set it", () => {
    expect(withLimit('unit').limitMl).toBe(800);
    expect(withLimit('prescriber').limitMl).toBe(1000);
  });
});

describe("a unit's own starting figures", () => {
  const m = watched();
  read(m, '08:10', 250);
  const likelyMs = (inflow: number | undefined): number => {
    const ownFigures =
      inflow === undefined ? {} : { ownFigures: { common: { inflowMlPerH: inflow }, bySetting: {} } };
    const { estimate } = at(m, '08:20', ownFigures);
    if ('notValid' in estimate || estimate.crossing.likelyAtMs === undefined) throw new Error('no crossing');
    return estimate.crossing.likelyAtMs;
  };
  it('change when the limit is reached', () => {
    expect(likelyMs(1)).toBe(likelyMs(undefined));
    expect(likelyMs(2)).toBeLessThan(likelyMs(1) - 20 * minuteMs);
  });
});

describe('what the filling room is told', () => {
  it('is that urine in a pad ran out, and that who tried and passed nothing could not', () => {
    const m = watched();
    m.add('09:00', 'void', { how: 'pad-weighed', padG: 120 });
    m.add('09:10', 'void', { how: 'not-measured', size: 'medium' });
    m.add('09:20', 'symptom', { symptom: 'tried-nothing-passed' });
    m.add('09:30', 'symptom', { symptom: 'restless' });
    const told = observationsOf(m.entries, m.at('10:00'));
    expect(told.filter((one) => one.kind === 'void').map((one) => 'intoPad' in one)).toEqual([true, false]);
    expect(told.filter((one) => one.kind === 'covariate').map((one) => one.name)).toEqual([
      'watch-opens',
      'cannot-pass',
    ]);
  });
});

describe('discomfort', () => {
  const says = (...symptoms: readonly ('leaking' | 'urge-cannot-pass' | 'comfortable')[]): Maker => {
    const m = watched();
    for (const [index, symptom] of symptoms.entries()) m.add(`09:0${index}`, 'symptom', { symptom });
    return m;
  };
  it('is not leaking; it ends with the latest word', () => {
    expect(at(says('leaking'), '09:30').discomfort).toBe(false);
    expect(at(says('urge-cannot-pass'), '09:30').discomfort).toBe(true);
    expect(at(says('urge-cannot-pass', 'comfortable'), '09:30').discomfort).toBe(false);
  });
  it('ends with a drain, not with one that failed nor with a bag that was emptied', () => {
    const after = (payload: {
      route: 'in-out' | 'from-catheter';
      difficulty?: 'failed';
      volumeMl?: number;
    }) => {
      const m = says('urge-cannot-pass');
      m.add('09:10', 'drained', payload);
      return at(m, '09:30').discomfort;
    };
    expect(after({ route: 'in-out', volumeMl: 500 })).toBe(false);
    expect(after({ route: 'in-out', difficulty: 'failed' })).toBe(true);
    expect(after({ route: 'from-catheter', volumeMl: 500 })).toBe(true);
  });
});

describe('a drain that failed', () => {
  it('is no drain: it empties nothing, pairs with nothing and stands in no total', () => {
    const m = watched();
    read(m, '09:00', 500);
    m.add('09:10', 'drained', { route: 'in-out', difficulty: 'failed' });
    expect(at(m, '09:30')).toMatchObject({ drains: [], pairs: [], totals: { drainedMl: 0 } });
    expect(at(m, '09:30').lastEmptied).toBeUndefined();
  });
  it('leaves no catheter behind, and the look that was due stays due', () => {
    const m = watched();
    m.add('08:00', 'step-advised', advised('look-again', iso(m, '10:00')));
    m.add('09:10', 'drained', { route: 'left-in', difficulty: 'failed' });
    const facts = at(m, '09:30');
    expect(facts.catheter.inPlace).toBe(false);
    expect(facts.due).toMatchObject([{ kind: 'look', step: 'look-again', dueAtMs: m.at('10:00') }]);
  });
});

describe('the totals', () => {
  it('balance what went in against what was passed, drained and emptied from a bag', () => {
    const m = watched();
    m.add('09:00', 'intake', { volumeMl: 1000, route: 'oral' });
    passed(m, '10:00', 250);
    m.add('11:00', 'drained', { route: 'in-out', volumeMl: 300 });
    m.add('12:00', 'bag-read', { volumeMl: 120, sinceAt: iso(m, '11:00'), emptied: true });
    m.add('13:00', 'bag-read', { volumeMl: 90, sinceAt: iso(m, '12:00'), emptied: false });
    expect(at(m, '14:00').totals).toMatchObject({ intakeMl: 1000, bagMl: 120, balanceMl: 330 });
  });
});

describe('corrections and withdrawals', () => {
  it('leave the later of two corrections of one entry standing, whoever arrives first', () => {
    const m = watched();
    const typed = read(m, '09:00', 4);
    const first = m.add(
      '09:00',
      'reading',
      { result: 'exact', volumeMl: 40, relation: 'no-void', doubts: [] },
      { corrects: typed.id, recordedAt: iso(m, '09:05') },
    );
    m.add(
      '09:00',
      'reading',
      { result: 'exact', volumeMl: 400, relation: 'no-void', doubts: [] },
      { corrects: typed.id, recordedAt: iso(m, '09:06') },
    );
    const facts = at(m, '09:10');
    expect(facts.readings.map((one) => one.volumeMl)).toEqual([400]);
    expect(facts.timeline.find((one) => one.entry.id === first.id)?.standing.state).toBe('corrected');
  });
  it('bring an entry back when its withdrawal was itself withdrawn', () => {
    const m = watched();
    const reading = read(m, '09:00', 400);
    const gone = m.add('09:05', 'withdrawn', { of: reading.id, reason: 'typing' });
    expect(at(m, '09:06').readings).toEqual([]);
    m.add('09:07', 'withdrawn', { of: gone.id, reason: 'typing' });
    expect(at(m, '09:08').readings.map((one) => one.volumeMl)).toEqual([400]);
  });
  it('keep a correction that was written in another record in that record', () => {
    const m = watched();
    const wrong = read(m, '09:00', 400);
    m.add(
      '09:00',
      'reading',
      { result: 'exact', volumeMl: 420, relation: 'no-void', doubts: [] },
      { corrects: wrong.id, patient: 'p-5', recordedAt: iso(m, '09:05') },
    );
    expect(at(m, '09:10').readings).toEqual([]);
    const other = foldPatient({
      patient: 'p-5',
      entries: m.entries,
      nowMs: m.at('09:10'),
      settings: defaultSettings,
      zone,
    });
    expect(other.readings.map((one) => one.volumeMl)).toEqual([420]);
  });
});

describe('a second watch on one bladder', () => {
  it('keeps the first opening, also while the first is paused', () => {
    const m = watched();
    m.add('09:00', 'watch-paused', { reason: 'theatre', backBy: iso(m, '11:00') });
    m.add('09:30', 'watch-opened', { setting: 'stroke-or-rehabilitation', reason: 'y' });
    expect(at(m, '09:31').watch).toMatchObject({
      openedAtMs: m.at('08:00'),
      setting: 'stroke-or-rehabilitation',
      reason: 'x; y',
    });
  });
});

describe('what is due', () => {
  it('is no look while a catheter drains, and a review of it within a day', () => {
    const m = watched();
    m.add('08:00', 'step-advised', advised('look-again', iso(m, '10:00')));
    m.add('09:00', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    expect(at(m, '10:30').due.map((one) => one.kind)).toEqual(['catheter-review']);
    expect(at(m, '10:30').due[0]?.dueAtMs).toBe(m.at('09:00') + 24 * 60 * minuteMs);
  });
  it('is not put to the notice once somebody has said that it was seen', () => {
    const m = watched();
    m.add('08:00', 'step-advised', advised('look-again', iso(m, '10:00')));
    const item = at(m, '10:40').due[0];
    expect(item?.climbed).toBe('notice');
    m.add('10:41', 'overdue-acknowledged', { item: item?.key ?? '' });
    expect(at(m, '10:42').due[0]).toMatchObject({ climbed: 'charge-nurse', acknowledgedBy: 'nurse-kl' });
  });
  it('must be named at handover when it is a call without an answer, overdue or not', () => {
    const m = watched();
    m.add('08:00', 'step-advised', advised('look-again', iso(m, '12:00')));
    const call = m.add('09:00', 'call-made', {
      to: 'Dr Fenn',
      toRole: 'called-clinician',
      ask: 'Please review.',
      replyDueAt: iso(m, '09:30'),
    });
    m.add('09:05', 'ownership-offered', { toPerson: 'nurse-mo', occasion: 'shift' });
    const facts = at(m, '09:10');
    expect(facts.due.every((one) => !one.overdue)).toBe(true);
    expect(facts.offers[0]?.mustName).toEqual([`call-reply:${call.id}`]);
  });
});

describe('a look that another step took over', () => {
  const outcomes = (nextAt: string) => {
    const m = watched();
    m.add('08:00', 'step-advised', advised('look-again', iso(m, '10:00')));
    m.add(nextAt, 'step-advised', advised('look-again', iso(m, '14:00')));
    return at(m, '12:00').pastLooks.map((one) => one.outcome);
  };
  it('is not counted within the grace, and missed after it', () => {
    expect(outcomes('10:05')).toEqual([]);
    expect(outcomes('10:10')).toEqual([]);
    expect(outcomes('10:11')).toEqual(['missed']);
  });
});

describe('what an estimate is made from', () => {
  it('takes urine that left through a catheter for no emptying of a bladder without one', () => {
    const m = watched();
    read(m, '09:00', 400);
    const before = at(m, '09:30').estimate;
    m.add('09:20', 'drained', { route: 'from-catheter', volumeMl: 400 });
    expect(at(m, '09:30').estimate).toEqual(before);
  });
  it('takes an entry that is charted ahead of its clock from its recording on', () => {
    const m = watched();
    m.add(
      '09:04',
      'reading',
      { result: 'exact', volumeMl: 400, relation: 'no-void', doubts: [] },
      { recordedAt: iso(m, '09:02') },
    );
    expect(at(m, '09:03').readings).toHaveLength(1);
    expect(at(m, '09:01').readings).toHaveLength(0);
  });
});

describe('a catheter', () => {
  it('that is clamped does not drain', () => {
    const m = watched();
    m.add('09:00', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    m.add('10:00', 'catheter-status', { status: 'clamped' });
    expect(at(m, '10:01').catheter.status).toBe('clamped');
  });
  it('that came out on the counting hour is not counted then', () => {
    const m = maker();
    m.add('2026-05-14T12:00:00+01:00', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    m.add('2026-05-15T06:00:00+01:00', 'catheter-removed', { reason: 'planned' });
    expect(catheterDays(m.entries, Date.parse('2026-05-16T12:00:00+01:00'), 6, zone)).toBe(0);
  });
  it('is counted once in each night of a clock change', () => {
    for (const [from, to] of [
      ['2026-03-28T12:00:00Z', '2026-03-30T12:00:00Z'],
      ['2026-10-24T12:00:00Z', '2026-10-26T12:00:00Z'],
    ] as const)
      for (const hour of [0, 1, 2, 6, 23])
        expect(
          countingInstants(Date.parse(from), Date.parse(to), hour, zone),
          `${from}, ${hour} h`,
        ).toHaveLength(2);
  });
});

describe("the unit's share of catheters avoided", () => {
  const figures = (drainAt: string, ward = 'six') => {
    const m = maker();
    m.add('06:00', 'patient-registered', {
      familyName: 'X',
      givenName: 'Y',
      ageYears: 60,
      sex: 'male',
      identifierSystem: 's',
      identifierValue: '4',
      ward: 'six',
      bed: '4',
    });
    m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
    read(m, '09:00', 200);
    m.add('10:00', 'watch-closed', { outcome: 'emptying' });
    m.add(drainAt, 'drained', { route: 'in-out', volumeMl: 700 });
    return unitFigures({
      entries: m.entries,
      ward,
      fromMs: m.at('00:00'),
      toMs: m.at('2026-05-17T00:00:00+01:00'),
      settings: defaultSettings,
      zone,
    });
  };
  it('counts a catheter up to 24 hours after the first reading, not later', () => {
    expect(figures('2026-05-15T09:00:00+01:00').paired.cathetersAvoided).toMatchObject({ count: 0, of: 1 });
    expect(figures('2026-05-15T09:01:00+01:00').paired.cathetersAvoided).toMatchObject({ count: 1, of: 1 });
  });
  it('takes no late detection from after the watch was closed', () => {
    expect(figures('2026-05-15T09:00:00+01:00').paired.lateDetections.count).toBe(0);
  });
  it('counts nobody of another ward', () => {
    expect(figures('2026-05-15T09:00:00+01:00', 'seven')).toMatchObject({
      watches: 0,
      readings: 0,
      inOuts: 0,
    });
  });
});
