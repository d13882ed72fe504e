// Proves     answers are marked against what is true, only what was asked counts, and the entry holds what was found.
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import { checkEntry, practiceRecordOf } from '@ebbline/core/record';
import type { OutlineScore } from '@ebbline/imaging';
import type { PracticeTruth } from '@ebbline/simulate';
import { asked, isAnswered, judgementEntry, markJudgement, traceEntry, type Judgement } from './marking.ts';
import { chosenBy, type Chosen } from './choose-exercise.ts';
import { errorWords, planeScoreWords, resultWords } from './words.ts';

const cut: PracticeTruth = {
  bladderThere: true,
  wholeInView: false,
  hidden: 'edge',
  otherFluid: false,
  cutOn: [
    { plane: 1, edge: 'right' },
    { plane: 2, edge: 'deep' },
  ],
};
const empty: PracticeTruth = {
  bladderThere: false,
  wholeInView: false,
  hidden: 'nothing',
  otherFluid: true,
  otherFluidIs: 'cyst',
  otherFluidOn: 2,
  cutOn: [],
};
const chosen = chosenBy(['judge', 'any', '7']) as Chosen;
const marks = (judgement: Judgement, truth: PracticeTruth): Record<string, boolean> =>
  Object.fromEntries(markJudgement(judgement, truth).map((one) => [one.question, one.right]));

describe('the questions', () => {
  it('follow from the answers', () => {
    expect(asked({})).toEqual(['bladder-there', 'other-fluid']);
    expect(asked({ there: true })).toEqual(['bladder-there', 'whole-in-view', 'other-fluid']);
    expect(asked({ there: true, whole: false })).toContain('what-hides');
    expect(asked({ there: false, whole: false })).not.toContain('what-hides');
  });
  it('are all to be answered', () => {
    expect(isAnswered({ there: false })).toBe(false);
    expect(isAnswered({ there: false, otherFluid: true })).toBe(true);
    expect(isAnswered({ there: true, whole: false, otherFluid: true })).toBe(false);
  });
});

describe('marking', () => {
  it('takes right answers for right, wrong for wrong', () => {
    expect(marks({ there: true, whole: false, hides: 'edge', otherFluid: false }, cut)).toEqual({
      'bladder-there': true,
      'whole-in-view': true,
      'what-hides': true,
      'other-fluid': true,
    });
    expect(marks({ there: true, whole: false, hides: 'shadow', otherFluid: true }, cut)).toEqual({
      'bladder-there': true,
      'whole-in-view': true,
      'what-hides': false,
      'other-fluid': false,
    });
    expect(marks({ there: true, whole: true, otherFluid: false }, cut)).toMatchObject({
      'whole-in-view': false,
    });
  });
  it('calls a look-alike taken for the bladder wrong all through', () => {
    expect(marks({ there: true, whole: true, otherFluid: false }, empty)).toEqual({
      'bladder-there': false,
      'whole-in-view': false,
      'other-fluid': false,
    });
    expect(marks({ there: false, otherFluid: true }, empty)).toEqual({
      'bladder-there': true,
      'other-fluid': true,
    });
  });
  it('says what on the pictures shows it', () => {
    const both = markJudgement({ there: true, whole: false, hides: 'shadow', otherFluid: false }, cut);
    expect(both.map((one) => one.shownBy !== '')).toEqual([true, false, true, true]);
    const rows = markJudgement({ there: true, whole: true, otherFluid: false }, cut);
    expect(rows[1]?.shownBy).toBe(
      'The dark runs on to the right edge of plane 2, the lower edge of plane 3, and no wall closes it there.',
    );
    expect(markJudgement({ there: true, whole: true, otherFluid: false }, empty)[0]?.shownBy).toContain(
      'A cyst: round, dark, with a thin wall of its own. It shows best on plane 3.',
    );
  });
  it('keeps what was right and wrong in an entry that the record takes', () => {
    const marked = markJudgement({ there: true, whole: true, otherFluid: false }, cut);
    const payload = judgementEntry(chosen, marked, 311.6);
    expect(payload).toEqual({
      exercise: 'judge',
      level: chosen.level,
      seed: 7,
      trueMl: 312,
      judgedRight: ['bladder-there', 'other-fluid'],
      judgedWrong: ['whole-in-view'],
    });
    const entry = checkEntry(
      {
        id: '0198c0de-0000-7000-8000-000000000001',
        organisation: 'coast',
        patient: practiceRecordOf('kl'),
        kind: 'practised',
        effectiveAt: '2026-05-14T18:30:00Z',
        recordedAt: '2026-05-14T18:30:00Z',
        author: 'kl',
        madeOn: 'tablet',
        payload,
      },
      Date.parse('2026-05-14T18:31:00Z'),
    );
    expect(isRefusal(entry) && entry).toBe(false);
    expect(resultWords(payload)).toBe('2 of 3 right');
  });
  it('keeps an outline with its volume and its distance', () => {
    const score: OutlineScore = {
      outlinedMl: 287.4,
      trueMl: 312.2,
      errorMl: -24.8,
      errorShare: -0.079,
      offMm: 2.44,
      planes: [
        { plane: 0, state: 'missed' },
        { plane: 1, state: 'too-many' },
        { plane: 2, state: 'empty' },
      ],
    };
    const payload = traceEntry(chosenBy(['trace', 'cut', '3']) as Chosen, score, 'from-nothing');
    expect(payload).toMatchObject({
      level: 'cut-by-edge',
      trueMl: 312,
      outlinedMl: 287,
      offMm: 2.4,
      planesMissed: 1,
      planesTooMany: 1,
    });
    expect(resultWords(payload)).toBe('287 mL of 312 mL: 25 mL (8 %) too little, 2.4 mm off');
    expect(planeScoreWords({ plane: 0, state: 'missed' })).toContain('was not outlined');
    expect(errorWords(60, 0)).toBe('60 mL too much');
  });
});
