// Proves     sentences carry their numbers with mL, never claim what is not known, and the handover sheet names every open item.
// Published  none: words are ours; the numbers come from the facts, which are proved in facts/.
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
  labels,
  lateDetectionSentence,
  nextStepSentence,
  pairSentence,
  readingMeaning,
  residualSentence,
  sbarOf,
  timelineRows,
  volumeWords,
  whole,
} from './index.ts';
import * as words from '../record/words.ts';

const zone = 'Europe/London';
const at = (m: Maker, time: string): PatientFacts =>
  foldPatient({
    patient: 'p-4',
    entries: m.entries,
    nowMs: m.at(time),
    // Words are tried here, not the forecast: at this tolerance it brings no look of these patients forward.
    settings: { ...defaultSettings, ownLimitHighestMl: 700, overLimitTolerance: 0.2 },
    zone,
  });
const iso = (m: Maker, time: string): string => new Date(m.at(time)).toISOString();

function surgical(): Maker {
  const m = maker();
  m.add('13:00', 'patient-registered', {
    familyName: 'Tarn',
    givenName: 'Rosa',
    ageYears: 72,
    sex: 'female',
    identifierSystem: 's',
    identifierValue: '4',
    ward: 'six',
    bed: '4',
  });
  m.add('13:00', 'context', { topic: 'limit-ml', value: 600, limitSource: 'prescriber' });
  m.add('13:05', 'watch-opened', { setting: 'after-surgery', reason: 'knee replacement' });
  return m;
}

/** Every figure that is followed by a volume word must carry its unit. */
const volumesWithoutUnit = (text: string): readonly string[] =>
  text.match(
    /\b(?:read|drained|passed|holds about|limit of|residual|at least)\s+[\d,]+(?!\s*(?:mL|to|\d|,|%| min))/gi,
  ) ?? [];

describe('sentences about the forecast', () => {
  it('say between when and when, against her own limit', () => {
    const m = surgical();
    m.add('13:10', 'reading', { result: 'exact', volumeMl: 240, relation: 'before-void', doubts: [] });
    expect(forecastSentence(at(m, '13:11'), zone)).toMatch(
      /^It may reach her limit of 600 mL between 14:\d\d and \d\d:\d\d, most likely about 1[4-6]:\d\d\.$/,
    );
  });
  it('say that little is known, and that this does not mean empty, before any entry', () => {
    expect(forecastSentence(at(surgical(), '13:06'), zone)).toContain('does not mean empty');
  });
  it('give no number under ascites or irrigation', () => {
    const m = surgical();
    m.add('13:06', 'caution', { caution: 'ascites', present: true });
    m.add('13:10', 'reading', { result: 'exact', volumeMl: 240, relation: 'before-void', doubts: [] });
    expect(forecastSentence(at(m, '13:11'), zone)).toBe(labels.notValid['ascites']);
    expect(boardRowOf(at(m, '13:11'), zone).bar).toEqual({
      kind: 'not-known',
      words: 'do not rely on readings',
    });
  });
});

describe('the live meaning of a number being typed', () => {
  const facts = at(surgical(), '13:06');
  const meaning = (
    volumeMl: number,
    result: 'exact' | 'at-least' = 'exact',
    doubts: readonly words.Doubt[] = [],
  ) => readingMeaning({ volumeMl, result, doubts, atMs: facts.nowMs }, facts, zone).join(' ');
  it('is at most two sentences of figures and words', () => {
    for (const volumeMl of [0, 40, 240, 430, 560, 600, 640, 900])
      expect(
        readingMeaning({ volumeMl, result: 'exact', doubts: [], atMs: facts.nowMs }, facts, zone).length,
      ).toBeLessThanOrEqual(2);
  });
  it('says of a low bound under the limit that it could already be over', () => {
    expect(meaning(430, 'at-least', ['cut-below'])).toBe(
      'At least 430 mL: part of the bladder was not seen. It could already be over 600 mL, so the doubt matters: measure again now, aiming lower.',
    );
  });
  it('says of 560 mL that the error leaves it open, and of 240 mL when it gets there', () => {
    expect(meaning(560)).toContain('in 10 that it is on the other side');
    expect(meaning(240)).toContain('At 100 to 200 mL an hour it gets there between');
  });
  it('says nothing in favour of a number when a second fluid is seen', () => {
    expect(meaning(640, 'exact', ['second-fluid'])).toContain('Do not act on 640 mL alone.');
  });
});

