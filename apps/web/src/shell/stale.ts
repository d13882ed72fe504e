/**
 * How old a board's knowledge of other tablets is, in words. A board that looks live and is not is worse than none,
 * so from two missed signs of life on it says so in large words.
 *
 * Source    a sign of life each 5 s, stale after two missed: S-common-practice
 */
import { clockTime, controlIsOn } from '@ebbline/core/quantity';
import { staleAfterMs } from './sync.ts';

export interface SourceAge {
  /** Since the ward's record was last heard; undefined when never since the page was opened. */
  readonly ageMs: number | undefined;
  readonly openedForMs: number;
  readonly nowMs: number;
  readonly zone: string;
}

export interface StaleWords {
  /** In large words. */
  readonly head: string;
  readonly rest: string;
}

const lengthOf = (milliseconds: number): string => {
  const seconds = Math.floor(milliseconds / 1000);
  if (seconds < 60) return `${seconds} seconds`;
  const minutes = Math.floor(seconds / 60);
  if (minutes < 60) return minutes === 1 ? '1 minute' : `${minutes} minutes`;
  const hours = Math.floor(minutes / 60);
  return `${hours} h ${minutes % 60} min`;
};

/** Nothing while the source is fresh. */
export function staleWords({ ageMs, openedForMs, nowMs, zone }: SourceAge): StaleWords | undefined {
  if (!controlIsOn('H11-stale-board')) return undefined;
  const silentMs = ageMs ?? openedForMs;
  if (silentMs < staleAfterMs) return undefined;
  const since = clockTime(nowMs - silentMs, zone);
  return {
    head: `Cut off for ${lengthOf(silentMs)}`,
    rest:
      ageMs === undefined
        ? `The ward's record was not heard since this page was opened. What stands here is what this tablet had kept; other tablets' newer entries are missing.`
        : `Last heard from the ward's record at ${since}. What this tablet records is here; other tablets' entries after ${since} are not.`,
  };
}
