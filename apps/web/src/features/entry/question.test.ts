// Proves     an impossible sum is asked about before it is kept, and a possible one is not.
// Published  650 mL ten minutes after draining 500 mL needs 3,900 mL an hour: arithmetic of the job map's story 8.
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import type { FillingObservation } from '@ebbline/core/filling';
import { questionAbout } from './question.ts';
import { at } from './testing/facts.ts';

const drained: FillingObservation = { kind: 'drained', atMs: at('16:10'), volumeMl: 500, thenIn: 'out' };
const reading = (clock: string, volumeMl: number): FillingObservation => ({
  kind: 'reading',
  atMs: at(clock),
  volumeMl,
  bound: 'exact',
  doubts: [],
});

describe('the question before a save', () => {
  it('is asked for 650 mL ten minutes after 500 mL was drained [H4-digits]', () => {
    const question = questionAbout([drained], [drained, reading('16:20', 650)]);
    expect(question?.sum).toMatch(/650 mL/);
    expect(question?.check).toContain('last drain');
  });

  it('names figures of the record only: it offers no other number', () => {
    const question = questionAbout([drained], [drained, reading('16:20', 650)]);
    expect(`${question?.sum} ${question?.check}`).not.toMatch(/\b(65|560|65\.0) mL/);
  });

  it('is not asked for 650 mL four hours later', () => {
    expect(questionAbout([drained], [drained, reading('20:10', 650)])).toBeUndefined();
  });

  it('is not asked again for a sum that failed before this entry', () => {
    const odd = [drained, reading('16:20', 650)];
    expect(questionAbout(odd, [...odd, reading('16:40', 660)])).toBeUndefined();
  });
});
