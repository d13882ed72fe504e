/**
 * Jobs in a worker that is kept from one to the next, since a fresh one is slow at first; `stop` ends the job and its
 * worker at once. One job at a time: a second one gets a worker of its own.
 */
import type { Refusal } from '@ebbline/core/quantity';

export interface Job<Result> {
  readonly done: Promise<Result | Refusal>;
  readonly stop: () => void;
}

export interface WorkerJobs<Order, Message> {
  /** Starts the worker before it is needed, with an order that brings no answer; a page that is likely to need it calls this once. */
  readonly getReady: (order: Order) => void;
  readonly run: <Result>(
    order: Order,
    answerIn: (message: Message) => Result | undefined,
    onProgress: (share: number) => void,
    moved?: Transferable[],
  ) => Job<Result>;
}

export function workerJobs<Order, Message extends object>(
  fresh: () => Worker,
  brokeOff: Refusal,
): WorkerJobs<Order, Message> {
  let idle: Worker | undefined;
  return {
    getReady: (order) => {
      if (idle) return;
      const worker = fresh();
      idle = worker;
      // One that can't start is not kept for a job that would wait for it.
      worker.addEventListener('error', () => {
        if (idle === worker) idle = undefined;
      });
      worker.postMessage(order);
    },
    run: (order, answerIn, onProgress, moved = []) => {
      const worker = idle ?? fresh();
      idle = undefined;
      const listening = new AbortController();
      const { signal } = listening;
      // A job that is over has given its worker back: stopping it again must not end the next one's.
      const stop = (): void => {
        if (signal.aborted) return;
        listening.abort();
        worker.terminate();
      };
      type Answer = Exclude<ReturnType<typeof answerIn>, undefined>;
      const done = new Promise<Answer | Refusal>((resolve) => {
        worker.addEventListener(
          'message',
          ({ data }: MessageEvent<Message>) => {
            if ('progress' in data && typeof data.progress === 'number') onProgress(data.progress);
            const answer = answerIn(data);
            if (answer === undefined) return;
            listening.abort();
            if (idle) worker.terminate();
            else idle = worker;
            resolve(answer as Answer);
          },
          { signal },
        );
        worker.addEventListener(
          'error',
          () => {
            stop();
            resolve(brokeOff);
          },
          { signal },
        );
      });
      worker.postMessage(order, moved);
      return { done, stop };
    },
  };
}
