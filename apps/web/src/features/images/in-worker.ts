/** One job in a worker of its own; `stop` ends it at once. */
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

function run<Result>(
  order: ToWorker,
  answerIn: (message: FromWorker) => Result | undefined,
  onProgress: (share: number) => void,
): Job<Result> {
  const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
  const done = new Promise<Result | Refusal>((resolve) => {
    worker.addEventListener('message', (event: MessageEvent<FromWorker>) => {
      const answer = answerIn(event.data);
      if ('progress' in event.data) onProgress(event.data.progress);
      if (answer === undefined) return;
      worker.terminate();
      resolve(answer);
    });
    worker.addEventListener('error', () => {
      worker.terminate();
      resolve(brokeOff);
    });
  });
  // The bytes of files move over; the planes of a set are copied, since the page goes on showing them.
  worker.postMessage(order, 'read' in order ? order.read.map((one) => one.bytes.buffer as ArrayBuffer) : []);
  return { done, stop: () => worker.terminate() };
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
