import { useState, type ReactNode } from 'react';
import { Mark } from '../shared/marks.tsx';
import { nowMs } from './clock.ts';
import { useReplica, useSecond } from './hooks.ts';
import { staleWords } from './stale.ts';
import styles from './stale-band.module.css';

/** Large words over a board that no longer hears the ward's record. Read out once, not each second. */
export function StaleBand({ zone }: { readonly zone: string }): ReactNode {
  const replica = useReplica();
  useSecond();
  const [openedMs] = useState(nowMs);
  const now = nowMs();
  const words = staleWords({ ageMs: replica.sourceAgeMs(), openedForMs: now - openedMs, nowMs: now, zone });
  return (
    <>
      <output className="heard">{words ? "This board no longer hears the ward's record." : ''}</output>
      {words ? (
        <div className={styles['band']} data-stale="">
          <p className={styles['head']}>
            <Mark name="not-known" size={28} />
            {words.head}
          </p>
          <p className="speak">{words.rest}</p>
        </div>
      ) : null}
    </>
  );
}
