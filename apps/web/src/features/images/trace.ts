/** One tracing in a worker of its own; `stop` ends it at once. */
import type { PlaneSet, VolumeResult } from '@ebbline/imaging';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { FromWorker } from './trace-worker.ts';

export function traceInWorker(
  set: PlaneSet,
  onProgress: (share: number) => void,
): { readonly done: Promise<VolumeResult | Refusal>; readonly stop: () => void } {
  const worker = new Worker(new URL('./trace-worker.ts', import.meta.url), { type: 'module' });
  const done = new Promise<VolumeResult | Refusal>((resolve) => {
    worker.addEventListener('message', (event: MessageEvent<FromWorker>) => {
      if ('progress' in event.data) onProgress(event.data.progress);
      else {
        worker.terminate();
        resolve(event.data.result);
      }
    });
    worker.addEventListener('error', () => {
      worker.terminate();
      resolve(
        refuse('images/not-traced', {
          asked: 'Volume from images',
          found: 'the search for the outline broke off',
          allowed: 'images that can be traced',
          todo: 'Type the volume, and keep the images for a specialist.',
        }),
      );
    });
  });
  worker.postMessage(set);
  return { done, stop: () => worker.terminate() };
}
