// Proves     the repeated hour is found in zones of 60 and 30 minutes, and the story of that night uses it
// Published  clock changes of 2026: Copenhagen 25 October 03:00 to 02:00; Lord Howe 5 April 02:00 to 01:30 (zone database, S-zone-database)
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { clockTime, instantMs, readInstant } from '@ebbline/core/quantity';
import { clockChangeNight, lastRepeatedHour } from './clock-change-night.ts';

const now = readInstant('2026-11-25T18:30:00+01:00') as number;

describe('the night on which an hour comes twice', () => {
  it('is found in a zone that goes back by an hour', () => {
    expect(lastRepeatedHour(now, 'Europe/Copenhagen')).toBe(readInstant('2026-10-25T01:00:00Z'));
  });

  it('is found in a zone that goes back by half an hour', () => {
    expect(lastRepeatedHour(now, 'Australia/Lord_Howe')).toBe(readInstant('2026-04-04T15:00:00Z'));
  });

  it('is not there in a zone that keeps its clocks', () => {
    expect(lastRepeatedHour(now, 'Asia/Kolkata')).toBeUndefined();
  });

  it('has its void at 02:30 (first) and its residual at 02:30 (second), an hour apart', () => {
    const entries = clockChangeNight({ seed: 1, nowMs: now, zone: 'Europe/Copenhagen' });
    const first = entries.find((entry) => entry.kind === 'void');
    const second = entries.find((entry) => entry.kind === 'reading' && entry.payload.sinceVoidMin === 60);
    expect(clockTime(instantMs(first?.effectiveAt as string), 'Europe/Copenhagen')).toBe('02:30 (first)');
    expect(clockTime(instantMs(second?.effectiveAt as string), 'Europe/Copenhagen')).toBe('02:30 (second)');
    expect(instantMs(second?.effectiveAt as string) - instantMs(first?.effectiveAt as string)).toBe(
      3_600_000,
    );
  });
});