describe('volumes', () => {
  it('are written "at least" when part was not seen, and never with a sign', () => {
    expect(volumeWords({ result: 'at-least', volumeMl: 412 })).toBe('at least 412 mL');
    expect(volumeWords({ result: 'not-obtained' })).toBe('not obtained');
    expect(whole(1180)).toBe('1,180');
  });
});

describe('the worked patient in words', () => {
  const m = surgical();
  m.add('13:10', 'reading', { result: 'exact', volumeMl: 240, relation: 'before-void', doubts: [] });
  m.add('13:10', 'step-advised', advised('look-again', iso(m, '14:40')));
  m.add('15:20', 'void', { how: 'measured', volumeMl: 80 });
  m.add('15:52', 'reading', {
    result: 'at-least',
    volumeMl: 430,
    relation: 'after-void',
    doubts: ['cut-below'],
  });
  m.add('15:56', 'reading', { result: 'exact', volumeMl: 560, relation: 'after-void', doubts: [] });
  m.add('16:10', 'drained', { route: 'in-out', volumeMl: 690 });
  m.add('16:10', 'step-advised', advised('look-again', iso(m, '18:55')));
  m.add('18:12', 'call-made', {
    to: 'the registrar',
    toRole: 'called-clinician',
    ask: 'Review now?',
    replyDueAt: iso(m, '18:27'),
  });
  const facts = at(m, '19:15');

  it('reads 13 to 16 % low', () => {
    expect(pairSentence(facts.pairs[0] as never)).toContain(
      'filling of 23 to 47 mL allowed for: it read 13 to 16 % low',
    );
  });
  it('was over for about 38 minutes, known afterwards', () => {
    expect(lateDetectionSentence(facts.lateDetections[0] as never, zone)).toMatch(
      /over for about 38 min \(\d+ to \d+\)/,
    );
  });
  it('had a residual 32 minutes after the void: late', () => {
    expect(residualSentence(facts.residuals[0] as never)).toBe(
      'Residual at least 430 mL, 32 min after the void: late.',
    );
  });
  it('gives an SBAR whose every volume carries mL and which takes a minute and a quarter to read aloud', () => {
    const sbar = sbarOf(facts, zone);
    const all = Object.values(sbar).join(' ');
    expect(volumesWithoutUnit(all)).toEqual([]);
    // At 2.5 words a second (common practice) 190 words are 76 s.
    expect(all.split(/\s+/).length).toBeLessThan(190);
    expect(sbar.request).toContain('Overdue by 20 min');
  });
  it('puts every open item of the ward on the handover sheet', () => {
    const sheet = handoverSheetOf(wardFactsOf('six', facts.nowMs, [facts]), zone);
    expect(sheet.itemsOnSheet).toBe(sheet.itemsInRecord);
    expect(sheet.itemsOnSheet).toBe(2);
    expect(sheet.entries[0]?.mustName).toHaveLength(2);
  });
  it('leads the board row with the item that is overdue, in words and not in colour', () => {
    const row = boardRowOf(facts, zone);
    expect(row.group).toBe('now');
    expect(row.mark).toBe('call');
    expect(row.dueWords).toBe('no reply, 1 h 3 min');
  });
  it('keeps a corrected number visible, set aside', () => {
    const wrong = m.add('19:40', 'reading', {
      result: 'exact',
      volumeMl: 45,
      relation: 'after-void',
      doubts: [],
    });
    m.add(
      '19:40',
      'reading',
      { result: 'exact', volumeMl: 450, relation: 'after-void', doubts: [] },
      { corrects: wrong.id, recordedAt: '2026-05-14T19:50:00+01:00' },
    );
    const rows = timelineRows(at(m, '19:55'), zone).filter(
      (row) => row.what.startsWith('Reading') && row.time === '19:40',
    );
    expect(rows.map((row) => [row.volume, row.setAside])).toEqual([
      ['45', true],
      ['450', false],
    ]);
  });
  it('says with which coefficient a volume was worked out from three diameters', () => {
    const n = surgical();
    n.add('13:20', 'reading', {
      result: 'exact',
      volumeMl: 291,
      relation: 'no-void',
      doubts: [],
      method: 'calipers',
      coefficient: 0.52,
      coefficientSource: 'S-clinical-A11',
      widthMm: 100,
      heightMm: 80,
      depthMm: 70,
    });
    expect(timelineRows(at(n, '13:21'), zone).find((row) => row.volume === '291')?.remark).toBe(
      'From three diameters, 100 by 80 by 70 mm, coefficient 0.52.',
    );
  });
  it('says by when, and why, for each due item', () => {
    expect(facts.due.map((item) => nextStepSentence(item, facts, zone))).toEqual([
      'the registrar was called at 18:12, no answer in 1 h 3 min. Call the next on the ladder.',
      expect.stringMatching(/^Look again by 18:55\. It (may|could) .+ 600 mL/),
    ]);
  });
});

