// Finds the outlines off the main thread, so that a page never waits for them.
import { traceBladder, type PlaneSet, type VolumeResult } from '@ebbline/imaging';

export type FromWorker = { readonly progress: number } | { readonly result: VolumeResult };

addEventListener('message', (event: MessageEvent<PlaneSet>) => {
  const say = (message: FromWorker): void => postMessage(message);
  say({ result: traceBladder(event.data, { onProgress: (progress) => say({ progress }) }) });
});
