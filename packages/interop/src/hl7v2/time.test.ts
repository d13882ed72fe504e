// Proves     times are read on the feed's wall clock or with their own offset, and clock changes lose no message
// Published  none; expected instants by the zones' published rules
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { instantOfMs, isRefusal } from '@ebbline/core/quantity';
import { readDay, readTime, writeTime } from './time.ts';

const read = (text: string, zone = 'Europe/Lisbon'): string => {
  const time = readTime(text, zone);
  return isRefusal(time) ? time.code : instantOfMs(time);
};

describe('a time', () => {
  it.each([
    ['202601121137', '2026-01-12T11:37:00.000Z'],
    ['202607121137', '2026-07-12T10:37:00.000Z'],
    ['20260712113705.25', '2026-07-12T10:37:05.250Z'],
    ['20260712113705250', '2026-07-12T10:37:05.250Z'],
    ['2026071211', '2026-07-12T10:00:00.000Z'],
    ['20260712113705+0530', '2026-07-12T06:07:05.000Z'],
    ['20260712113705-0330', '2026-07-12T15:07:05.000Z'],
    ['20260712113705+0000', '2026-07-12T11:37:05.000Z'],
  ])('%s is %s', (text, instant) => expect(read(text)).toBe(instant));

  it('in the hour that is repeated is the first, in the hour that is jumped over just after the jump', () => {
    expect(read('202610250130')).toBe('2026-10-25T00:30:00.000Z');
    expect(read('202603290130')).toBe('2026-03-29T01:30:00.000Z');
  });

  it.each(['', '2026', '20260712', '202602301200', '202607122560', '20260712113705+1500', 'yesterday'])(
    'that reads %j is refused',
    (text) => expect(read(text)).toBe('hl7/time'),
  );

  it('is read back as it was written, in any zone', () => {
    for (const zone of ['UTC', 'Asia/Kolkata', 'America/New_York', 'Europe/Lisbon'])
      for (let atMs = Date.UTC(2026, 0, 1); atMs < Date.UTC(2027, 0, 1); atMs += 7 * 3_661_000)
        expect(readTime(writeTime(atMs, zone), 'Pacific/Auckland')).toBe(atMs);
  });

  it('as a day is one that exists', () => {
    expect(readDay('19800229')).toBe('1980-02-29');
    expect(readDay('197002291200')).toBeUndefined();
    expect(readDay('1980')).toBeUndefined();
  });
});
