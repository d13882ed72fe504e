/** A period as somebody asks for it: the last so many days, in whole days of the ward's own calendar. */
import { dayMs, instantOfMs, wallClock } from '@ebbline/core/quantity';

export const periods = [1, 7, 30, 90] as const;
export type PeriodDays = (typeof periods)[number] | 'all';

export const periodWords = (days: PeriodDays): string =>
  days === 'all' ? 'All' : days === 1 ? 'Since yesterday' : `${days} days`;

/** The instant from which on; nothing for all. Midnight of the ward, so many days back. */
export function fromOf(days: PeriodDays, nowMs: number, zone: string): string | undefined {
  if (days === 'all') return undefined;
  // Noon is on the same day whether or not the clock was changed in between.
  const { hour, minute, second } = wallClock(nowMs, zone);
  const noonMs = nowMs + (12 - hour) * 3_600_000 - minute * 60_000 - second * 1000 - days * dayMs;
  const then = wallClock(noonMs, zone);
  const midnightMs = noonMs - then.hour * 3_600_000 - then.minute * 60_000 - then.second * 1000;
  const atMidnight = wallClock(midnightMs, zone);
  // A clock change between midnight and noon puts it off by as much.
  const offMs =
    (atMidnight.hour > 12 ? atMidnight.hour - 24 : atMidnight.hour) * 3_600_000 + atMidnight.minute * 60_000;
  return instantOfMs(Math.floor((midnightMs - offMs) / 1000) * 1000);
}
