// Proves     a load ward has the open watches asked for, and years of watches pass the record's check
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { instantMs, isRefusal, readInstant } from '@ebbline/core/quantity';
import { checkEntry, type Entry } from '@ebbline/core/record';
import { loadWard, loadWardId, loadYears } from './load-ward.ts';

const nowMs = readInstant('2026-11-25T18:30:00+01:00') as number;

describe('the load ward', () => {
  it('has 200 open watches, all in entries that the record accepts', () => {
    const { directory, entries } = loadWard({ seed: 5, patients: 200, nowMs });
    expect(entries.map((entry) => checkEntry(entry, nowMs)).filter(isRefusal)).toEqual([]);
    const opened = new Set(
      entries.filter((entry) => entry.kind === 'watch-opened').map((entry) => entry.patient),
    );
    for (const entry of entries) if (entry.kind === 'watch-closed') opened.delete(entry.patient);
    expect(opened.size).toBe(200);
    expect(directory.wards.find((ward) => ward.id === loadWardId)?.beds).toHaveLength(200);
  });

  it('gives ten years of watches lazily, oldest first', () => {
    const years = loadYears({ seed: 5, years: 10, nowMs, episodesPerDay: 1 });
    const first: readonly Entry[] = years.next().value ?? [];
    expect(first.map((entry) => checkEntry(entry, nowMs)).filter(isRefusal)).toEqual([]);
    const opened = first.find((entry) => entry.kind === 'watch-opened');
    expect((nowMs - instantMs(opened?.effectiveAt as string)) / (365.25 * 86_400_000)).toBeGreaterThan(9.9);
  });
});
