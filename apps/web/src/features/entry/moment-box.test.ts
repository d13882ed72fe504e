// Proves     a typed wall clock becomes the instant that the ward's zone shows, also where a clock change repeats or skips it.
// Published  Berlin 2026: back on 25 October at 03:00 summer time, forward on 29 March at 02:00 (IANA zone data).
// Tolerance  exact.
import { describe, expect, it } from 'vitest';
import { instantsTyped } from './moment-box.tsx';

const noon = Date.parse('2026-05-14T12:00:00Z');

describe('a typed time', () => {
  it('is of the day that was chosen, in the ward’s zone', () => {
    expect(instantsTyped('18:30', 0, noon, 'Etc/UTC')).toEqual([Date.parse('2026-05-14T18:30:00Z')]);
    expect(instantsTyped('0900', 1, noon, 'Europe/Berlin')).toEqual([Date.parse('2026-05-15T07:00:00Z')]);
    expect(instantsTyped('6.05', -1, noon, 'Asia/Kolkata')).toEqual([Date.parse('2026-05-13T00:35:00Z')]);
  });

  it('that the clock change repeats is two instants, one that it skips is none', () => {
    expect(instantsTyped('02:30', 0, Date.parse('2026-10-25T12:00:00Z'), 'Europe/Berlin')).toHaveLength(2);
    expect(instantsTyped('02:30', 0, Date.parse('2026-03-29T12:00:00Z'), 'Europe/Berlin')).toEqual([]);
  });

  it('that is no time of day is none', () => {
    for (const typed of ['', '25:00', '12:75', 'noon', '1'])
      expect(instantsTyped(typed, 0, noon, 'Etc/UTC')).toBeUndefined();
  });
});
