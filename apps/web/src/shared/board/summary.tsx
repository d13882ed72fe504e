import type { ReactNode } from 'react';
import { clockTime, hourMs } from '@ebbline/core/quantity';
import type { BoardRow } from '@ebbline/core/present';
import type { WardFacts } from '@ebbline/core/facts';
import { countsOf } from './rows.ts';
import styles from './summary.module.css';

/** How many need somebody now, within the hour, and are on watch. */
export function Summary({
  rows,
  facts,
  nowMs,
  zone,
}: {
  readonly rows: readonly BoardRow[];
  readonly facts: WardFacts;
  readonly nowMs: number;
  readonly zone: string;
}): ReactNode {
  const { now, withinTheHour } = countsOf(rows);
  return (
    <ul className={styles['summary']}>
      <li className={now > 0 ? styles['act'] : undefined}>
        <b>{now}</b> {now === 1 ? 'needs' : 'need'} someone now
      </li>
      <li>
        <b>{withinTheHour}</b> due before {clockTime(nowMs + hourMs, zone)}
      </li>
      <li>
        <b>{facts.counts.onWatch}</b> on watch
      </li>
    </ul>
  );
}
