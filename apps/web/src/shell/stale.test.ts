// Proves     a board that no longer hears the ward's record says so, and how old it is; a fresh one is quiet
// Published  none; the limit is two missed signs of life (S-common-practice)
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { staleWords } from './stale.ts';
import { networkWords } from './network-words.ts';

const zone = 'Europe/Copenhagen';
const nowMs = Date.parse('2026-05-14T16:30:12Z');
const at = (ageMs: number | undefined, openedForMs = 3_600_000) =>
  staleWords({ ageMs, openedForMs, nowMs, zone });

describe('a board cut off from its source', () => {
  it('[H11-stale-board] is marked from two missed signs of life on', () => {
    expect(at(9_999)).toBeUndefined();
    expect(at(10_000)?.head).toBe('Cut off for 10 seconds');
  });

  it('[H11-stale-board] says its age and since when, in minutes and hours when it lasts', () => {
    expect(at(12 * 60_000 + 12_000)).toEqual({
      head: 'Cut off for 12 minutes',
      rest: "Last heard from the ward's record at 18:18. What this tablet records is here; other tablets' entries after 18:18 are not.",
    });
    expect(at(3_900_000)?.head).toBe('Cut off for 1 h 5 min');
  });

  it('[H11-stale-board] is marked when the record was never heard since the page was opened', () => {
    expect(at(undefined, 4_000)).toBeUndefined();
    expect(at(undefined, 11_000)?.rest).toContain('was not heard since this page was opened');
  });
});

describe('the network line', () => {
  const initials = (): string => 'OB';
  const none = { online: true, reading: false, waiting: 0, waitingOwn: 0, waitingFor: [], refused: [] };

  it('is silent when the record is reached and nothing waits', () => {
    expect(networkWords(none, zone, initials)).toBeUndefined();
  });

  it('says since when, and how many entries wait', () => {
    const words = networkWords(
      { ...none, online: false, awaySinceMs: Date.parse('2026-05-14T16:02:00Z'), waiting: 3, waitingOwn: 3 },
      zone,
      initials,
    );
    expect(`${words?.strong}${words?.rest}`).toBe(
      'Working without the network since 18:02. 3 entries wait on this tablet and will be sent once, by themselves.',
    );
  });

  it('says whose entries are on the way', () => {
    expect(networkWords({ ...none, waiting: 2, waitingFor: ['otto-brae'] }, zone, initials)?.strong).toBe(
      '2 entries on the way',
    );
  });
});
