/** Who stands behind a protocol, and until when, in words. Past its day it says so; colour says nothing. */
import { calendarDay, dayMs, instantMs } from '../quantity/index.ts';
import type { Advice, UnitSettings } from '../record/index.ts';
import * as labels from './labels.ts';

export const monthNames = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/** `3 May 2028` for `2028-05-03`. */
export function dayInWords(day: string): string {
  const [year = '', month = '', date = ''] = day.split('-');
  return `${Number(date)} ${monthNames[Number(month) - 1] ?? month} ${year}`;
}

const dayOf = (at: string, zone: string): string => dayInWords(calendarDay(instantMs(at), zone));

/** The mark under a step: an example, or who signed and until when. */
export function approvalWords(
  approval: Advice['protocol']['approval'],
  nowMs: number,
  zone: string,
  retired?: { readonly at: string; readonly reason: string },
): string {
  if (approval === 'example-not-approved') return 'Example protocol, not approved';
  const { signedBy, role, on, reviewBy } = approval;
  const signed = `Signed by ${signedBy}, ${labels.roles[role].toLowerCase()}, on ${dayOf(on, zone)}`;
  if (retired) return `${signed}. Retired on ${dayOf(retired.at, zone)}: ${retired.reason}`;
  const past = reviewBy < calendarDay(nowMs, zone);
  return past
    ? `Its review was due by ${dayInWords(reviewBy)} and has not been done. ${signed}`
    : `${signed}, to be reviewed by ${dayInWords(reviewBy)}`;
}

const midnightMs = (day: string): number => instantMs(`${day}T00:00:00Z`);

/** `Review by 3 May 2028: in 12 days.` or how long it has been due. */
export function reviewWords(reviewBy: string, nowMs: number, zone: string): string {
  const days = Math.round((midnightMs(reviewBy) - midnightMs(calendarDay(nowMs, zone))) / dayMs);
  const count = (number: number): string => `${number} ${number === 1 ? 'day' : 'days'}`;
  return days < 0
    ? `Its review was due by ${dayInWords(reviewBy)}, ${count(-days)} ago.`
    : days === 0
      ? 'Its review is due today.'
      : `Its review is due by ${dayInWords(reviewBy)}, in ${count(days)}.`;
}

export type ReviewState = 'current' | 'soon' | 'past';

/** How a published version stands to its day of review. The day itself still counts. */
export function reviewState(
  reviewBy: string,
  settings: Pick<UnitSettings, 'protocolRemindDays'>,
  nowMs: number,
  zone: string,
): ReviewState {
  if (reviewBy < calendarDay(nowMs, zone)) return 'past';
  return reviewBy < calendarDay(nowMs + settings.protocolRemindDays * dayMs, zone) ? 'soon' : 'current';
}
