// Proves     the first three worked patients fold into what the job description wants shown.
// Published  filling 100 to 200 mL/h after surgery: S-clinical-E10. The patients themselves are made up (S-job-8b).
// Tolerance  minutes as printed; per cent to the nearest whole.
import { describe, expect, it } from 'vitest';
import { defaultSettings } from '../record/index.ts';
import { foldPatient } from './fold.ts';
import { advised, maker, type Maker } from './testing/make.ts';
import type { PatientFacts } from './types.ts';

const zone = 'Europe/London';
const settings = { ...defaultSettings, ownLimitHighestMl: 700 };
const iso = (m: Maker, time: string): string => new Date(m.at(time)).toISOString();

function knee(): Maker {
  const m = maker();
  const recovery = { author: 'nurse-da' };
  m.add(
    '13:05',
    'patient-registered',
    {
      familyName: 'Tarn',
      givenName: 'Rosa',
      ageYears: 72,
      sex: 'female',
      identifierSystem: 'urn:quern:mr',
      identifierValue: 'Q-0004',
      ward: 'recovery',
      bed: 'R2',
    },
    recovery,
  );
  m.add(
    '13:05',
    'watch-opened',
    {
      setting: 'after-surgery',
      reason: 'knee replacement, spinal block',
      lastVoidAt: iso(m, '07:30'),
      lastVoidMl: 250,
    },
    recovery,
  );
  m.add('13:06', 'context', { topic: 'own-capacity-ml', value: 620 }, recovery);
  m.add('13:06', 'context', { topic: 'limit-ml', value: 600, limitSource: 'own-capacity' }, recovery);
  const first = m.add(
    '13:10',
    'reading',
    { result: 'exact', volumeMl: 240, relation: 'before-void', doubts: [], scanner: 'scanner-b' },
    recovery,
  );
  m.add('13:10', 'step-advised', advised('look-again', iso(m, '14:40'), first.id), recovery);
  m.add('14:00', 'transferred', { ward: 'six', bed: '4', reason: 'from-recovery' }, recovery);
  const offer = m.add(
    '14:00',
    'ownership-offered',
    { toRole: 'nurse', toWard: 'six', occasion: 'transfer' },
    recovery,
  );
  m.add('14:03', 'ownership-accepted', { offer: offer.id, readBack: 'Look by 14:40, limit 600.' });
  const small = m.add('15:20', 'void', { how: 'measured', volumeMl: 80 });
  m.add('15:20', 'step-advised', advised('measure-residual', iso(m, '15:35'), small.id));
  const cut = m.add('15:52', 'reading', {
    result: 'at-least',
    volumeMl: 430,
    relation: 'after-void',
    doubts: ['cut-below'],
    scanner: 'scanner-b',
  });
  m.add('15:52', 'step-advised', advised('measure-again-now', iso(m, '15:57'), cut.id));
  const good = m.add('15:56', 'reading', {
    result: 'exact',
    volumeMl: 560,
    relation: 'after-void',
    doubts: [],
    scanner: 'scanner-b',
  });
  m.add('15:56', 'step-advised', advised('drain-in-out', iso(m, '16:11'), good.id));
  const drain = m.add('16:10', 'drained', { route: 'in-out', volumeMl: 690, sizeCh: 12 });
  m.add('16:10', 'step-advised', advised('look-again', iso(m, '18:55'), drain.id));
  return m;
}

const at = (m: Maker, time: string): PatientFacts =>
  foldPatient({ patient: 'p-4', entries: m.entries, nowMs: m.at(time), settings, zone });

