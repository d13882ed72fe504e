// Proves     the record says who drew an outline, what the program alone said, and what was given by hand.
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import type { ImageEvidence } from '../record/index.ts';
import { evidenceSentences } from './evidence.ts';

const evidence: ImageEvidence = {
  layout: 'rotational_fan',
  layoutFrom: 'file',
  scaleFrom: 'file',
  positions: [0, 60, 120],
  drawnBy: 'program',
  reasons: [],
  program: { answer: 'volume', volumeMl: 240.4, lowMl: 210, highMl: 270, outlines: [] },
};
const outline = { plane: 0, pointsTenthMm: [], seenAs: 's' };

describe('how a reading from images was got', () => {
  it('is the program’s alone when nobody changed it', () => {
    expect(evidenceSentences(evidence)).toBe('Outlined by the program on 3 planes.');
  });

  it('names the person and keeps what the program said', () => {
    expect(
      evidenceSentences({
        ...evidence,
        drawnBy: 'both',
        scaleFrom: 'hand',
        person: { who: 'kl', at: '2026-05-14T15:54:00Z', outlines: [outline] },
      }),
    ).toBe(
      'Outlined by the program on 3 planes, 1 plane changed by kl. The program alone said 240 mL. Scale by hand.',
    );
  });

  it('ends with one full stop after initials', () => {
    const directory = {
      organisation: 'coast',
      wards: [],
      scanners: [],
      people: [{ id: 'kl', name: 'Kara Lund', initials: 'K.L.', role: 'nurse' as const, wards: [] }],
    };
    const person = { who: 'kl', at: '2026-05-14T15:54:00Z', outlines: [outline] };
    expect(evidenceSentences({ ...evidence, drawnBy: 'person', person }, directory)).toBe(
      'Outlined by hand, K.L. The program alone said 240 mL.',
    );
  });

  it('says "at least" with the bound and never the completed guess', () => {
    const text = evidenceSentences({
      ...evidence,
      drawnBy: 'person',
      program: { answer: 'at-least', volumeMl: 540, lowMl: 412, highMl: 690, outlines: [] },
      person: { who: 'kl', at: '2026-05-14T15:54:00Z', outlines: [outline] },
    });
    expect(text).toBe('Outlined by hand, kl. The program alone said at least 412 mL.');
  });
});
