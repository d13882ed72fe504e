// Reads files and finds outlines off the main thread, so that a page never waits for them.
import type { Refusal } from '@ebbline/core/quantity';
import {
  traceBladder,
  type GreyPlane,
  type PlaneSet,
  type TraceOptions,
  type VolumeResult,
} from '@ebbline/imaging';
import type { Pictures } from './pictures.ts';
import { picturesFrom, type NamedBytes } from './read-files.ts';

export type ToWorker =
  | { readonly read: readonly NamedBytes[] }
  | { readonly trace: PlaneSet; readonly seed?: TraceOptions['seed'] };
export type FromWorker =
  | { readonly progress: number }
  | { readonly pictures: Pictures | Refusal }
  | { readonly result: VolumeResult };

const mostPixels = 64e6;

/** By the browser's own decoder, its colours as brightness (weights of ITU-R BT.601, S-bt601). */
async function decodeJpeg(bytes: Uint8Array): Promise<GreyPlane | undefined> {
  try {
    const bitmap = await createImageBitmap(new Blob([bytes.slice()]), {
      colorSpaceConversion: 'none',
      premultiplyAlpha: 'none',
    });
    const { width, height } = bitmap;
    if (width * height > mostPixels) return undefined;
    const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
    context?.drawImage(bitmap, 0, 0);
    const colours = context?.getImageData(0, 0, width, height).data;
    if (!colours) return undefined;
    const grey = Uint8Array.from({ length: width * height }, (_, index) => {
      const [red, green, blue] = [
        colours[4 * index] ?? 0,
        colours[4 * index + 1] ?? 0,
        colours[4 * index + 2] ?? 0,
      ];
      return (299 * red + 587 * green + 114 * blue + 500) / 1000;
    });
    return { width, height, grey };
  } catch {
    return undefined;
  }
}

addEventListener('message', (event: MessageEvent<ToWorker>) => {
  const say = (message: FromWorker): void => postMessage(message);
  const { data } = event;
  if ('read' in data) {
    void picturesFrom(data.read, decodeJpeg).then((pictures) => say({ pictures }));
    return;
  }
  const result = traceBladder(data.trace, {
    ...(data.seed ? { seed: data.seed } : {}),
    onProgress: (progress) => say({ progress }),
  });
  say({ result });
});
