import { monthNames } from '@ebbline/core/present';
import { clockTime, wallClock } from '@ebbline/core/quantity';

const weekdays = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'];

/** `Wed 14 May` in the ward's zone. */
export function dayWords(milliseconds: number, zone: string): string {
  const { weekday, day, month } = wallClock(milliseconds, zone);
  return `${weekdays[weekday]} ${day} ${monthNames[month - 1]}`;
}

/** `18:30`; the repeated hour of a clock change says which. */
export const timeWords = clockTime;

/** `18:30` today, `Thu 06:00` on another day. */
export function timeOrDayWords(milliseconds: number, nowMs: number, zone: string): string {
  const then = wallClock(milliseconds, zone);
  const now = wallClock(nowMs, zone);
  const time = clockTime(milliseconds, zone);
  return then.day === now.day && then.month === now.month ? time : `${weekdays[then.weekday]} ${time}`;
}
