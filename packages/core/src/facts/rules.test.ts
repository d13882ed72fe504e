// Proves     the rules of the fold that no worked patient happens to meet, one by one: what counts as a residual, a pair,
//            a late detection, a duplicate, a look in time, an emptied bladder, discomfort, the limit, the unit's share.
// Published  bladder capacity at a void is what was passed and what stayed (S-clinical-D2); voiding efficiency 250 and 50 mL
//            83.3 %, 0 and 400 mL 0 %, 300 and 0 mL 100 %, 0 and 0 not defined; its complement the residual ratio 16.7 %
//            (S-clinical-D3, S-clinical-D4); a residual after 10 min of filling of 2 mL a minute is 20 mL too high
//            (S-clinical-D7)
// Tolerance  half the last printed digit where a number is published, else exact
import { describe, expect, it } from 'vitest';
import { minuteMs } from '../quantity/index.ts';
import { defaultSettings, type UnitSettings } from '../record/index.ts';
import { foldPatient } from './fold.ts';
import { catheterDays, countingInstants } from './catheter.ts';
import { advised, maker, type Maker } from './testing/make.ts';
import type { PatientFacts } from './types.ts';
import { unitFigures } from './unit.ts';
import { voidingEfficiencyPercent } from './volumes.ts';

const zone = 'Europe/London';
const iso = (m: Maker, time: string): string => new Date(m.at(time)).toISOString();
const at = (m: Maker, time: string, change: Partial<UnitSettings> = {}): PatientFacts =>
  foldPatient({
    patient: 'p-4',
    entries: m.entries,
    nowMs: m.at(time),
    settings: { ...defaultSettings, ...change },
    zone,
  });
const watched = (from = '08:00'): Maker => {
  const m = maker();
  m.add(from, 'watch-opened', { setting: 'after-surgery', reason: 'x' });
  return m;
};
const read = (m: Maker, time: string, volumeMl: number, more: object = {}) =>
  m.add(time, 'reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [], ...more });
const passed = (m: Maker, time: string, volumeMl: number) =>
  m.add(time, 'void', { how: 'measured', volumeMl });

describe('voiding efficiency', () => {
  it.each([
    [250, 50, 83.3],
    [0, 400, 0],
    [300, 0, 100],
  ])('of %i mL passed with %i mL left is %d %%', (passedMl, leftMl, percent) => {
    expect(Math.abs((voidingEfficiencyPercent(passedMl, leftMl) ?? Number.NaN) - percent)).toBeLessThan(0.05);
  });
  it('is not a number when nothing was passed and nothing is left', () => {
    expect(voidingEfficiencyPercent(0, 0)).toBeUndefined();
  });
  it('leaves 16.7 % for the residual of 50 mL in 300 mL', () => {
    expect(Math.abs(100 - (voidingEfficiencyPercent(250, 50) ?? Number.NaN) - 16.7)).toBeLessThan(0.05);
  });
  it('is not worked out for a residual of which only a low bound was seen', () => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, '09:05', 50, { relation: 'after-void', result: 'at-least' });
    expect(at(m, '09:06').residuals[0]).toMatchObject({ atLeast: true, voidedMl: 250 });
    expect(at(m, '09:06').residuals[0]).not.toHaveProperty('voidingEfficiencyPercent');
  });
});

describe('a residual', () => {
  it('of 60 mL after ten minutes of filling by 2 mL a minute is carried back to 40 mL', () => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, '09:10', 60, { relation: 'after-void' });
    const residual = at(m, '09:11', {
      residualWithinMin: 5,
      plainRateLowMlPerH: 120,
      plainRateHighMlPerH: 120,
    }).residuals[0];
    expect(residual?.late).toBe(true);
    expect(residual?.carriedBackMl?.low).toBeCloseTo(40, 9);
    expect(residual?.carriedBackMl?.high).toBeCloseTo(40, 9);
  });
  it('is in time at the very end of the time allowed, and late one minute after', () => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, '09:15', 60, { relation: 'after-void' });
    read(m, '09:16', 60, { relation: 'after-void' });
    expect(at(m, '09:20').residuals.map((one) => one.late)).toEqual([false, true]);
  });
  it('does not follow a void from before the bladder was drained', () => {
    const m = watched();
    passed(m, '09:00', 250);
    m.add('09:20', 'drained', { route: 'in-out', volumeMl: 300 });
    read(m, '09:30', 20, { relation: 'after-void' });
    expect(at(m, '09:31').residuals[0]).not.toHaveProperty('voidId');
    expect(at(m, '09:31').residuals[0]).not.toHaveProperty('sinceVoidMin');
  });
  it.each([
    ['in time', '09:05', {}, 1],
    ['late', '09:40', {}, 0],
    ['a low bound', '09:05', { result: 'at-least' }, 0],
  ] as const)("under the unit's line that is %s counts %4$i in a row", (_name, time, more, inARow) => {
    const m = watched();
    passed(m, '09:00', 250);
    read(m, time, 60, { relation: 'after-void', ...more });
    expect(at(m, '09:45').lowResidualsInARow).toBe(inARow);
  });
});

