// Proves     what the board, the timeline, the cautions and the handover put first, leave out or strike through.
// Published  none: words are ours; which cautions there are is S-clinical-Q4 to Q14
// Tolerance  exact words
import { describe, expect, it } from 'vitest';
import { defaultSettings } from '../record/index.ts';
import { foldPatient, wardFactsOf, type PatientFacts } from '../facts/index.ts';
import { advised, maker, type Maker } from '../facts/testing/make.ts';
import {
  boardRowOf,
  cautionsFor,
  clockOrDay,
  duration,
  forecastSentence,
  handoverSheetOf,
  pairSentence,
  residualSentence,
  sbarOf,
  timelineRows,
} from './index.ts';

const zone = 'Europe/London';
const at = (m: Maker, time: string): PatientFacts =>
  foldPatient({ patient: 'p-4', entries: m.entries, nowMs: m.at(time), settings: defaultSettings, zone });
const iso = (m: Maker, time: string): string => new Date(m.at(time)).toISOString();

function watched(birth: { ageYears?: number; birthDate?: string } = { ageYears: 72 }): Maker {
  const m = maker();
  m.add('08:00', 'patient-registered', {
    familyName: 'Tarn',
    givenName: 'Rosa',
    ...birth,
    sex: 'female',
    identifierSystem: 's',
    identifierValue: '4',
    ward: 'six',
    bed: '4',
  });
  m.add('08:00', 'watch-opened', { setting: 'after-surgery', reason: 'x' });
  return m;
}
const read = (m: Maker, time: string, volumeMl: number, more: object = {}) =>
  m.add(time, 'reading', { result: 'exact', volumeMl, relation: 'no-void', doubts: [], ...more });

describe('times in words', () => {
  it('carry the day when it is another one', () => {
    const nowMs = Date.parse('2026-05-14T12:00:00+01:00');
    expect(clockOrDay(Date.parse('2026-05-14T18:30:00+01:00'), nowMs, zone)).toBe('18:30');
    expect(clockOrDay(Date.parse('2026-05-15T01:30:00+01:00'), nowMs, zone)).toBe('15 May 01:30');
  });
  it.each([
    [59.6, '1 h'],
    [130, '2 h 10 min'],
    [2879, '47 h 59 min'],
    [2880, '2 days'],
  ])('%d minutes are %s', (minutes, words) => {
    expect(duration(minutes)).toBe(words);
  });
});

describe('a row of the board', () => {
  it('is led by the item that was due first, an open call like any other', () => {
    const m = watched();
    m.add('08:00', 'step-advised', advised('look-again', iso(m, '09:55')));
    m.add('09:00', 'call-made', {
      to: 'the registrar',
      toRole: 'called-clinician',
      ask: 'Review now?',
      replyDueAt: iso(m, '09:50'),
    });
    expect(boardRowOf(at(m, '10:01'), zone)).toMatchObject({
      group: 'now',
      mark: 'call',
      dueWords: 'no reply, 1 h 1 min',
    });
    expect(boardRowOf(at(m, '09:40'), zone)).toMatchObject({ group: 'within-the-hour', mark: 'call' });
  });
  it('shows a low bound as one, and a band again once the bladder was emptied', () => {
    const m = watched();
    read(m, '09:00', 430, { result: 'at-least', doubts: ['cut-below'] });
    expect(boardRowOf(at(m, '09:10'), zone).bar).toEqual({
      kind: 'at-least',
      lowMl: 430,
      words: 'at least 430',
    });
    m.add('09:20', 'drained', { route: 'in-out', volumeMl: 600 });
    expect(boardRowOf(at(m, '09:30'), zone).bar.kind).toBe('band');
  });
  it('has the age in whole years: the next one from the birthday on, in the zone of the ward', () => {
    const m = watched({ birthDate: '2008-05-15' });
    expect(boardRowOf(at(m, '23:59'), zone).age).toBe('17');
    expect(boardRowOf(at(m, '2026-05-15T00:00:00+01:00'), zone).age).toBe('18');
  });
});

