/**
 * Slows down guessing. After `free` wrong tries in a row the next one has to wait, each wrong try twice as long as
 * the one before; a right one clears the count. Nothing sleeps: a try that comes too early is refused at once.
 * A try is counted before its answer is known, so that many at once are not more tries than one after the other.
 *
 * Units     milliseconds; the clock is the caller's
 * Source    five tries, 2 s to 15 min (S-common-practice)
 */
import { controlIsOn } from '@ebbline/core/quantity';

export const freeTries = 5;
export const firstWaitMs = 2_000;
export const longestWaitMs = 900_000;
const mostKeys = 10_000;

/** How many tries are free, and how long the longest wait is. */
export interface Pace {
  readonly free: number;
  readonly longestMs: number;
}
export const usualPace: Pace = { free: freeTries, longestMs: longestWaitMs };

export interface Tries {
  /** Counts a try as wrong and gives 0; when it comes too early, gives how long it has to wait and counts nothing. */
  begin(key: string, nowMs: number, pace?: Pace): Promise<number>;
  /** Counts a try as wrong, unless `most` stand against this key already; false then. No wait. */
  beginOf(most: number, key: string, nowMs: number): Promise<boolean>;
  right(key: string): Promise<void>;
  /** Wrong tries in a row. */
  count(key: string): Promise<number>;
}

/** How long the next try waits after so many wrong ones. */
export const waitAfterMs = (count: number, { free, longestMs }: Pace = usualPace): number =>
  count < free ? 0 : Math.min(longestMs, firstWaitMs * 2 ** (count - free));

export function createTries(): Tries {
  const wrongs = new Map<string, { count: number; untilMs: number }>();
  const wrong = (key: string, nowMs: number, pace?: Pace): void => {
    const count = (wrongs.get(key)?.count ?? 0) + 1;
    wrongs.delete(key);
    if (wrongs.size >= mostKeys) wrongs.delete(wrongs.keys().next().value as string);
    wrongs.set(key, { count, untilMs: nowMs + waitAfterMs(count, pace) });
  };
  return {
    begin: async (key, nowMs, pace) => {
      const waitMs = Math.max(0, (wrongs.get(key)?.untilMs ?? 0) - nowMs);
      if (waitMs > 0 && controlIsOn('H12-tries')) return waitMs;
      wrong(key, nowMs, pace);
      return 0;
    },
    beginOf: async (most, key, nowMs) => {
      if ((wrongs.get(key)?.count ?? 0) >= most) return false;
      wrong(key, nowMs);
      return true;
    },
    right: async (key) => void wrongs.delete(key),
    count: async (key) => wrongs.get(key)?.count ?? 0,
  };
}
