// Instants as ISO 8601 strings with an offset, and as milliseconds since the epoch. The only file of the
// pure rooms that touches Date, and only to convert: it never asks for the present time.
import { refuse, type Refusal } from './refusal.ts';

/** ISO 8601 instant with offset, `2026-05-12T11:37:00+02:00` or `…Z`. */
export type Instant = string;

const pattern = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2})(?::(\d{2})(?:\.(\d{1,9}))?)?(Z|[+-]\d{2}:\d{2})$/;

export const minuteMs = 60_000;
export const hourMs = 3_600_000;
export const dayMs = 86_400_000;

/** Milliseconds since the epoch, or a refusal when it is no ISO instant with offset. */
export function readInstant(text: unknown): number | Refusal {
  const bad = (found: string): Refusal =>
    refuse('quantity/not-an-instant', {
      asked: 'Time',
      found,
      allowed: 'a date and time with its offset, such as 2026-05-14T18:30:00+02:00',
      todo: 'Give the time with its offset from UTC.',
    });
  if (typeof text !== 'string') return bad(text === undefined ? 'no time' : `a ${typeof text}`);
  const match = pattern.exec(text);
  if (!match) return bad(`"${text.slice(0, 40)}"`);
  const [, year, month, day, hour, minute, second = '00'] = match;
  const monthNumber = Number(month);
  const daysInMonth = new Date(Date.UTC(Number(year), monthNumber, 0)).getUTCDate();
  const offset = match[8] as string;
  const offsetMinutes = offset === 'Z' ? 0 : Number(offset.slice(1, 3)) * 60 + Number(offset.slice(4, 6));
  const inRange =
    monthNumber >= 1 &&
    monthNumber <= 12 &&
    Number(day) >= 1 &&
    Number(day) <= daysInMonth &&
    Number(hour) <= 23 &&
    Number(minute) <= 59 &&
    Number(second) <= 59 &&
    offsetMinutes <= 14 * 60;
  if (!inRange) return bad(`"${text}"`);
  const milliseconds = Date.parse(text);
  return Number.isNaN(milliseconds) ? bad(`"${text}"`) : milliseconds;
}

/** Milliseconds of an instant already known to be well formed (it came through `readInstant`). */
export function instantMs(instant: Instant): number {
  return Date.parse(instant);
}

/** Minutes by which the clock that an instant was written with is ahead of UTC; 0 for `Z`. */
export function writtenOffsetMinutes(instant: Instant): number {
  const written = /([+-])(\d{2}):(\d{2})$/.exec(instant);
  if (!written) return 0;
  return (written[1] === '-' ? -1 : 1) * (Number(written[2]) * 60 + Number(written[3]));
}

/** ISO instant in UTC. */
export function instantOfMs(milliseconds: number): Instant {
  return new Date(milliseconds).toISOString();
}

/** The instant so many minutes later, keeping nothing of the zone (UTC). */
export function addMinutes(instant: Instant, minutes: number): Instant {
  return instantOfMs(Date.parse(instant) + minutes * minuteMs);
}

const formatters = new Map<string, Intl.DateTimeFormat>();

/** Wall-clock parts of an instant in an IANA zone. */
export interface WallClock {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
  /** 0 = Sunday. */
  readonly weekday: number;
  /** Minutes east of UTC at that instant. */
  readonly offsetMinutes: number;
}

/** Wall clock of an instant in a zone. Handles any zone the platform knows, half-hour zones included. */
export function wallClock(milliseconds: number, zone: string): WallClock {
  let formatter = formatters.get(zone);
  if (!formatter) {
    formatter = new Intl.DateTimeFormat('en-GB', {
      timeZone: zone,
      hourCycle: 'h23',
      year: 'numeric',
      month: '2-digit',
      day: '2-digit',
      hour: '2-digit',
      minute: '2-digit',
      second: '2-digit',
    });
    formatters.set(zone, formatter);
  }
  const parts: Record<string, number> = {};
  for (const part of formatter.formatToParts(milliseconds)) {
    if (part.type !== 'literal') parts[part.type] = Number(part.value);
  }
  const { year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0 } = parts;
  const asUtc = Date.UTC(year, month - 1, day, hour, minute, second);
  const wholeSecond = Math.floor(milliseconds / 1000) * 1000;
  return {
    year,
    month,
    day,
    hour,
    minute,
    second,
    weekday: new Date(asUtc).getUTCDay(),
    offsetMinutes: Math.round((asUtc - wholeSecond) / minuteMs),
  };
}

const two = (value: number): string => String(value).padStart(2, '0');

/** The instant written with the offset that its zone has then: `2026-05-12T11:37:00+02:00`. */
export function instantInZone(milliseconds: number, zone: string): Instant {
  const clock = wallClock(milliseconds, zone);
  const sign = clock.offsetMinutes < 0 ? '-' : '+';
  const offset = Math.abs(clock.offsetMinutes);
  return `${String(clock.year).padStart(4, '0')}-${two(clock.month)}-${two(clock.day)}T${two(clock.hour)}:${two(clock.minute)}:${two(clock.second)}${sign}${two(Math.floor(offset / 60))}:${two(offset % 60)}`;
}

/**
 * Every instant at which a zone's wall clock shows this date and time: none when the clock jumps over it,
 * two when the hour is repeated, else one. Milliseconds, ascending.
 */
export function instantsOfWallClock(
  wall: { year: number; month: number; day: number; hour: number; minute: number },
  zone: string,
): readonly number[] {
  const asUtc = Date.UTC(wall.year, wall.month - 1, wall.day, wall.hour, wall.minute);
  const offsets = new Set(
    [asUtc - dayMs, asUtc, asUtc + dayMs].map((at) => wallClock(at, zone).offsetMinutes),
  );
  const found: number[] = [];
  for (const offset of offsets) {
    const candidate = asUtc - offset * minuteMs;
    if (wallClock(candidate, zone).offsetMinutes === offset) found.push(candidate);
  }
  return found.sort((a, b) => a - b);
}

/** `18:30`, or `02:30 (first)` / `02:30 (second)` when the clock change repeats that hour. */
export function clockTime(milliseconds: number, zone: string): string {
  const clock = wallClock(milliseconds, zone);
  const text = `${two(clock.hour)}:${two(clock.minute)}`;
  const all = instantsOfWallClock(clock, zone);
  if (all.length < 2) return text;
  const minuteStart = Math.floor(milliseconds / minuteMs) * minuteMs;
  return `${text} (${minuteStart === all[0] ? 'first' : 'second'})`;
}

/**
 * Whole years from a birth date to the calendar day of an instant in a zone: one more on the birthday itself, for
 * 29 February on 1 March of other years. Undefined when the date is none.
 */
export function ageInYears(birthDate: string, atMs: number, zone: string): number | undefined {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(birthDate);
  if (!match || Number.isNaN(Date.parse(birthDate))) return undefined;
  const [year, month, day] = [Number(match[1]), Number(match[2]), Number(match[3])];
  const today = wallClock(atMs, zone);
  const before = today.month < month || (today.month === month && today.day < day);
  return today.year - year - (before ? 1 : 0);
}

/** `2026-05-14` in the zone. */
export function calendarDay(milliseconds: number, zone: string): string {
  const clock = wallClock(milliseconds, zone);
  return `${String(clock.year).padStart(4, '0')}-${two(clock.month)}-${two(clock.day)}`;
}
