/** Making and tracing exercises off the main thread. */
import { refuse } from '@ebbline/core/quantity';
import type { PracticeLevel } from '@ebbline/core/record';
import type { PlaneSet, VolumeResult } from '@ebbline/imaging';
import type { PracticeSet } from '@ebbline/simulate';
import { workerJobs, type Job } from '../../shared/worker-jobs.ts';
import type { FromWorker, ToWorker } from './worker.ts';

const brokeOff = refuse('practice/broke-off', {
  asked: 'Exercise',
  found: 'work on the pictures that broke off',
  allowed: 'an exercise that can be made on this tablet',
  todo: 'Choose another exercise, or open this one again.',
});

const jobs = workerJobs<ToWorker, FromWorker>(
  () => new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' }),
  brokeOff,
);

export const makeInWorker = (
  level: PracticeLevel,
  seed: number,
  onProgress: (share: number) => void,
): Job<PracticeSet> =>
  jobs.run({ level, seed }, (message) => ('made' in message ? message.made : undefined), onProgress);

export const traceInWorker = (set: PlaneSet, onProgress: (share: number) => void): Job<VolumeResult> =>
  jobs.run({ trace: set }, (message) => ('traced' in message ? message.traced : undefined), onProgress);
