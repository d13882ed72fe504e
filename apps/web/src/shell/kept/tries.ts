/**
 * Wrong PINs without the network, where no server counts. Counted before the answer is known and kept across a reload:
 * each person's own, and all since the record was last reached. A right PIN clears the person's own count alone, so
 * that somebody who knows one PIN gets no more tries at another.
 *
 * Units     milliseconds since the epoch
 */
import { controlIsOn } from '@ebbline/core/quantity';

export interface TriesKept {
  readonly byPerson: Readonly<Record<string, number>>;
  readonly inAll: number;
  readonly untilMs: number;
}

export const noTries: TriesKept = { byPerson: {}, inAll: 0, untilMs: 0 };
/** Times a person's tries that all together may have. */
const allTogether = 3;
const firstWaitS = 30;
const longestWaitS = 900;
const freeTries = 5;

/** Seconds to wait after so many wrong PINs in a row: none for the first four, then 30 and doubling to a quarter of an hour. S-common-practice */
export function waitAfterWrong(wrong: number): number {
  return wrong < freeTries ? 0 : Math.min(longestWaitS, firstWaitS * 2 ** (wrong - freeTries));
}

/** The count with one more try in it, taken as wrong until it is known. */
export function counted(kept: TriesKept, person: string, nowMs: number): TriesKept {
  const own = (kept.byPerson[person] ?? 0) + 1;
  const inAll = kept.inAll + 1;
  const wait = Math.max(waitAfterWrong(own), waitAfterWrong(Math.ceil(inAll / allTogether)));
  return { byPerson: { ...kept.byPerson, [person]: own }, inAll, untilMs: nowMs + wait * 1000 };
}

/** The person's own count is gone, and this try no longer counts in all. */
export function right(kept: TriesKept, person: string): TriesKept {
  const { [person]: _own, ...others } = kept.byPerson;
  return { byPerson: others, inAll: Math.max(0, kept.inAll - 1), untilMs: 0 };
}

/** Whose opening without the network has ended: nobody's, this person's, or everybody's. */
export function ended(kept: TriesKept, person: string, atMost: number): 'nobody' | 'person' | 'everybody' {
  if (!controlIsOn('H19-offline-tries')) return 'nobody';
  if (kept.inAll >= allTogether * atMost) return 'everybody';
  return (kept.byPerson[person] ?? 0) >= atMost ? 'person' : 'nobody';
}

/** Seconds until the next try. A clock set back does not make it longer than the longest. */
export function waitS(kept: TriesKept, nowMs: number): number {
  if (!controlIsOn('H19-offline-tries')) return 0;
  return Math.min(longestWaitS, Math.max(0, Math.ceil((kept.untilMs - nowMs) / 1000)));
}
