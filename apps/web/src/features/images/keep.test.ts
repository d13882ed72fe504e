// Proves     a traced volume becomes a reading that says how it was got, and a refused one becomes none.
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { payloadShapes } from '@ebbline/core/record';
import type { VolumeResult } from '@ebbline/imaging';
import { readingFrom, resultWords } from './keep.ts';
import { planeSetFrom } from './read-files.ts';

const cut: VolumeResult = {
  answer: 'at-least',
  volumeMl: 540,
  boundMl: 412,
  interval: { loMl: 430, hiMl: 690 },
  method: 'sum of planes',
  reasons: [
    { code: 'lower-wall-shadow', words: 'lower wall hidden by bone shadow' },
    { code: 'two-planes-only', words: 'two planes only' },
  ],
  planes: [],
  findings: {},
};

describe('keeping a traced volume', () => {
  it('keeps the bound, never the completed guess, when a part was not seen', () => {
    const reading = orThrow(readingFrom(cut, 'after-void', 'kl', 12));
    expect(reading).toMatchObject({
      result: 'at-least',
      volumeMl: 412,
      doubts: ['cut-below'],
      lowMl: 430,
      highMl: 690,
      source: 'images',
    });
    expect(resultWords(cut)).toBe('at least 412 mL');
  });

  it('says in the note what has no word of its own in the record', () => {
    expect(orThrow(readingFrom(cut, 'after-void', 'kl', 12)).note).toContain('two planes only');
  });

  it('passes the record’s own check', () => {
    expect(isRefusal(payloadShapes.reading.check(orThrow(readingFrom(cut, 'no-void', 'kl', 12)), ''))).toBe(
      false,
    );
  });

  it('writes "none seen" without a nought', () => {
    const reading = orThrow(
      readingFrom({ answer: 'none-seen', reasons: [], planes: [], findings: {} }, 'no-void', 'kl', 12),
    );
    expect(reading).toMatchObject({ result: 'not-obtained', reasonNotObtained: 'none-seen' });
    expect(reading).not.toHaveProperty('volumeMl');
  });

  it('keeps nothing when the tracer refused', () => {
    expect(
      isRefusal(
        readingFrom({ answer: 'refused', reasons: [], planes: [], findings: {} }, 'no-void', 'kl', 12),
      ),
    ).toBe(true);
  });
});

describe('files that were chosen', () => {
  it.each([
    ['none', []],
    ['something that is no picture', [{ name: 'letter.txt', bytes: new TextEncoder().encode('a letter') }]],
  ])('are refused in words when they are %s', async (_name, files) => {
    const answer = await planeSetFrom(files);
    expect(isRefusal(answer) && answer.todo.length).toBeGreaterThan(10);
  });
});
