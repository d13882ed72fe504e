/**
 * Slows down guessing. After `free` wrong tries in a row the next one has to wait, each wrong try twice as long as
 * the one before; a right one clears the count. Nothing sleeps: a try that comes too early is refused at once.
 *
 * Units     milliseconds; the clock is the caller's
 * Source    five tries, 2 s to 15 min (S-common-practice)
 */
import { controlIsOn } from '@ebbline/core/quantity';

export const freeTries = 5;
const firstWaitMs = 2_000;
const longestWaitMs = 900_000;
const mostKeys = 10_000;

export interface Tries {
  /** How long this key has to wait before its next try, 0 when it need not. */
  waitMs(key: string, nowMs: number): number;
  wrong(key: string, nowMs: number): void;
  right(key: string): void;
  /** Wrong tries in a row. */
  count(key: string): number;
}

export function createTries(): Tries {
  const wrongs = new Map<string, { count: number; untilMs: number }>();
  return {
    waitMs: (key, nowMs) =>
      controlIsOn('H12-tries') ? Math.max(0, (wrongs.get(key)?.untilMs ?? 0) - nowMs) : 0,
    wrong: (key, nowMs) => {
      const count = (wrongs.get(key)?.count ?? 0) + 1;
      const wait = count < freeTries ? 0 : Math.min(longestWaitMs, firstWaitMs * 2 ** (count - freeTries));
      wrongs.delete(key);
      if (wrongs.size >= mostKeys) wrongs.delete(wrongs.keys().next().value as string);
      wrongs.set(key, { count, untilMs: nowMs + wait });
    },
    right: (key) => void wrongs.delete(key),
    count: (key) => wrongs.get(key)?.count ?? 0,
  };
}
