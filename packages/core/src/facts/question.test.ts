// Proves     what does not add up is asked about before it is kept, by its sum, and what the record explains is not
// Published  650 mL ten minutes after draining 500 mL needs 3,900 mL an hour: arithmetic of the job map's story 8.
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { defaultSettings, type Entry, type UnitSettings } from '../record/index.ts';
import { passed, read, watched, zone } from './testing/course.ts';
import { liveEntries } from './fold.ts';
import { clockDoubt, questionOf, type Question } from './question.ts';
import { resolveEntries } from './resolve.ts';
import type { Maker } from './testing/make.ts';

/** What is asked when the last entry of a course is about to be saved. */
function asked(m: Maker, change: Partial<UnitSettings> = {}, entries = m.entries): Question | undefined {
  const live = (some: readonly Entry[]) => liveEntries(resolveEntries(some), 'p-4', Number.POSITIVE_INFINITY);
  const last = entries.at(-1) as Entry;
  return questionOf({
    before: live(entries.slice(0, -1)),
    after: live(entries),
    fresh: new Set([last.id]),
    settings: { ...defaultSettings, ...change },
    zone,
  });
}
const followed = (): Maker => {
  const m = watched('08:00');
  read(m, '08:05', 200);
  read(m, '09:05', 290);
  read(m, '10:05', 380);
  return m;
};

describe('the question before a save', () => {
  it('names the exact sum for 650 mL ten minutes after 500 mL was drained [H4-digits]', () => {
    const m = watched();
    m.add('16:10', 'drained', { route: 'in-out', volumeMl: 500 });
    read(m, '16:20', 650);
    const question = asked(m);
    expect(question?.because).toBe('mass-balance');
    expect(question?.sum).toMatch(/650 mL/);
    expect(question?.check).toContain('last drain');
    expect(`${question?.sum} ${question?.check}`).not.toMatch(/\b(65|560|65\.0) mL/);
  });

  it('is not asked for 650 mL four hours later, nor again for a sum that failed before', () => {
    const m = watched();
    m.add('16:10', 'drained', { route: 'in-out', volumeMl: 500 });
    read(m, '20:10', 650);
    expect(asked(m)).toBeUndefined();
    const odd = watched();
    odd.add('16:10', 'drained', { route: 'in-out', volumeMl: 500 });
    read(odd, '16:20', 650);
    read(odd, '16:40', 660);
    expect(asked(odd)?.because).not.toBe('mass-balance');
  });

  it('is asked for a digit too many, with the range that everything else leads to [H4-digits]', () => {
    const many = followed();
    passed(many, '10:35', 3800);
    const question = asked(many);
    expect(question).toMatchObject({
      because: 'slip',
      check: 'Check the number. If it stands, far more was held than anybody saw.',
    });
    expect(question?.sum).toMatch(
      /^3800 mL passed; everything else leads to \d+ to \d+ mL\. A digit too many\?$/,
    );
    expect(`${question?.sum} ${question?.check}`).not.toContain('380 mL');
  });

  it('is not asked where the record explains the volume, and the less often the higher the unit sets it', () => {
    const m = followed();
    passed(m, '10:35', 400);
    expect(asked(m)).toBeUndefined();
    expect(asked(m, { questionFrom: 0 })?.because).toBe('slip');
    const odd = followed();
    passed(odd, '10:35', 3800);
    expect(asked(odd)?.because).toBe('slip');
    expect(asked(odd, { questionFrom: 1 })).toBeUndefined();
  });

  it('shows the volumes before it as what stands behind it', () => {
    const m = followed();
    passed(m, '10:35', 3800);
    expect(asked(m)).toMatchObject({ fromMs: m.at('08:05'), toMs: m.at('10:35') });
  });

  it('is asked for a volume charted already, but not for a repeat of the same look', () => {
    const m = followed();
    passed(m, '10:35', 310);
    passed(m, '10:37', 310);
    expect(asked(m)).toMatchObject({
      because: 'charted-again',
      sum: '310 mL is charted already, 2 min apart. The same one twice?',
    });
    const repeated = followed();
    read(repeated, '10:35', 403, { look: 'one' });
    read(repeated, '10:35', 403, { look: 'one' });
    expect(asked(repeated)).toBeUndefined();
  });

  it('holds a correction neither against what it corrects nor against itself', () => {
    const m = followed();
    const wrong = passed(m, '10:35', 41);
    m.add('10:35', 'void', { how: 'measured', volumeMl: 410 }, { corrects: wrong.id });
    expect(asked(m)).toBeUndefined();
    const same = followed();
    const first = passed(same, '10:35', 410);
    same.add('10:36', 'void', { how: 'measured', volumeMl: 410 }, { corrects: first.id });
    expect(asked(same)).toBeUndefined();
  });

  it('takes no slip of the keys for what a device or images gave', () => {
    const later = (source: 'typed' | 'device' | 'images'): Question | undefined => {
      const m = followed();
      read(m, '14:05', 2600, { source });
      return asked(m);
    };
    expect(later('typed')?.sum).toContain('A digit too many?');
    for (const source of ['device', 'images'] as const) expect(later(source)?.sum ?? '').not.toMatch(/digit/);
  });

  it('asks nothing by the model where there is no valid estimate', () => {
    const m = followed();
    m.add('10:10', 'caution', { caution: 'neobladder', present: true });
    passed(m, '10:35', 3800);
    expect(asked(m)).toBeUndefined();
  });

  it('asks nothing of an entry that is no volume', () => {
    const m = followed();
    m.add('10:35', 'symptom', { symptom: 'restless' });
    expect(asked(m, { questionFrom: 0 })).toBeUndefined();
  });
});

describe('a clock that is doubted', () => {
  it('is one ahead of the record, or of a device an hour behind it', () => {
    const minute = 60_000;
    const doubt = (minutes: number, byDevice: boolean) =>
      clockDoubt({ atMs: minutes * minute, recordedAtMs: 0, byDevice })?.sum;
    expect(doubt(60, false)).toContain('60 min ahead');
    expect(doubt(1, false)).toBeUndefined();
    expect(doubt(-60, false)).toBeUndefined();
    expect(doubt(-60, true)).toContain('60 min ago');
    expect(doubt(-20, true)).toBeUndefined();
  });
});
