// Proves     a reading near the limit says what another one would bring, until it is repeated, stale or emptied after; and
//            the same stands where it is typed. "Why?" carries the figures.
// Tolerance  exact words
import { describe, expect, it } from 'vitest';
import { openReading } from '../facts/index.ts';
import { at, passed, read, watched, zone } from '../facts/testing/course.ts';
import type { Maker } from '../facts/testing/make.ts';
import { anotherReadingSentence, readingMeaning, whyAnotherReading } from './index.ts';

function near(volumeMl = 470): Maker {
  const m = watched('08:00');
  m.add('08:01', 'context', { topic: 'limit-ml', value: 500, limitSource: 'prescriber' });
  read(m, '10:00', volumeMl);
  return m;
}
const sentenceAt = (m: Maker, time: string): string | undefined => {
  const open = openReading(at(m, time));
  return open && anotherReadingSentence(open);
};

describe('a reading near the limit', () => {
  it('says how often another one would settle it, by whom, and how long that takes', () => {
    expect(sentenceAt(near(), '10:05')).toMatch(
      /^Another reading by you would settle it (less than 1 time|\d times?) in 10, by somebody else \d times in 10; it takes 2 minutes\.$/,
    );
  });

  it('says so only while it stands alone and is fresh', () => {
    expect(sentenceAt(near(), '10:31')).toBeUndefined();
    const repeated = near();
    read(repeated, '10:03', 480);
    expect(sentenceAt(repeated, '10:05')).toBeUndefined();
    const passedSince = near();
    passed(passedSince, '10:04', 200);
    expect(sentenceAt(passedSince, '10:05')).toBeUndefined();
    expect(sentenceAt(near(300), '10:05')).toBeUndefined();
    const cut = watched('08:00');
    read(cut, '10:00', 470, { result: 'at-least', doubts: ['cut-below'] });
    expect(sentenceAt(cut, '10:05')).toBeUndefined();
  });

  it('is said in the same words where the number is typed', () => {
    const m = near(200);
    const facts = at(m, '12:00');
    const said = readingMeaning(
      { volumeMl: 470, result: 'exact', doubts: [], atMs: facts.nowMs },
      facts,
      zone,
    );
    expect(said).toHaveLength(2);
    expect(said[1]).toBe(sentenceAt(near(), '10:05'));
  });

  it('goes by what the unit says that a repeat shares', () => {
    const m = near();
    const unit = (repeatSharedShare: number) => {
      const open = openReading(at(m, '10:05', { repeatSharedShare, repeatSharedByOtherShare: 0 }));
      return open && anotherReadingSentence(open);
    };
    expect(unit(1)).toMatch(
      /^Another reading by you would settle it less than 1 time in 10, by somebody else/,
    );
    expect(unit(0)).toMatch(/^Another reading would settle it \d times in 10; it takes 2 minutes\.$/);
  });

  it('why? gives the error, both repeats and what they share', () => {
    const facts = at(near(), '10:05');
    const open = openReading(facts);
    if (open === undefined) throw new Error('no toss-up');
    const { rows, sum } = whyAnotherReading(open, facts, zone, undefined, open.entryId);
    expect(rows.map((row) => [row.time, row.volume])).toEqual([['10:00', '470']]);
    expect(sum.join(' ')).toMatch(/470 mL lie 30 mL from their limit of 500 mL\./);
    expect(sum.join(' ')).toMatch(
      /by the same person: settled \d+ in 100, on the other side \d+ in 100; the chance of acting on the wrong side falls from \d+ in 100 to \d+ in 100\./,
    );
    expect(sum.join(' ')).toContain('70 % by the same person, 40 % by somebody else');
  });
});
