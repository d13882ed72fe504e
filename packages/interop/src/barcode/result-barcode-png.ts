// PNG bytes of the result label. The writer for Node is loaded only when asked for, so that a browser can use the SVG.
import type { Refusal } from '@ebbline/core/quantity';
import { barcodeOptions, checkOpaque } from './result-barcode.ts';

export async function resultBarcodePng({
  opaqueId,
  scale = 4,
}: {
  readonly opaqueId: string;
  readonly scale?: number;
}): Promise<Uint8Array | Refusal> {
  const text = checkOpaque(opaqueId);
  if (typeof text !== 'string') return text;
  const { toBuffer } = await import('bwip-js/node');
  return new Uint8Array(await toBuffer(barcodeOptions(text, scale)));
}
