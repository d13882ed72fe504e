/** One exercise: its pictures are made in a worker, then a person answers, then the result is shown and kept. */
import { useEffect, useState, type ReactNode } from 'react';
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import { mayWrite, practiceRecordOf, type PayloadOf } from '@ebbline/core/record';
import type { PracticeSet } from '@ebbline/simulate';
import { Key, KeyLink } from '../../shared/key.tsx';
import { RefusalNotice } from '../../shared/plate.tsx';
import { addressOf } from '../../shell/address.ts';
import { useMe, useReplica } from '../../shell/hooks.ts';
import type { Chosen } from './choose-exercise.ts';
import { makeInWorker } from './in-worker.ts';
import { Judge } from './judge.tsx';
import { Trace } from './trace.tsx';
import { exerciseWords } from './words.ts';
import styles from './practice.module.css';

/** What became of the result. */
export type Kept = 'kept' | 'not-kept' | Refusal;

export function ExercisePage({
  chosen,
  another,
}: {
  readonly chosen: Chosen;
  readonly another: () => void;
}): ReactNode {
  const me = useMe();
  const replica = useReplica();
  const [made, setMade] = useState<PracticeSet | Refusal>();
  const [progress, setProgress] = useState(0);
  const [kept, setKept] = useState<Kept>();
  const { level, seed } = chosen;

  useEffect(() => {
    let left = false;
    const job = makeInWorker(level, seed, setProgress);
    void job.done.then((set) => {
      if (!left) setMade(set);
    });
    return () => {
      left = true;
      job.stop();
    };
  }, [level, seed]);

  const keep = async (payload: PayloadOf<'practised'>): Promise<void> => {
    if (!mayWrite(me.role, 'practised')) return setKept('not-kept');
    const entries = await replica.record([{ patient: practiceRecordOf(me.id), kind: 'practised', payload }]);
    setKept(isRefusal(entries) ? entries : 'kept');
  };

  return (
    <div className={styles['page']}>
      <h1>{exerciseWords[chosen.exercise]}</h1>
      <p className="label">
        {chosen.choice.words}. Exercise {seed}. Simulated pictures: no patient is in them.
      </p>
      {made === undefined ? (
        <div className={styles['running']}>
          <progress max={1} value={progress} aria-label="Making the pictures" />
          <KeyLink href={addressOf('practice')}>Stop</KeyLink>
        </div>
      ) : isRefusal(made) ? (
        <RefusalNotice refusal={made} />
      ) : chosen.exercise === 'trace' ? (
        <Trace chosen={chosen} made={made} keep={(payload) => void keep(payload)} />
      ) : (
        <Judge chosen={chosen} made={made} keep={(payload) => void keep(payload)} />
      )}
      {kept === undefined ? null : (
        <>
          {typeof kept === 'string' ? (
            <output className="speak">
              {kept === 'kept'
                ? 'The result is kept for you and your assessor. '
                : 'The result is not kept: your role records no practice. '}
              Doing well here is no competence by itself: your unit's own assessor decides.
            </output>
          ) : (
            <RefusalNotice refusal={kept} />
          )}
          <div className={styles['keys']}>
            <Key look="main" onClick={another}>
              Another one like it
            </Key>
            <KeyLink href={addressOf('practice')}>All exercises</KeyLink>
          </div>
        </>
      )}
    </div>
  );
}
