/** Times, volumes and people in words. */
import { calendarDay, clockTime, minuteMs } from '../quantity/index.ts';
import type { Directory } from '../record/index.ts';
import type { Owner, PatientFacts } from '../facts/index.ts';
import { roles } from './labels.ts';

/** `18:30`, with "(first)" or "(second)" in a repeated hour. */
export const clock = (atMs: number, zone: string): string => clockTime(atMs, zone);

/** `18:30`, or `14 May 18:30` when it is on another day than now. */
export function clockOrDay(atMs: number, nowMs: number, zone: string): string {
  const time = clock(atMs, zone);
  const day = calendarDay(atMs, zone);
  if (day === calendarDay(nowMs, zone)) return time;
  const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];
  return `${Number(day.slice(8))} ${months[Number(day.slice(5, 7)) - 1] ?? ''} ${time}`;
}

/** `25 min`, `2 h 10 min`, `3 days`. */
export function duration(minutes: number): string {
  const rounded = Math.round(Math.abs(minutes));
  if (rounded < 60) return `${rounded} min`;
  const hours = Math.floor(rounded / 60);
  if (hours < 48) return rounded % 60 === 0 ? `${hours} h` : `${hours} h ${rounded % 60} min`;
  return `${Math.floor(hours / 24)} days`;
}

/** `in 25 min`, `20 min ago`, `now`. */
export function relative(atMs: number, nowMs: number): string {
  const minutes = Math.round((atMs - nowMs) / minuteMs);
  if (minutes === 0) return 'now';
  return minutes > 0 ? `in ${duration(minutes)}` : `${duration(minutes)} ago`;
}

/** Whole millilitres, thousands parted: `1,180`. */
export function whole(volumeMl: number): string {
  return String(Math.round(volumeMl)).replace(/\B(?=(\d{3})+(?!\d))/g, ',');
}

/** A volume to the nearest 5, for what is estimated and not read. */
export const aboutMl = (volumeMl: number): string => whole(Math.round(volumeMl / 5) * 5);

/** `at least 430 mL`, `560 mL`, `not obtained`. */
export function volumeWords(reading: {
  readonly result: 'exact' | 'at-least' | 'not-obtained';
  readonly volumeMl?: number;
}): string {
  if (reading.result === 'not-obtained' || reading.volumeMl === undefined) return 'not obtained';
  return reading.result === 'at-least'
    ? `at least ${whole(reading.volumeMl)} mL`
    : `${whole(reading.volumeMl)} mL`;
}

/** her, his, their. */
export function theirs(facts: Pick<PatientFacts, 'identity'>): 'her' | 'his' | 'their' {
  return facts.identity?.sex === 'female' ? 'her' : facts.identity?.sex === 'male' ? 'his' : 'their';
}

/** Initials of a person, or the role when nobody by name has it. */
export function ownerWords(owner: Owner, directory?: Directory): string {
  if (owner.kind === 'role') return roles[owner.role];
  return directory?.people.find((one) => one.id === owner.person)?.initials ?? owner.person;
}

export function personWords(person: string, directory?: Directory): string {
  return directory?.people.find((one) => one.id === person)?.initials ?? person;
}
