// Proves     a tablet that comes back tells since when it was away, also when it was opened anew meanwhile, as it is when the server was
//            gone; a short break is not told, and once told it is not told again
// Published  none; the record is a stand-in in memory
// Tolerance  exact
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { minuteMs } from '@ebbline/core/quantity';
import { fakeRecord, openTablet, startMs } from './testing/fakes.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());
const settle = (milliseconds = 0): Promise<unknown> => vi.advanceTimersByTimeAsync(milliseconds);

/** A tablet that has heard the record, then lost it for so long. */
async function lostFor(minutes: number) {
  const record = fakeRecord();
  const tablet = await openTablet(record);
  tablet.replica.start();
  await settle();
  record.cut = true;
  record.dropLines();
  await settle(2_000);
  tablet.clock.nowMs += minutes * minuteMs;
  return { record, tablet };
}

describe('a tablet that was away', () => {
  it('tells from when to when, after more than a few minutes', async () => {
    const { record, tablet } = await lostFor(70);
    expect(tablet.replica.network()).toMatchObject({ online: false, awaySinceMs: startMs });
    record.cut = false;
    await settle(60_000);
    expect(tablet.replica.network()).toMatchObject({
      online: true,
      lastAway: { fromMs: startMs, toMs: startMs + 70 * minuteMs },
    });
  });

  it('says nothing of a short break', async () => {
    const { record, tablet } = await lostFor(3);
    record.cut = false;
    await settle(60_000);
    expect(tablet.replica.network().online).toBe(true);
    expect(tablet.replica.network().lastAway).toBeUndefined();
  });

  it('tells it also when it was opened anew before the record was there again, and only once', async () => {
    const { record, tablet } = await lostFor(90);
    tablet.replica.close();
    record.cut = false;
    const again = await openTablet(record, { store: tablet.store });
    again.clock.nowMs = startMs + 90 * minuteMs;
    again.replica.start();
    await settle(1_000);
    expect(again.replica.network().lastAway).toEqual({ fromMs: startMs, toMs: startMs + 90 * minuteMs });
    again.replica.close();
    const third = await openTablet(record, { store: tablet.store });
    third.replica.start();
    await settle(1_000);
    expect(third.replica.network().lastAway).toBeUndefined();
  });
});