describe('the worked patient after a knee replacement', () => {
  const m = knee();

  it('is due at 14:40, not overdue before the grace of ten minutes is over, and overdue from 14:50', () => {
    expect(at(m, '14:49').due[0]).toMatchObject({ kind: 'look', dueAtMs: m.at('14:40'), overdue: false });
    expect(at(m, '14:50').due[0]).toMatchObject({ overdue: true, climbed: 'charge-nurse' });
  });

  it('keeps the clock and changes the owner only when the receiving nurse has accepted', () => {
    expect(at(m, '14:02').owner).toEqual({ kind: 'person', person: 'nurse-da' });
    expect(at(m, '14:02').offers[0]?.to).toEqual({ kind: 'role', role: 'nurse', ward: 'six' });
    expect(at(m, '14:03').owner).toEqual({ kind: 'person', person: 'nurse-kl' });
    expect(at(m, '14:03').due[0]?.dueAtMs).toBe(m.at('14:40'));
    expect(at(m, '14:03')).toMatchObject({ ward: 'six', bed: '4' });
  });

  it('does not take 80 mL for emptying', () => {
    expect(at(m, '15:30').sinceEmptiedMin).toBe(480);
    expect(at(m, '15:30').lastEmptied).toMatchObject({ how: 'passed', volumeMl: 80 });
  });

  it('counts the 14:40 look as missed and the residual at 15:52 as 32 minutes after the void, late', () => {
    const facts = at(m, '16:30');
    expect(facts.pastLooks[0]).toMatchObject({ dueAtMs: m.at('14:40'), outcome: 'missed' });
    expect(facts.residuals[0]).toMatchObject({
      sinceVoidMin: 32,
      late: true,
      atLeast: true,
      residualMl: 430,
    });
    expect(facts.readings[1]?.trust).toBe('low-bound-only');
  });

  it('pairs 560 mL read with 690 mL drained 14 minutes later, filling of 23 to 47 mL allowed for: 13 to 16 % low', () => {
    const pair = at(m, '16:30').pairs[0];
    expect(pair).toMatchObject({ readMl: 560, drainedMl: 690, apartMin: 14, readMuchDrainedLittle: false });
    expect([Math.round(pair?.fillingMl.low ?? 0), Math.round(pair?.fillingMl.high ?? 0)]).toEqual([23, 47]);
    expect([
      Math.round(pair?.differencePercent?.low ?? 0),
      Math.round(pair?.differencePercent?.high ?? 0),
    ]).toEqual([-16, -13]);
  });

  it('counts the drain as the late detection and rebuilds about 38 minutes over the limit', () => {
    const late = at(m, '16:30').lateDetections;
    expect(late).toHaveLength(1);
    expect(late[0]).toMatchObject({ volumeMl: 690, limitMl: 600 });
    expect(Math.round(late[0]?.overMin?.likely ?? 0)).toBe(38);
  });

  it('is overdue again at 19:15 and the missed look must be named at handover', () => {
    const offer = m.add('19:10', 'ownership-offered', { toPerson: 'nurse-mo', occasion: 'shift' });
    const facts = at(m, '19:15');
    expect(facts.due[0]).toMatchObject({ protocolDueAtMs: m.at('18:55'), overdue: true });
    expect(facts.due[0]?.dueAtMs).toBeLessThanOrEqual(m.at('18:55'));
    expect(facts.due[0]?.broughtForward !== undefined).toBe((facts.due[0]?.dueAtMs ?? 0) < m.at('18:55'));
    expect(facts.offers.find((one) => one.id === offer.id)?.mustName).toEqual([facts.due[0]?.key]);
    expect(facts.owner).toEqual({ kind: 'person', person: 'nurse-kl' });
  });

  it('forecasts the crossing of 600 mL from the 240 mL reading no later than plain arithmetic does', () => {
    const facts = at(m, '13:11');
    if ('notValid' in facts.estimate) throw new Error('expected an estimate');
    const earliest = facts.estimate.crossing.earliestAtMs ?? Number.NaN;
    expect(earliest).toBeLessThanOrEqual(m.at('14:58'));
    expect(earliest).toBeGreaterThan(m.at('14:15'));
  });
});

describe('the worked patient whose reading is falsely high', () => {
  it('reads 585 with 520 and 610 beside it, drains 90, and says so', () => {
    const m = maker();
    m.add('10:00', 'watch-opened', { setting: 'stroke-or-rehabilitation', reason: 'restless' });
    m.add('10:05', 'reading', { result: 'exact', volumeMl: 520, relation: 'no-void', doubts: [] });
    m.add('10:07', 'reading', { result: 'exact', volumeMl: 610, relation: 'no-void', doubts: [] });
    m.add('10:09', 'reading', { result: 'exact', volumeMl: 585, relation: 'no-void', doubts: [] });
    m.add('10:20', 'drained', { route: 'in-out', volumeMl: 90 });
    const pair = at(m, '10:21').pairs[0];
    expect(pair).toMatchObject({
      readMl: 585,
      drainedMl: 90,
      besideMl: [520, 610],
      readMuchDrainedLittle: true,
    });
  });
});

