// Proves     instants, zones and the clock change both ways, half-hour zones and half-hour changes included.
// Published  rules of the IANA time zone database as shipped with the runtime: Europe/London changes at 01:00 UTC on the last
//            Sundays of March and October; Australia/Lord_Howe changes by 30 minutes; Asia/Kolkata is UTC+05:30 all year.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  ageInYears,
  calendarDay,
  clockTime,
  instantInZone,
  instantMs,
  instantsOfWallClock,
  isRefusal,
  minuteMs,
  readInstant,
  wallClock,
} from './index.ts';

describe('reading an instant', () => {
  it('takes an offset in hours and minutes', () => {
    expect(readInstant('2026-05-12T11:37:00+05:30')).toBe(Date.UTC(2026, 4, 12, 6, 7));
  });
  it.each([
    ['no offset', '2026-05-12T11:37:00'],
    ['the 31st of a month of 30 days', '2026-04-31T11:37:00Z'],
    ['hour 24', '2026-05-12T24:00:00Z'],
    ['a date only', '2026-05-12'],
    ['a number', 1_778_000_000_000],
    ['null', null],
    ['an offset that no place has', '2026-05-12T11:37:00+15:00'],
  ])('refuses %s and says what is allowed', (_name, value) => {
    const answer = readInstant(value);
    expect(isRefusal(answer)).toBe(true);
    if (isRefusal(answer))
      expect(answer).toMatchObject({
        code: 'quantity/not-an-instant',
        allowed: expect.stringContaining('offset'),
      });
  });
});

describe('the wall clock', () => {
  it('tells the two half past ones of an October night apart', () => {
    const first = instantMs('2026-10-25T01:30:00+01:00');
    const second = instantMs('2026-10-25T01:30:00+00:00');
    expect(second - first).toBe(3_600_000);
    expect(clockTime(first, 'Europe/London')).toBe('01:30 (first)');
    expect(clockTime(second, 'Europe/London')).toBe('01:30 (second)');
    expect(clockTime(instantMs('2026-10-25T02:30:00+00:00'), 'Europe/London')).toBe('02:30');
  });
  it('finds no instant for a time that the clock jumps over in March', () => {
    expect(
      instantsOfWallClock({ year: 2026, month: 3, day: 29, hour: 1, minute: 30 }, 'Europe/London'),
    ).toEqual([]);
  });
  it('handles a zone that changes by half an hour', () => {
    // 2026-04-05 02:00 goes back to 01:30 on Lord Howe Island.
    const both = instantsOfWallClock(
      { year: 2026, month: 4, day: 5, hour: 1, minute: 45 },
      'Australia/Lord_Howe',
    );
    expect(both).toHaveLength(2);
    expect((both[1] as number) - (both[0] as number)).toBe(1_800_000);
  });
  it('writes the offset of a half-hour zone', () => {
    expect(instantInZone(Date.UTC(2026, 4, 12, 6, 7), 'Asia/Kolkata')).toBe('2026-05-12T11:37:00+05:30');
    expect(instantInZone(Date.UTC(2026, 0, 1, 0, 0), 'America/St_Johns')).toBe('2025-12-31T20:30:00-03:30');
  });
  it('measures durations by instants across the change, not by the clock face', () => {
    expect((instantMs('2026-03-29T02:30:00+01:00') - instantMs('2026-03-29T00:30:00+00:00')) / minuteMs).toBe(
      60,
    );
  });
  it('puts an evening into the right day of its zone', () => {
    expect(calendarDay(Date.UTC(2026, 4, 12, 20, 0), 'Asia/Kolkata')).toBe('2026-05-13');
  });
  it('comes back to the same instant through its own text, in any zone', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1_700_000_000, max: 1_900_000_000 }),
        fc.constantFrom('Europe/London', 'Asia/Kolkata', 'America/New_York', 'Australia/Lord_Howe', 'UTC'),
        (seconds, zone) => {
          const text = instantInZone(seconds * 1000, zone);
          expect(instantMs(text)).toBe(seconds * 1000);
          const clock = wallClock(seconds * 1000, zone);
          expect(instantsOfWallClock(clock, zone)).toContain(Math.floor(seconds / 60) * 60_000);
        },
      ),
      { seed: 31, numRuns: 300 },
    );
  });
});

describe('age in whole years', () => {
  const at = (instant: string, zone = 'Europe/London') => ageInYears('2008-11-25', instantMs(instant), zone);
  it('grows on the birthday and not a day later, whatever leap days lie between', () => {
    expect(at('2026-11-24T23:59:59Z')).toBe(17);
    expect(at('2026-11-25T00:00:00Z')).toBe(18);
    for (let year = 2009; year < 2100; year += 1)
      expect(at(`${year}-11-25T12:00:00Z`), String(year)).toBe(year - 2008);
  });
  it('grows when the day begins in the zone', () => {
    expect(at('2026-11-24T14:00:00Z', 'Asia/Tokyo')).toBe(17);
    expect(at('2026-11-24T15:00:00Z', 'Asia/Tokyo')).toBe(18);
  });
  it('is not known of a date that is none', () => {
    for (const born of ['', '2008', '2008-13-01', '25.11.2008'])
      expect(ageInYears(born, 0, 'UTC')).toBeUndefined();
  });
});
