import type { ReactNode } from 'react';
import styles from './board-key.module.css';

/** How to read a row. */
export function BoardKey(): ReactNode {
  return (
    <div className={styles['key']}>
      <span className="label">How to read a row</span>
      <span>
        <i className={styles['band']} /> where the content lies, nine times in ten
      </span>
      <span>
        <i className={styles['limit']} /> the person's own limit
      </span>
      <span>
        <i className={styles['arrow']} /> where it is likely to be when the look is due
      </span>
      <span>
        <i className={styles['over']} /> beyond the limit
      </span>
      <span>
        <i className={styles['low']} /> partly seen, at least so much
      </span>
      <span>
        <i className={styles['unknown']} /> not known
      </span>
    </div>
  );
}
