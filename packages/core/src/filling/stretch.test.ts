// Proves     a stretch runs from one emptying to the next, and somebody is found over the limit once between them.
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { hourMs } from '../quantity/index.ts';
import type { FillingObservation } from './observation.ts';
import { foundOver, stretchAbout } from './stretch.ts';

const reading = (hours: number, volumeMl: number): FillingObservation => ({
  kind: 'reading',
  atMs: hours * hourMs,
  volumeMl,
  bound: 'exact',
  doubts: [],
});
const drained = (hours: number, volumeMl?: number): FillingObservation => ({
  kind: 'drained',
  atMs: hours * hourMs,
  ...(volumeMl === undefined ? {} : { volumeMl }),
  thenIn: 'out',
});
const course = [
  reading(1, 200),
  reading(4, 640),
  drained(4.5, 700),
  reading(8, 300),
  drained(12, 900),
  reading(13, 100),
];

describe('a stretch', () => {
  it('runs from the first word, or the last emptying, to the next', () => {
    expect(stretchAbout(course, 4 * hourMs, 20 * hourMs)).toEqual({
      fromMs: hourMs,
      toMs: 4.5 * hourMs,
      emptied: true,
    });
    expect(stretchAbout(course, 12 * hourMs, 20 * hourMs)).toEqual({
      fromMs: 4.5 * hourMs,
      toMs: 12 * hourMs,
      emptied: true,
    });
    expect(stretchAbout(course, 13 * hourMs, 20 * hourMs)).toEqual({
      fromMs: 12 * hourMs,
      toMs: 20 * hourMs,
      emptied: false,
    });
  });

  it('is no longer than two days', () => {
    const { fromMs, toMs } = stretchAbout([reading(0, 700)], 0, 90 * hourMs);
    expect(toMs - fromMs).toBe(48 * hourMs);
  });

  it('knows no emptying that has not happened yet', () => {
    expect(stretchAbout(course, 4 * hourMs, 4.2 * hourMs)).toMatchObject({
      toMs: 4.2 * hourMs,
      emptied: false,
    });
  });
});

describe('found over the limit', () => {
  it('is the first volume over it between two emptyings, drained ones too', () => {
    expect(foundOver(course, 600)).toEqual([
      { atMs: 4 * hourMs, by: 'reading', volumeMl: 640 },
      { atMs: 12 * hourMs, by: 'drained', volumeMl: 900 },
    ]);
    expect(foundOver(course, 1000)).toEqual([]);
  });
});