describe('cautions', () => {
  it('[H10-flags] puts a red flag and discomfort before everything else, whatever the number says', () => {
    const m = surgical();
    m.add('13:10', 'reading', { result: 'exact', volumeMl: 60, relation: 'after-void', doubts: [] });
    m.add('13:11', 'red-flag', { flag: 'new-leg-weakness' });
    m.add('13:12', 'symptom', { symptom: 'lower-belly-pain' });
    const sentences = cautionsFor(at(m, '13:13'));
    expect(sentences.slice(0, 2).every((one) => one.urgent)).toBe(true);
    expect(sentences.some((one) => one.sourceId === 'S-clinical-Q5')).toBe(true);
    expect(sentences.some((one) => one.sourceId === 'S-clinical-Q4' && one.urgent)).toBe(true);
  });
  it('never says that a condition is excluded, normal or safe', () => {
    const every = JSON.stringify(labels);
    expect(every).not.toMatch(/\b(normal|safe|excluded|all clear)\b/i);
  });
});

describe('labels', () => {
  it('exist for every closed word that a screen shows', () => {
    for (const [list, map] of [
      [words.steps, labels.steps],
      [words.settings, labels.settings],
      [words.roles, labels.roles],
      [words.doubts, labels.doubts],
      [words.redFlags, labels.redFlags],
      [words.cautions, labels.cautions],
      [words.voidKinds, labels.voidKinds],
      [words.catheterReasons, labels.catheterReasons],
      [words.symptoms, labels.symptoms],
      [words.pauseReasons, labels.pauseReasons],
      [words.openReasons, labels.openReasons],
      [words.watchOutcomes, labels.watchOutcomes],
    ] as const)
      for (const word of list) expect((map as Readonly<Record<string, string>>)[word], word).toBeTruthy();
  });
});

describe('times', () => {
  it('name the day when it is not today, and give durations in words', () => {
    const nowMs = Date.parse('2026-05-14T18:30:00+01:00');
    expect(clockOrDay(nowMs, nowMs, zone)).toBe('18:30');
    expect(clockOrDay(nowMs + 12 * 3_600_000, nowMs, zone)).toBe('15 May 06:30');
    expect([duration(25), duration(130), duration(60), duration(3 * 1440)]).toEqual([
      '25 min',
      '2 h 10 min',
      '1 h',
      '3 days',
    ]);
  });
});
