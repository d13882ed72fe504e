/** One job in a worker of its own; `stop` ends it at once. */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { PracticeLevel } from '@ebbline/core/record';
import type { PlaneSet, VolumeResult } from '@ebbline/imaging';
import type { PracticeSet } from '@ebbline/simulate';
import type { FromWorker, ToWorker } from './worker.ts';

export interface Job<Result> {
  readonly done: Promise<Result | Refusal>;
  readonly stop: () => void;
}

const brokeOff = refuse('practice/broke-off', {
  asked: 'Exercise',
  found: 'work on the pictures that broke off',
  allowed: 'an exercise that can be made on this tablet',
  todo: 'Choose another exercise, or open this one again.',
});

function run<Result>(
  order: ToWorker,
  answerIn: (message: FromWorker) => Result | undefined,
  onProgress: (share: number) => void,
): Job<Result> {
  const worker = new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' });
  const done = new Promise<Result | Refusal>((resolve) => {
    worker.addEventListener('message', ({ data }: MessageEvent<FromWorker>) => {
      if ('progress' in data) onProgress(data.progress);
      const answer = answerIn(data);
      if (answer === undefined) return;
      worker.terminate();
      resolve(answer);
    });
    worker.addEventListener('error', () => {
      worker.terminate();
      resolve(brokeOff);
    });
  });
  worker.postMessage(order);
  return { done, stop: () => worker.terminate() };
}

export const makeInWorker = (
  level: PracticeLevel,
  seed: number,
  onProgress: (share: number) => void,
): Job<PracticeSet> =>
  run({ level, seed }, (message) => ('made' in message ? message.made : undefined), onProgress);

export const traceInWorker = (set: PlaneSet, onProgress: (share: number) => void): Job<VolumeResult> =>
  run({ trace: set }, (message) => ('traced' in message ? message.traced : undefined), onProgress);