describe('a pair of reading and drained volume', () => {
  it('is not made over a void between the two', () => {
    const m = watched();
    read(m, '09:00', 500);
    passed(m, '09:05', 200);
    m.add('09:10', 'drained', { route: 'in-out', volumeMl: 300 });
    expect(at(m, '09:11').pairs).toEqual([]);
  });
  it('is not made over another drain between the two', () => {
    const m = watched();
    read(m, '09:00', 500);
    m.add('09:05', 'drained', { route: 'in-out', volumeMl: 400 });
    m.add('09:10', 'drained', { route: 'in-out', volumeMl: 30 });
    expect(at(m, '09:11').pairs.map((one) => one.drainedMl)).toEqual([400]);
  });
  it.each([
    ['09:30', 1],
    ['09:31', 0],
  ] as const)('with the reading at 09:00 and the drain at %s is %i', (time, count) => {
    const m = watched();
    read(m, '09:00', 500);
    m.add(time, 'drained', { route: 'in-out', volumeMl: 480 });
    expect(at(m, '10:00').pairs).toHaveLength(count);
  });
});

describe('two readings that may be one', () => {
  const two = (more: object, author = 'nurse-mo', volumeMl = 303): PatientFacts => {
    const m = watched();
    read(m, '09:00', 300, { scanner: 's-1' });
    m.add(
      '09:03',
      'reading',
      { result: 'exact', volumeMl, relation: 'no-void', doubts: [], scanner: 's-1', ...more },
      { author },
    );
    return at(m, '09:04');
  };
  it('are pointed out when two people charted them with one scanner', () => {
    expect(two({}).possibleDuplicates).toHaveLength(1);
  });
  it('are two when one person made both, when the scanners differ, or the volumes do', () => {
    expect(two({}, 'nurse-kl').possibleDuplicates).toEqual([]);
    expect(two({ scanner: 's-2' }).possibleDuplicates).toEqual([]);
    expect(two({}, 'nurse-mo', 306).possibleDuplicates).toEqual([]);
  });
});

describe('a late detection', () => {
  it('is a volume over the limit, not one on it', () => {
    const m = watched();
    read(m, '09:00', 500);
    expect(at(m, '09:01').lateDetections).toEqual([]);
    read(m, '09:30', 501);
    expect(at(m, '09:31').lateDetections).toMatchObject([{ volumeMl: 501, limitMl: 500 }]);
  });
  it('is not made of a reading that is not to be relied on', () => {
    const m = watched();
    read(m, '09:00', 700, { doubts: ['second-fluid'] });
    expect(at(m, '09:01').readings[0]?.trust).toBe('unreliable');
    expect(at(m, '09:01').lateDetections).toEqual([]);
  });
  it('is not rebuilt from a low bound: nobody knows how much more there was', () => {
    const m = watched();
    read(m, '09:00', 100, { result: 'at-least' });
    read(m, '12:00', 600);
    expect(at(m, '12:01').lateDetections[0]).not.toHaveProperty('overMin');
  });
  it('is rebuilt at constant filling: from 300 mL to 600 mL in 3 h, over 500 mL for the last hour', () => {
    const m = watched();
    read(m, '09:00', 300);
    read(m, '12:00', 600);
    expect(at(m, '12:01').lateDetections[0]?.overMin?.likely).toBeCloseTo(60, 6);
  });
  it('comes once until the bladder was drained', () => {
    const m = watched();
    read(m, '09:00', 600);
    read(m, '10:00', 650);
    m.add('10:10', 'drained', { route: 'in-out', volumeMl: 660 });
    read(m, '14:00', 620);
    expect(at(m, '14:01').lateDetections.map((one) => one.volumeMl)).toEqual([600, 620]);
  });
});

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

describe('repeats of one look', () => {
  it('count as one reading, their mean, and not as the last or largest: 310, 340, 280 are 310 mL (S-clinical2-M6)', () => {
    const content = (...volumes: readonly number[]) => {
      const m = watched();
      for (const volumeMl of volumes) read(m, '09:00', volumeMl, { look: 'K1' });
      const { estimate } = at(m, '09:00');
      if ('notValid' in estimate) throw new Error('expected an estimate');
      return estimate.content.p50Ml;
    };
    expect(content(310, 340, 280)).toBeCloseTo(content(310), 6);
    expect(content(280, 310, 340)).toBeCloseTo(content(310), 6);
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
