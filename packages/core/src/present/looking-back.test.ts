// Proves     looking back is one sentence with its times, hours and mL·h, or says why no time can be said; and its "why?"
//            lists the entries of the stretch.
// Tolerance  exact words
import { describe, expect, it } from 'vitest';
import { at, zone } from '../facts/testing/course.ts';
import { lookBackSentence, whyLookBack } from './index.ts';
import { backOf, filled } from '../facts/testing/found-over.ts';

describe('in words', () => {
  const m = filled();
  const facts = at(m, '15:00');
  const back = backOf(facts);

  it('one sentence says since when, between when and when, for how long and by how much', () => {
    expect(lookBackSentence(back, facts.nowMs, zone)).toMatch(
      /^Probably over the limit from about \d\d:\d\d \(between \d\d:\d\d and \d\d:\d\d\), (\d\.\d h|\d\d min) and [\d,]+ mL·h above it\.$/,
    );
  });

  it('says "so far" while it has not been emptied', () => {
    const now = at(m, '12:45');
    expect(lookBackSentence(backOf(now), now.nowMs, zone)).toMatch(/mL·h above it so far\.$/);
  });

  it('says nothing that could reassure as long as it has not been emptied', () => {
    const now = at(m, '12:45');
    for (const doubtful of [
      { ...backOf(now), overShare: 0.2 },
      { ...backOf(now), unexplainedShare: 0.9 },
    ])
      expect(lookBackSentence(doubtful, now.nowMs, zone)).toBe(
        'Since when it was over the limit can’t be said yet; go by the 640 mL read.',
      );
  });

  it('does not say a time when most of the courses were never over, or nothing explains the number', () => {
    const doubtful = { ...back, overShare: 0.3 };
    expect(lookBackSentence(doubtful, facts.nowMs, zone)).toBe(
      'Perhaps it was never over the limit: about 3 in 10 that it was, with 640 mL read and what else is charted.',
    );
    for (const unfit of [
      { ...back, unexplainedShare: 0.8 },
      { ...doubtful, foundBy: 'drained' as const },
    ])
      expect(lookBackSentence(unfit, facts.nowMs, zone)).toMatch(
        /so it can’t be said since when it was over the limit\. By plain sum 140 mL above it take 0\.7 to 1\.4 h to run in\.$/,
      );
  });

  it('why? lists the entries of the stretch and after it, the share of courses, and the straight line beside it', () => {
    const why = whyLookBack(back, facts, zone);
    expect(why.rows.map((row) => row.time)).toEqual(['12:50', '12:30', '10:00', '08:10', '08:00']);
    const sum = why.sum.join(' ');
    expect(sum).toContain('640 mL were read at 12:30, over their limit of 500 mL.');
    expect(sum).toMatch(/Of \d,\d{3} courses that fit, (\d\d in 100|nearly all) were over the limit then/);
    expect(sum).toContain('By one straight line from the last known volume it was over for about');
    expect(sum).toContain('for learning, not for blame');
  });
});
