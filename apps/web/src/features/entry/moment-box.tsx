/**
 * A day and a time of the ward's own wall clock, in 24 hours whatever the browser speaks. An hour that the clock change
 * repeats is asked about; one that it leaves out is refused.
 */
import { useId, useState, type ReactNode } from 'react';
import { clockOrDay } from '@ebbline/core/present';
import { calendarDay, dayMs, instantsOfWallClock } from '@ebbline/core/quantity';
import { Key } from '../../shared/key.tsx';
import styles from './fields.module.css';

const days = [-2, -1, 0, 1, 2, 3] as const;
const dayWords: Readonly<Record<number, string>> = { [-1]: 'yesterday', 0: 'today', 1: 'tomorrow' };

/** Every instant of a day at which the clock shows what was typed; `undefined` when it is no time of day. */
export function instantsTyped(
  typed: string,
  dayFromNow: number,
  nowMs: number,
  zone: string,
): readonly number[] | undefined {
  const match = /^(\d{1,2})[:.]?(\d{2})$/.exec(typed.trim());
  if (!match) return undefined;
  const [hour, minute] = [Number(match[1]), Number(match[2])];
  if (hour > 23 || minute > 59) return undefined;
  const [year = 0, month = 1, day = 1] = calendarDay(nowMs + dayFromNow * dayMs, zone)
    .split('-')
    .map(Number);
  return instantsOfWallClock({ year, month, day, hour, minute }, zone);
}

export function MomentBox({
  label,
  zone,
  nowMs,
  take,
}: {
  readonly label: string;
  readonly zone: string;
  readonly nowMs: number;
  readonly take: (atMs: number) => void;
}): ReactNode {
  const id = useId();
  const [day, setDay] = useState(0);
  const [typed, setTyped] = useState('');
  const instants = instantsTyped(typed, day, nowMs, zone);
  const change = (nextDay: number, nextTyped: string): void => {
    setDay(nextDay);
    setTyped(nextTyped);
    const found = instantsTyped(nextTyped, nextDay, nowMs, zone);
    if (found?.length === 1) take(found[0] as number);
  };
  return (
    <div className={styles['moment']}>
      <label className="label" htmlFor={id}>
        {label}
      </label>
      <div className={styles['dayAndTime']}>
        <select aria-label="Day" value={day} onChange={(event) => change(Number(event.target.value), typed)}>
          {days.map((one) => (
            <option key={one} value={one}>
              {dayWords[one] ?? clockOrDay(nowMs + one * dayMs, nowMs, zone).replace(/ \d\d:\d\d.*$/, '')}
            </option>
          ))}
        </select>
        <input
          id={id}
          className={styles['input']}
          inputMode="numeric"
          placeholder="18:30"
          maxLength={5}
          value={typed}
          autoComplete="off"
          onChange={(event) => change(day, event.target.value)}
        />
      </div>
      {instants === undefined && typed.length >= 4 ? <p className="speak">Write the time as 18:30.</p> : null}
      {instants?.length === 0 ? (
        <p className="speak">The clock was put forward over that time: it was never shown. Choose another.</p>
      ) : null}
      {instants !== undefined && instants.length > 1
        ? instants.map((atMs) => (
            <Key key={atMs} onClick={() => take(atMs)}>
              {clockOrDay(atMs, nowMs, zone)}
            </Key>
          ))
        : null}
    </div>
  );
}
