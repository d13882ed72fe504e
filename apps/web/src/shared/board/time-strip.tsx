/**
 * The next hours as a graduated edge, one block half an hour. Every bed hangs where somebody is due there; what is
 * overdue hangs filled, left of now. The rows below carry the rest.
 */
import { memo, useSyncExternalStore, type ReactNode } from 'react';
import { clockTime, hourMs, instantsOfWallClock, minuteMs, wallClock } from '@ebbline/core/quantity';
import type { BoardRow } from '@ebbline/core/present';
import styles from './time-strip.module.css';

interface TimeStripProps {
  readonly rows: readonly BoardRow[];
  readonly nowMs: number;
  readonly zone: string;
  /** Local times at which shifts change. */
  readonly shiftChanges: readonly string[];
}

const lanes = 3;
const blockMs = 30 * minuteMs;

export interface Hanging {
  readonly patient: string;
  readonly bed: string;
  readonly act: boolean;
  readonly share: number;
  readonly lane: number;
}

/** Puts each bed into the first lane where it has room; what finds none is counted. */
export function hang(
  rows: readonly BoardRow[],
  fromMs: number,
  toMs: number,
  chipShare: number,
): { readonly hanging: readonly Hanging[]; readonly more: readonly { share: number; count: number }[] } {
  const ends = Array.from({ length: lanes }, () => Number.NEGATIVE_INFINITY);
  const hanging: Hanging[] = [];
  const more: { share: number; count: number }[] = [];
  const due = rows
    .flatMap((row) =>
      row.item === undefined || row.item.dueAtMs > toMs ? [] : [{ row, atMs: row.item.dueAtMs }],
    )
    .sort((a, b) => a.atMs - b.atMs);
  for (const { row, atMs } of due) {
    const share = Math.max(0, Math.min(100 - chipShare, (100 * (atMs - fromMs)) / (toMs - fromMs)));
    const lane = ends.findIndex((end) => end <= share);
    if (lane < 0) {
      const last = more.at(-1);
      if (last && share - last.share < chipShare) last.count += 1;
      else more.push({ share, count: 1 });
      continue;
    }
    ends[lane] = share + chipShare;
    hanging.push({ patient: row.patient, bed: row.bed, act: row.group === 'now', share, lane });
  }
  return { hanging, more };
}

const narrowQuery = '(max-width: 60rem)';
const watchWidth = (listener: () => void): (() => void) => {
  const query = matchMedia(narrowQuery);
  query.addEventListener('change', listener);
  return () => query.removeEventListener('change', listener);
};

/** Local whole hours between two instants, each with its words. */
function hoursBetween(fromMs: number, toMs: number, zone: string): readonly number[] {
  const found: number[] = [];
  const start = wallClock(fromMs, zone);
  for (let atMs = fromMs - start.minute * minuteMs - start.second * 1000; atMs <= toMs; atMs += hourMs)
    if (atMs >= fromMs) found.push(atMs);
  return found;
}

function shiftChangesBetween(
  fromMs: number,
  toMs: number,
  zone: string,
  changes: readonly string[],
): readonly number[] {
  const day = wallClock(fromMs, zone);
  return changes.flatMap((change) => {
    const [hour = 0, minute = 0] = change.split(':').map(Number);
    return [0, 1].flatMap((ahead) => {
      const on = wallClock(Date.UTC(day.year, day.month - 1, day.day + ahead, 12), 'UTC');
      return instantsOfWallClock({ year: on.year, month: on.month, day: on.day, hour, minute }, zone).filter(
        (atMs) => atMs > fromMs && atMs < toMs,
      );
    });
  });
}

export const TimeStrip = memo(function TimeStrip({
  rows,
  nowMs,
  zone,
  shiftChanges,
}: TimeStripProps): ReactNode {
  const narrow = useSyncExternalStore(watchWidth, () => matchMedia(narrowQuery).matches);
  const fromMs = Math.floor((nowMs - 20 * minuteMs) / blockMs) * blockMs;
  const toMs = fromMs + (narrow ? 3.5 : 4.5) * hourMs;
  const at = (atMs: number): number => (100 * (atMs - fromMs)) / (toMs - fromMs);
  const { hanging, more } = hang(rows, fromMs, toMs, narrow ? 7.5 : 3.4);
  const blocks = (toMs - fromMs) / blockMs;
  const changes = shiftChangesBetween(fromMs, toMs, zone, shiftChanges);
  const nearNow = (share: number): boolean => Math.abs(share - at(nowMs)) < (narrow ? 13 : 6);
  return (
    <div
      className={styles['strip']}
      aria-hidden="true"
      style={{ blockSize: `${2.25 + 1.3125 * Math.max(1, ...hanging.map((one) => one.lane + 1))}rem` }}
    >
      {hoursBetween(fromMs, toMs, zone).map((atMs) =>
        nearNow(at(atMs)) || at(atMs) > 97 ? null : (
          <span key={atMs} className={styles['hour']} style={{ insetInlineStart: `${at(atMs)}%` }}>
            {clockTime(atMs, zone).replace(/:00/, '')}
          </span>
        ),
      )}
      {changes.map((atMs) =>
        nearNow(at(atMs)) || at(atMs) > (narrow ? 78 : 86) ? null : (
          <span key={atMs} className={styles['shift']} style={{ insetInlineStart: `${at(atMs)}%` }}>
            next shift
          </span>
        ),
      )}
      <span className={styles['edge']} style={{ backgroundSize: `${200 / blocks}% 100%` }} />
      <span className={styles['now']} style={{ insetInlineStart: `${at(nowMs)}%` }}>
        now {clockTime(nowMs, zone)}
      </span>
      {hanging.map((one) => (
        <span
          key={one.patient}
          className={one.act ? `${styles['chip']} ${styles['act']}` : styles['chip']}
          style={{ insetInlineStart: `${one.share}%`, insetBlockStart: `${2.125 + one.lane * 1.3125}rem` }}
        >
          {one.bed}
        </span>
      ))}
      {more.map((one) => (
        <span
          key={one.share}
          className={styles['more']}
          style={{
            insetInlineStart: `${one.share}%`,
            insetBlockStart: `${2.125 + lanes * 1.3125 - 0.1875}rem`,
          }}
        >
          +{one.count}
        </span>
      ))}
    </div>
  );
});
