/**
 * Times of HL7 version 2: `YYYY[MM[DD[HH[MM[SS[.S…]]]]]][+/-ZZZZ]`; thousandths without their point, as some senders write.
 *
 * Domain    a time without an offset is on the wall clock of the feed's zone; in the hour that a clock change repeats, the
 *           first; in the hour that it jumps over, the instant at which it jumps
 * Errors    `hl7/time`: no time, no such day, or only a day where a time is needed
 * Source    HL7 v2.5.1 data type TS, from memory (S-from-memory)
 */
import { instantsOfWallClock, minuteMs, refuse, wallClock, type Refusal } from '@ebbline/core/quantity';

const pattern =
  /^(\d{4})(?:(\d{2})(?:(\d{2})(?:(\d{2})(?:(\d{2})(?:(\d{2})(?:\.(\d{1,4})|(\d{3}))?)?)?)?)?)?([+-]\d{4})?$/;

const notATime = (found: string): Refusal =>
  refuse('hl7/time', {
    asked: 'Time',
    found,
    allowed: 'YYYYMMDDHHMM, with seconds and an offset from UTC if there are any',
    todo: 'Correct the time at the sender.',
  });

/** Milliseconds since the epoch. */
export function readTime(text: string, zone: string): number | Refusal {
  const match = pattern.exec(text);
  if (!match) return notATime(text === '' ? 'no time' : 'another form');
  const [, year = '', month, day, hour, minuteText = '00', secondText = '00', dotted, run, offset] = match;
  const fraction = dotted ?? run ?? '';
  if (month === undefined || day === undefined || hour === undefined) return notATime('a day without a time');
  const wall = {
    year: Number(year),
    month: Number(month),
    day: Number(day),
    hour: Number(hour),
    minute: Number(minuteText),
  };
  const asUtcMs = Date.UTC(wall.year, wall.month - 1, wall.day, wall.hour, wall.minute);
  const back = new Date(asUtcMs);
  if (
    back.getUTCMonth() + 1 !== wall.month ||
    back.getUTCDate() !== wall.day ||
    wall.hour > 23 ||
    wall.minute > 59 ||
    Number(secondText) > 59
  )
    return notATime('a day or an hour that does not exist');
  const partMs = Number(secondText) * 1000 + Number(fraction.padEnd(3, '0').slice(0, 3));
  if (offset !== undefined) {
    const minutes = Number(offset.slice(1, 3)) * 60 + Number(offset.slice(3, 5));
    if (minutes > 14 * 60) return notATime('an offset beyond 14 hours');
    return asUtcMs - (offset.startsWith('-') ? -minutes : minutes) * minuteMs + partMs;
  }
  const [first] = instantsOfWallClock(wall, zone);
  if (first !== undefined) return first + partMs;
  // The clock jumped over this hour: read with the offset of the hours before.
  return asUtcMs - wallClock(asUtcMs - 3 * 60 * minuteMs, zone).offsetMinutes * minuteMs;
}

/** A day, `1980-02-02`, from `19800202` or a longer time; nothing when it is none. */
export function readDay(text: string): string | undefined {
  const match = /^(\d{4})(\d{2})(\d{2})/.exec(text);
  if (!match) return undefined;
  const [, year, month, day] = match as unknown as [string, string, string, string];
  const back = new Date(Date.UTC(Number(year), Number(month) - 1, Number(day)));
  return back.getUTCMonth() + 1 === Number(month) && back.getUTCDate() === Number(day)
    ? `${year}-${month}-${day}`
    : undefined;
}

const two = (value: number): string => String(value).padStart(2, '0');

/** `20260512113700+0200`: the zone's wall clock and its offset then. */
export function writeTime(atMs: number, zone: string): string {
  const clock = wallClock(atMs, zone);
  const offset = Math.abs(clock.offsetMinutes);
  return `${String(clock.year).padStart(4, '0')}${two(clock.month)}${two(clock.day)}${two(clock.hour)}${two(clock.minute)}${two(clock.second)}${clock.offsetMinutes < 0 ? '-' : '+'}${two(Math.floor(offset / 60))}${two(offset % 60)}`;
}
