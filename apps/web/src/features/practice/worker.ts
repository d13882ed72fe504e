// Makes the pictures of an exercise, and outlines by the program, off the main thread.
import type { PracticeLevel } from '@ebbline/core/record';
import { traceBladder, type PlaneSet, type VolumeResult } from '@ebbline/imaging';
import { practiceSet, type PracticeSet } from '@ebbline/simulate';

export type ToWorker =
  | { readonly level: PracticeLevel; readonly seed: number }
  | { readonly trace: PlaneSet };
export type FromWorker =
  | { readonly progress: number }
  | { readonly made: PracticeSet }
  | { readonly traced: VolumeResult };

addEventListener('message', ({ data }: MessageEvent<ToWorker>) => {
  const say = (message: FromWorker): void => postMessage(message);
  const onProgress = (progress: number): void => say({ progress });
  if ('trace' in data) say({ traced: traceBladder(data.trace, { onProgress }) });
  else say({ made: practiceSet(data.level, data.seed, onProgress) });
});
