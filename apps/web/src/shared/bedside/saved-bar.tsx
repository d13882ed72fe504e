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
  const [leftS, setLeftS] = useState(0);
  const [undone, setUndone] = useState(false);
  const own = last?.patient === patient ? last : undefined;

  useEffect(() => {
    if (!own) return;
    setUndone(false);
    const count = (): void => setLeftS(Math.max(0, Math.ceil((own.atMs + undoForMs - nowMs()) / 1000)));
    count();
    const timer = setInterval(count, 250);
    return () => clearInterval(timer);
  }, [own]);

  if (!own) return null;
  if (undone) {
    return (
      <div className={styles['bar']} role="status">
        <p className="speak">Taken back: {own.words}. It stays in the record as withdrawn.</p>
      </div>
    );
  }
  if (leftS === 0 && own.noStep === undefined) return null;
  const undo = async (): Promise<void> => {
    await replica.undo(own.ids);
    setUndone(true);
  };
  return (
    <div className={styles['bar']}>
      <p className="speak" role="status">
        <b>Saved {clock(own.atMs, zone)}:</b> {own.words}.{own.noStep === undefined ? '' : ` No step was advised. ${own.noStep}`}
      </p>
      {leftS > 0 ? (
        <Key onClick={() => void undo()}>
          Undo <span aria-hidden="true">({leftS} s)</span>
        </Key>
      ) : null}
    </div>
  );
}
