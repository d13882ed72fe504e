// What the running head of every printed sheet says, and until when a sheet may be used.
import { controlIsOn, hourMs, minuteMs, wallClock } from '@ebbline/core/quantity';
import type { Directory } from '@ebbline/core/record';
import { clock, duration, standingCaution } from '@ebbline/core/present';
import type { RunningHead } from './paper.ts';

const weekdays = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'];
const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** `Thu 15 May 2026 07:05`. */
export function dayAndTime(ms: number, zone: string): string {
  const wall = wallClock(ms, zone);
  return `${weekdays[wall.weekday]} ${wall.day} ${months[wall.month - 1]} ${wall.year} ${clock(ms, zone)}`;
}

/** A sheet holds until the ward's next shift change, and at least half an hour; without one, eight hours. */
export function nextShiftChangeMs(directory: Directory, ward: string, nowMs: number, zone: string): number {
  const changes = directory.wards.find((one) => one.id === ward)?.shiftChanges ?? [];
  const wall = wallClock(nowMs, zone);
  const minuteOfDay = wall.hour * 60 + wall.minute;
  const ahead = changes
    .map((one) => {
      const [hour = 0, minute = 0] = one.split(':').map(Number);
      const wait = (hour * 60 + minute - minuteOfDay + 1440) % 1440;
      return wait < 30 ? wait + 1440 : wait;
    })
    .sort((a, b) => a - b);
  const wait = ahead[0];
  return wait === undefined ? nowMs + 8 * hourMs : nowMs - (nowMs % minuteMs) + wait * minuteMs;
}

export function runningHead(
  title: string,
  subject: string,
  printedAtMs: number,
  voidAfterMs: number,
  zone: string,
): RunningHead {
  return {
    title,
    subject,
    printed: `Printed ${dayAndTime(printedAtMs, zone)} from what this copy of the record held.`,
    printedAtMs,
    voidAfter: controlIsOn('H11-paper-goes-stale') ? `Void after ${dayAndTime(voidAfterMs, zone)}` : '',
    foot: standingCaution,
  };
}

/** How old a sheet is when: said on it beforehand, since paper can't count. Steps in hours: common practice (S-common-practice). */
export function ageOnPaper(asOfMs: number, zone: string): string {
  const ages = [1, 2, 4, 8].map(
    (hours) => `${duration(hours * 60)} old at ${clock(asOfMs + hours * hourMs, zone)}`,
  );
  return `Valid as of ${dayAndTime(asOfMs, zone)}. This sheet is ${ages.join(', ')}. What happened since is not on it.`;
}
