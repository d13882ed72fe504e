/**
 * One RLE frame: a head of 64 bytes with the number of segments and their starts, then one packed segment a component.
 *
 * Out       samples component after component (planar)
 * Domain    8 bits a sample; a segment that ends early or runs over is refused
 * Errors    dicom/frame-damaged
 * Source    DICOM PS3.5 annex G (S-dicom-ps3.5)
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';

export function decodeRle(bytes: Uint8Array, pixels: number, components: number): Uint8Array | Refusal {
  const damaged = refuse('dicom/frame-damaged', {
    asked: 'Ultrasound image',
    found: 'a packed frame that does not unpack to its size',
    allowed: 'one segment a component, each of the full size',
    todo: 'Send the image again from its source.',
  });
  if (bytes.length < 64) return damaged;
  const head = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (head.getUint32(0, true) !== components || components > 3) return damaged;
  const out = new Uint8Array(pixels * components);
  for (let component = 0; component < components; component += 1) {
    let at = head.getUint32(4 + 4 * component, true);
    const end = component + 1 < components ? head.getUint32(8 + 4 * component, true) : bytes.length;
    if (at < 64 || end > bytes.length || at > end) return damaged;
    let to = component * pixels;
    const stop = to + pixels;
    while (to < stop) {
      if (at >= end) return damaged;
      const control = bytes[at] as number;
      at += 1;
      if (control < 128) {
        const count = control + 1;
        if (at + count > end || to + count > stop) return damaged;
        out.set(bytes.subarray(at, at + count), to);
        at += count;
        to += count;
      } else if (control > 128) {
        const count = 257 - control;
        if (at >= end || to + count > stop) return damaged;
        out.fill(bytes[at] as number, to, to + count);
        at += 1;
        to += count;
      }
    }
  }
  return out;
}
