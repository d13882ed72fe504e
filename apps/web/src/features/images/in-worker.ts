/**
 * Jobs in a worker that is kept from one to the next, since a fresh one is slow at first; `stop` ends the job and its
 * worker at once. One job at a time: a second one gets a worker of its own.
 */
import type { PlaneSet, TraceOptions, VolumeResult } from '@ebbline/imaging';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { Pictures } from './pictures.ts';
import type { NamedBytes } from './read-files.ts';
import type { FromWorker, ToWorker } from './worker.ts';

export interface Job<Result> {
  readonly done: Promise<Result | Refusal>;
  readonly stop: () => void;
}

const brokeOff = refuse('images/not-traced', {
  asked: 'Volume from images',
  found: 'work on the images that broke off',
  allowed: 'images that can be read and traced',
  todo: 'Type the volume, and keep the images for a specialist.',
});

let idle: Worker | undefined;
const fresh = (): Worker => new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });

/** Starts the worker before it is needed; a page that is likely to need it calls this once. */
export function getWorkerReady(): void {
  if (idle) return;
  const worker = fresh();
  idle = worker;
  // One that can't start is not kept for a job that would wait for it.
  worker.addEventListener('error', () => {
    if (idle === worker) idle = undefined;
  });
  worker.postMessage({ warmUp: true } satisfies ToWorker);
}

function run<Result>(
  order: ToWorker,
  answerIn: (message: FromWorker) => Result | undefined,
  onProgress: (share: number) => void,
): Job<Result> {
  const worker = idle ?? fresh();
  idle = undefined;
  const listening = new AbortController();
  // A job that is over has given its worker back: stopping it again must not end the next one's.
  const stop = (): void => {
    if (listening.signal.aborted) return;
    listening.abort();
    worker.terminate();
  };
  const done = new Promise<Result | Refusal>((resolve) => {
    const { signal } = listening;
    worker.addEventListener(
      'message',
      (event: MessageEvent<FromWorker>) => {
        const answer = answerIn(event.data);
        if ('progress' in event.data) onProgress(event.data.progress);
        if (answer === undefined) return;
        listening.abort();
        if (idle) worker.terminate();
        else idle = worker;
        resolve(answer);
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
  // The bytes of files move over; the planes of a set are copied, since the page goes on showing them.
  worker.postMessage(order, 'read' in order ? order.read.map((one) => one.bytes.buffer as ArrayBuffer) : []);
  return { done, stop };
}

export const readInWorker = (files: readonly NamedBytes[]): Job<Pictures> =>
  run<Pictures>(
    { read: files },
    (message) => ('pictures' in message ? (message.pictures as Pictures) : undefined),
    () => undefined,
  );

export const traceInWorker = (
  set: PlaneSet,
  onProgress: (share: number) => void,
  seed?: TraceOptions['seed'],
): Job<VolumeResult> =>
  run<VolumeResult>(
    { trace: set, ...(seed ? { seed } : {}) },
    (message) => ('result' in message ? message.result : undefined),
    onProgress,
  );
