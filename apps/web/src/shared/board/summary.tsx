import type { ReactNode } from 'react';
import { clockTime, hourMs } from '@ebbline/core/quantity';
import type { WardFacts } from '@ebbline/core/facts';
import styles from './summary.module.css';

/** How many need somebody now, within the hour, and are on watch. */
export function Summary({ facts, nowMs, zone }: { readonly facts: WardFacts; readonly nowMs: number; readonly zone: string }): ReactNode {
  const { overdue, dueWithinHour, onWatch } = facts.counts;
  return (
    <ul className={styles['summary']}>
      <li className={overdue > 0 ? styles['act'] : undefined}>
        <b>{overdue}</b> {overdue === 1 ? 'needs' : 'need'} someone now
      </li>
      <li>
        <b>{dueWithinHour}</b> due before {clockTime(nowMs + hourMs, zone)}
      </li>
      <li>
        <b>{onWatch}</b> on watch
      </li>
    </ul>
  );
}