describe('the worked patient who is missed in silence', () => {
  const m = maker();
  m.add('06:00', 'watch-opened', {
    setting: 'after-birth',
    reason: 'vaginal birth, epidural',
    lastVoidAt: iso(m, '06:00'),
  });
  m.add('06:00', 'step-advised', advised('look-again', iso(m, '12:00')));
  m.add('08:00', 'void', { how: 'not-measured' });
  m.add('11:00', 'void', { how: 'not-measured' });

  it('keeps the clock running through voids that nobody measured', () => {
    expect(at(m, '12:30').sinceEmptiedMin).toBe(390);
    expect(at(m, '12:30').due[0]).toMatchObject({ overdue: true });
    expect(at(m, '12:30').totals.unmeasuredVoids).toBe(2);
  });

  it('counts 1,180 mL drained at eight hours as a late detection', () => {
    m.add('14:00', 'drained', { route: 'in-out', volumeMl: 1180 });
    expect(at(m, '14:01').lateDetections[0]).toMatchObject({ volumeMl: 1180 });
  });
});

describe('the forecast and the due time', () => {
  it("[H3-forward] brings a look forward when the limit may be reached long before the protocol's time, and never puts one back", () => {
    const m = maker();
    m.add('10:00', 'watch-opened', { setting: 'after-surgery', reason: 'hip' });
    const reading = m.add('10:05', 'reading', {
      result: 'exact',
      volumeMl: 380,
      relation: 'before-void',
      doubts: [],
    });
    m.add('10:05', 'step-advised', advised('look-again', iso(m, '13:05'), reading.id));
    const item = at(m, '10:06').due[0];
    expect(item?.protocolDueAtMs).toBe(m.at('13:05'));
    expect(item?.dueAtMs).toBeLessThan(m.at('11:30'));
    expect(item?.broughtForward?.fromMs).toBe(m.at('13:05'));
    const low = maker();
    low.add('10:00', 'watch-opened', { setting: 'stroke-or-rehabilitation', reason: 'stroke' });
    const small = low.add('10:05', 'reading', {
      result: 'exact',
      volumeMl: 40,
      relation: 'after-void',
      doubts: [],
    });
    low.add('10:05', 'step-advised', advised('look-again', iso(low, '10:35'), small.id));
    expect(at(low, '10:06').due[0]).toMatchObject({ dueAtMs: low.at('10:35') });
  });

  it('[H3-overdue] says so in every minute after the grace, until somebody has looked', () => {
    const m = maker();
    m.add('10:00', 'watch-opened', { setting: 'after-birth', reason: 'birth' });
    m.add('10:00', 'step-advised', advised('look-again', iso(m, '11:00')));
    for (let minute = 0; minute < 180; minute += 1) {
      const facts = foldPatient({
        patient: 'p-4',
        entries: m.entries,
        nowMs: m.at('11:10') + minute * 60_000,
        settings,
        zone,
      });
      expect(facts.due[0]?.overdue, `${minute} minutes after the grace`).toBe(true);
    }
    expect(at(m, '11:26').due[0]?.climbed).toBe('notice');
  });
});

describe('a clock-change night', () => {
  it('keeps due times by instants when the clock goes back, and shows the repeated hour as first and second', () => {
    const m = maker('p-4', '2026-10-25', '+01:00');
    m.add('2026-10-25T00:30:00+01:00', 'watch-opened', { setting: 'after-surgery', reason: 'hip' });
    const reading = m.add('2026-10-25T00:40:00+01:00', 'reading', {
      result: 'exact',
      volumeMl: 100,
      relation: 'no-void',
      doubts: [],
    });
    m.add(
      '2026-10-25T00:40:00+01:00',
      'step-advised',
      advised('look-again', '2026-10-25T01:10:00+00:00', reading.id),
    );
    const nowMs = Date.parse('2026-10-25T01:15:00+01:00');
    const facts = foldPatient({ patient: 'p-4', entries: m.entries, nowMs, settings, zone });
    expect(facts.due[0]?.overdue).toBe(false);
    expect((facts.due[0]?.dueAtMs ?? 0) - nowMs).toBe(55 * 60_000);
  });
});