describe('the sentence of the forecast', () => {
  it('says of 900 mL that it is probably over the limit already', () => {
    const m = watched();
    read(m, '09:00', 900);
    expect(forecastSentence(at(m, '09:01'), zone)).toBe('It is probably over her limit of 500 mL already.');
  });
  it('is about the catheter while one drains, and about the bladder again when it is blocked', () => {
    const m = watched();
    m.add('09:00', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    expect(forecastSentence(at(m, '09:01'), zone)).toContain('A catheter drains this bladder.');
    m.add('10:00', 'catheter-status', { status: 'blocked' });
    expect(forecastSentence(at(m, '10:01'), zone)).not.toContain('A catheter drains this bladder.');
  });
});

describe('a pair in words', () => {
  const pair = {
    readingId: 'a',
    drainId: 'b',
    apartMin: 10,
    readAtLeast: false,
    fillingMl: { low: 0, high: 0 },
    besideMl: [],
    operator: 'x',
    readMuchDrainedLittle: false,
  } as never as Parameters<typeof pairSentence>[0];
  it.each([
    [560, 690, { low: -19, high: -17 }, 'it read 17 to 19 % low'],
    [690, 560, { low: 23, high: 25 }, 'it read 23 to 25 % high'],
    [560, 560, { low: -1, high: 1 }, 'they agree within the filling between them'],
  ] as const)('of %i mL read and %i mL drained says so', (readMl, drainedMl, differencePercent, words) => {
    expect(pairSentence({ ...pair, readMl, drainedMl, differencePercent })).toContain(words);
  });
});

describe('a late residual in words', () => {
  it('is carried back when it was seen whole', () => {
    const m = watched();
    m.add('09:00', 'void', { how: 'measured', volumeMl: 250 });
    read(m, '09:30', 120, { relation: 'after-void' });
    // 30 min at 100 to 200 mL/h are 50 to 100 mL.
    expect(residualSentence(at(m, '09:31').residuals[0] as never)).toBe(
      'Residual 120 mL, 30 min after the void: late. Carried back to the void: about 45 mL (0 to 95 mL). The reading itself stands.',
    );
  });
});

describe('the timeline', () => {
  it('says of an entry that it was written down half an hour late, not of one that was 29 minutes late', () => {
    const m = watched();
    for (const [time, recorded] of [
      ['09:00', '09:29'],
      ['10:00', '10:30'],
    ] as const)
      m.add(
        time,
        'reading',
        { result: 'exact', volumeMl: 100, relation: 'no-void', doubts: [] },
        { recordedAt: iso(m, recorded) },
      );
    const remarks = timelineRows(at(m, '11:00'), zone).map((row) => row.remark);
    expect(remarks.filter((one) => one.includes('Written down'))).toEqual(['Written down 30 min later.']);
  });
  it('strikes through what was corrected and what was withdrawn', () => {
    const m = watched();
    const wrong = read(m, '09:00', 45);
    m.add(
      '09:00',
      'reading',
      { result: 'exact', volumeMl: 450, relation: 'no-void', doubts: [] },
      { corrects: wrong.id, recordedAt: iso(m, '09:05') },
    );
    const twice = read(m, '10:00', 450);
    m.add('10:05', 'withdrawn', { of: twice.id, reason: 'duplicate' });
    expect(
      timelineRows(at(m, '11:00'), zone)
        .filter((row) => row.volume !== '')
        .map((row) => [row.volume, row.setAside, row.standing.state]),
    ).toEqual([
      ['45', true, 'corrected'],
      ['450', false, 'live'],
      ['450', true, 'withdrawn'],
    ]);
  });
});

describe('the cautions of a patient', () => {
  it('stand with the urgent ones first', () => {
    const m = watched();
    m.add('08:01', 'caution', { caution: 'prolapse', present: true });
    m.add('08:01', 'caution', { caution: 'stricture', present: true });
    expect(cautionsFor(at(m, '08:02')).map((one) => [one.sourceId, one.urgent])).toEqual([
      ['S-clinical-Q14', true],
      ['S-clinical-Q11', false],
    ]);
  });
  it.each([
    [749, false],
    [750, true],
  ])('after %i mL drained ask for hourly output: %s', (volumeMl, asked) => {
    const m = watched();
    m.add('09:00', 'drained', { route: 'in-out', volumeMl });
    expect(cautionsFor(at(m, '09:01')).some((one) => one.sourceId === 'S-clinical-Q10')).toBe(asked);
  });
});

describe('handing over', () => {
  const m = watched();
  m.add('08:00', 'step-advised', advised('look-again', iso(m, '12:00')));
  m.add('08:30', 'red-flag', { flag: 'fever-or-rigors' });
  m.add('09:00', 'call-made', {
    to: 'the registrar',
    toRole: 'called-clinician',
    ask: 'Review now?',
    replyDueAt: iso(m, '09:30'),
  });
  const facts = at(m, '09:10');
  it('names an open call even while its answer is not yet late', () => {
    const sheet = handoverSheetOf(wardFactsOf('six', facts.nowMs, [facts]), zone);
    expect(sheet.entries[0]?.mustName).toEqual(['an open call, answer due 09:30']);
    expect([sheet.itemsOnSheet, sheet.itemsInRecord]).toEqual([2, 2]);
  });
  it('says a red flag in the situation', () => {
    expect(sbarOf(facts, zone).situation).toMatch(/fever|rigors/i);
  });
  it('counts the days of the catheter that is in, the day of placing being the first', () => {
    // Placed on a Monday is day 1, Wednesday is day 3 (S-clinical-I4). An earlier catheter does not count.
    const n = watched();
    n.add('2026-05-01T09:00:00+01:00', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    n.add('2026-05-08T09:00:00+01:00', 'catheter-removed', { reason: 'planned' });
    n.add('2026-05-18T23:30:00+01:00', 'catheter-placed', { route: 'urethral', reason: 'surgery' });
    for (const [time, day] of [
      ['2026-05-18T23:59:00+01:00', 1],
      ['2026-05-19T00:00:00+01:00', 2],
      ['2026-05-20T12:00:00+01:00', 3],
    ] as const)
      expect(sbarOf(at(n, time), zone).assessment, time).toContain(`Catheter day ${day},`);
  });
});
