/**
 * How guessing at secrets is slowed, by three counts that are kept at once:
 *
 * - one person from one address: five tries, then 2 s doubling to 15 min;
 * - one person from anywhere: twenty tries, then at most a minute, so that nobody can keep a colleague out for long by
 *   typing wrong secrets in their name, and guessing spread over many addresses stays slow all the same;
 * - one address for anybody: thirty tries, then at most a minute, since a whole ward may share one.
 *
 * Source    the numbers: S-common-practice
 */
import { controlIsOn } from '@ebbline/core/quantity';
import type { Tries } from './tries.ts';

const anywhere = { free: 20, longestMs: 60_000 };
const anybody = { free: 30, longestMs: 60_000 };

export interface SignInPace {
  /** Counts a try in every count and gives 0; or how long it has to wait, ms. */
  begin(person: string, address: string, nowMs: number): Promise<number>;
  right(person: string, address: string): Promise<void>;
}

export function signInPace(tries: Tries): SignInPace {
  const near = (person: string, address: string): string => JSON.stringify([person, address]);
  const far = (person: string): string => JSON.stringify([person]);
  const place = (address: string): string => JSON.stringify([address, 'anybody']);
  return {
    begin: async (person, address, nowMs) =>
      (await tries.begin(near(person, address), nowMs)) ||
      (await tries.begin(far(person), nowMs, controlIsOn('H12-no-lock-out') ? anywhere : undefined)) ||
      (await tries.begin(place(address), nowMs, anybody)),
    right: async (person, address) => {
      await tries.right(near(person, address));
      await tries.right(far(person));
      await tries.right(place(address));
    },
  };
}
