/**
 * Patients worked out on all cores, each reported as soon as it is done.
 *
 * Errors    a fault inside a thread ends the whole run with that fault
 */
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { Job, PatientResult } from './measure.ts';

export interface PoolRequest {
  readonly job: Job;
  readonly indices: readonly number[];
  readonly done: (result: PatientResult) => void;
  /** Ends the run early; what is done by then has been reported. */
  readonly stop: AbortSignal;
}

/** A thread takes longer to start than a patient takes: few patients get few threads. */
const patientsForAThread = 8;

export async function workOut(request: PoolRequest): Promise<void> {
  const left = [...request.indices];
  if (left.length === 0 || request.stop.aborted) return;
  const workers = Array.from(
    { length: Math.min(availableParallelism(), Math.ceil(left.length / patientsForAThread)) },
    () => new Worker(new URL('worker.ts', import.meta.url), { workerData: request.job }),
  );
  try {
    await Promise.all(
      workers.map(
        (worker) =>
          new Promise<void>((resolve, reject) => {
            const next = (): void => {
              const index = request.stop.aborted ? undefined : left.shift();
              if (index === undefined) resolve();
              else worker.postMessage(index);
            };
            request.stop.addEventListener('abort', () => resolve(), { once: true });
            worker.on('error', reject);
            worker.on('message', (result: PatientResult) => {
              if (request.stop.aborted) return;
              request.done(result);
              next();
            });
            next();
          }),
      ),
    );
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
}
