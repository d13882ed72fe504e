/** The board for a wall: the same rows without names, read from across the room. It never locks, since it names nobody. */
import { useMemo, type ReactNode } from 'react';
import { labels } from '@ebbline/core/present';
import { addressOf } from '../../shell/address.ts';
import { dayWords, timeWords } from '../../shell/day-words.ts';
import { useDirectory, useNow, useThisWard, useWard } from '../../shell/hooks.ts';
import { StaleBand } from '../../shell/stale-band.tsx';
import { BoardTable } from '../../shared/board/board-table.tsx';
import { rowsOf } from '../../shared/board/rows.ts';
import { Summary } from '../../shared/board/summary.tsx';
import { Empty } from '../../shared/plate.tsx';
import { withoutNames } from './without-names.ts';
import styles from './wall.module.css';

export default function WallPage(): ReactNode {
  const ward = useThisWard();
  const named = useDirectory();
  const directory = useMemo(() => withoutNames(named, labels.roles), [named]);
  const facts = useWard(ward.id);
  const nowMs = useNow();
  const rows = rowsOf(facts, ward.zone, directory);
  return (
    <div className={styles['wall']}>
      <header className={styles['head']}>
        <span className={styles['name']}>Ebbline</span>
        <h1>{ward.name}</h1>
        <p className={styles['clock']}>
          {dayWords(nowMs, ward.zone)} <b>{timeWords(nowMs, ward.zone)}</b>
        </p>
      </header>
      <StaleBand zone={ward.zone} />
      <div className={styles['above']}>
        <Summary rows={rows} facts={facts} nowMs={nowMs} zone={ward.zone} />
        <a href={addressOf('board')}>No names on this screen. Leave it by PIN</a>
      </div>
      {rows.length === 0 ? (
        <Empty>Nobody is on watch here.</Empty>
      ) : (
        <BoardTable rows={rows} nowMs={nowMs} zone={ward.zone} names={false} />
      )}
    </div>
  );
}
