// Reads files and finds outlines off the main thread, so that a page never waits for them.
import { isRefusal, type Refusal } from '@ebbline/core/quantity';
import {
  traceBladder,
  type GreyPlane,
  type PlaneSet,
  type TraceOptions,
  type VolumeResult,
} from '@ebbline/imaging';
import { findSector } from './find-sector.ts';
import type { Pictures } from './pictures.ts';
import { picturesFrom, type NamedBytes } from './read-files.ts';
import { warmUp } from './warm-up.ts';

export type ToWorker =
  | { readonly read: readonly NamedBytes[] }
  | { readonly trace: PlaneSet; readonly seed?: TraceOptions['seed'] }
  | { readonly warmUp: true };
export type FromWorker =
  | { readonly progress: number }
  | { readonly pictures: Pictures | Refusal }
  | { readonly result: VolumeResult };

/** By the decoder that the command line uses too, so that the same picture gives the same figure everywhere. */
async function decodeJpeg(bytes: Uint8Array): Promise<GreyPlane | undefined> {
  const { readPicture } = await import('@ebbline/interop/planeset');
  const plane = await readPicture(bytes, 'picture');
  return isRefusal(plane) ? undefined : plane;
}

addEventListener('message', (event: MessageEvent<ToWorker>) => {
  const say = (message: FromWorker): void => postMessage(message);
  const { data } = event;
  if ('warmUp' in data) {
    warmUp();
    return;
  }
  if ('read' in data) {
    const startMs = performance.now();
    void picturesFrom(data.read, decodeJpeg).then((pictures) => {
      performance.measure('images read', { start: startMs });
      const fan = isRefusal(pictures) || pictures.geometry ? undefined : findSector(pictures.planes);
      say({ pictures: fan && !isRefusal(fan) && !isRefusal(pictures) ? { ...pictures, fan } : pictures });
    });
    return;
  }
  const startMs = performance.now();
  const result = traceBladder(data.trace, {
    ...(data.seed ? { seed: data.seed } : {}),
    onProgress: (progress) => say({ progress }),
  });
  performance.measure('volume traced', { start: startMs });
  say({ result });
});
