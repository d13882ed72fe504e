// Proves     a period begins at midnight of the ward, also across a change of the clock
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { fromOf } from './period.ts';

const zone = 'Europe/Lisbon';

describe('a period', () => {
  it('begins at midnight of the ward, so many days back', () => {
    expect(fromOf(1, Date.parse('2026-05-12T08:30:12.345Z'), zone)).toBe('2026-05-10T23:00:00.000Z');
    expect(fromOf(7, Date.parse('2026-05-12T23:30:00Z'), zone)).toBe('2026-05-05T23:00:00.000Z');
    expect(fromOf(1, Date.parse('2026-01-12T00:00:00Z'), 'Asia/Kolkata')).toBe('2026-01-10T18:30:00.000Z');
  });

  it('begins at midnight on the days on which the clock is changed', () => {
    expect(fromOf(1, Date.parse('2026-03-30T12:00:00Z'), zone)).toBe('2026-03-29T00:00:00.000Z');
    expect(fromOf(1, Date.parse('2026-10-26T12:00:00Z'), zone)).toBe('2026-10-24T23:00:00.000Z');
  });

  it('of everything has no beginning', () => {
    expect(fromOf('all', 0, zone)).toBeUndefined();
  });
});
