/** "Saved 15:52. Undo for 10 s." A line in the page, never over it; Undo adds a withdrawal and deletes nothing. */
import { useEffect, useState, useSyncExternalStore, type ReactNode } from 'react';
import { clock } from '@ebbline/core/present';
import { nowMs } from '../../shell/clock.ts';
import { useReplica } from '../../shell/hooks.ts';
import { Key } from '../key.tsx';
import { saved, undoForMs } from './saved.ts';
import styles from './saved-bar.module.css';

export function SavedBar({ patient, zone }: { readonly patient: string; readonly zone: string }): ReactNode {
  const replica = useReplica();
  const last = useSyncExternalStore(saved.subscribe, saved.current);
  const own = last?.patient === patient ? last : undefined;
  const [now, setNow] = useState(nowMs);
  const [undone, setUndone] = useState<number>();

  useEffect(() => {
    if (!own) return;
    const timer = setInterval(() => setNow(nowMs()), 250);
    return () => clearInterval(timer);
  }, [own]);

  if (!own) return null;
  const leftS = Math.max(0, Math.ceil((own.atMs + undoForMs - now) / 1000));
  if (undone === own.atMs) {
    return (
      <div className={styles['bar']}>
        <output className="speak">Taken back: {own.words}. It stays in the record as withdrawn.</output>
      </div>
    );
  }
  if (leftS === 0 && own.noStep === undefined) return null;
  const undo = async (): Promise<void> => {
    await replica.undo(own.ids);
    setUndone(own.atMs);
  };
  return (
    <div className={styles['bar']}>
      <output className="speak">
        <b>Saved {clock(own.atMs, zone)}:</b> {own.words}.
        {own.noStep === undefined ? '' : ` No step was advised. ${own.noStep}`}
      </output>
      {leftS > 0 ? (
        <Key onClick={() => void undo()}>
          Undo <span aria-hidden="true">({leftS} s)</span>
        </Key>
      ) : null}
    </div>
  );
}
