/** A draft tried on the past when somebody asks for it; given up when they say so, or when the page is left. */
import { useEffect, useRef, useState } from 'react';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { workerJobs, type Job } from '../../shared/worker-jobs.ts';
import type { FromReplayer, ReplayFound, ReplayOrder, ToReplayer } from './replay-worker.ts';

const brokeOff = refuse('replay/broke-off', {
  asked: 'Try it on the past',
  found: 'work that broke off',
  allowed: 'work to its end',
  todo: 'Start it again, with fewer made-up patients.',
});

const jobs = workerJobs<ToReplayer, FromReplayer>(
  () => new Worker(new URL('./replay-worker.ts', import.meta.url), { type: 'module' }),
  brokeOff,
);

export type ReplayState =
  | { readonly state: 'idle'; readonly stopped: boolean }
  | { readonly state: 'running'; readonly share: number }
  | { readonly state: 'done'; readonly found: ReplayFound }
  | { readonly state: 'refused'; readonly refusal: Refusal };

export function useReplay(): {
  readonly replay: ReplayState;
  readonly start: (order: ReplayOrder) => void;
  readonly stop: () => void;
} {
  const [replay, setReplay] = useState<ReplayState>({ state: 'idle', stopped: false });
  const job = useRef<Job<ReplayFound>>(undefined);
  useEffect(() => () => job.current?.stop(), []);
  return {
    replay,
    start: (order) => {
      job.current?.stop();
      setReplay({ state: 'running', share: 0 });
      const mine = jobs.run<ReplayFound>(
        order,
        (message) => ('found' in message ? message.found : undefined),
        (share) => {
          if (job.current === mine) setReplay({ state: 'running', share });
        },
      );
      job.current = mine;
      void mine.done.then((found) => {
        if (job.current !== mine) return;
        setReplay(isRefusal(found) ? { state: 'refused', refusal: found } : { state: 'done', found });
      });
    },
    stop: () => {
      job.current?.stop();
      job.current = undefined;
      setReplay({ state: 'idle', stopped: true });
    },
  };
}
