/** Reading and tracing off the main thread. */
import type { PlaneSet, TraceOptions, VolumeResult } from '@ebbline/imaging';
import { refuse } from '@ebbline/core/quantity';
import { workerJobs, type Job } from '../../shared/worker-jobs.ts';
import type { Pictures } from './pictures.ts';
import type { NamedBytes } from './read-files.ts';
import type { FromWorker, ToWorker } from './worker.ts';

const brokeOff = refuse('images/not-traced', {
  asked: 'Volume from images',
  found: 'work on the images that broke off',
  allowed: 'images that can be read and traced',
  todo: 'Type the volume, and keep the images for a specialist.',
});

const jobs = workerJobs<ToWorker, FromWorker>(
  () => new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' }),
  brokeOff,
);

/** Starts the worker and lets it get to know the tracer before it is needed. */
export const getWorkerReady = (): void => jobs.getReady({ warmUp: true });

export const readInWorker = (files: readonly NamedBytes[]): Job<Pictures> =>
  // The bytes of files move over; the planes of a set are copied, since the page goes on showing them.
  jobs.run<Pictures>(
    { read: files },
    (message) => ('pictures' in message ? (message.pictures as Pictures) : undefined),
    () => undefined,
    files.map((one) => one.bytes.buffer as ArrayBuffer),
  );

export const traceInWorker = (
  set: PlaneSet,
  onProgress: (share: number) => void,
  seed?: TraceOptions['seed'],
): Job<VolumeResult> =>
  jobs.run<VolumeResult>(
    { trace: set, ...(seed ? { seed } : {}) },
    (message) => ('result' in message ? message.result : undefined),
    onProgress,
  );
