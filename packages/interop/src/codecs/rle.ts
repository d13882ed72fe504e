/**
 * One RLE frame: a head of 64 bytes with the number of segments and their starts, then one packed segment for each byte
 * of each component, the most significant byte first.
 *
 * In        bytes a sample: 1 or 2
 * Out       samples component after component; undefined when a segment ends early, runs over, or the head is wrong
 * Source    DICOM PS3.5 annex G (S-dicom-ps3.5)
 */
export function decodeRle(
  bytes: Uint8Array,
  pixels: number,
  components: number,
  bytesASample = 1,
): Uint8Array | Uint16Array | undefined {
  const segments = components * bytesASample;
  if (bytes.length < 64 || segments > 6) return undefined;
  // Two bytes unpack to 128 at most: a size beyond that is false, and no memory is taken for it.
  if (pixels * segments > bytes.length * 64) return undefined;
  const head = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (head.getUint32(0, true) !== segments) return undefined;
  const flat = new Uint8Array(pixels * segments);
  for (let segment = 0; segment < segments; segment += 1) {
    const from = head.getUint32(4 + 4 * segment, true);
    const end = segment + 1 < segments ? head.getUint32(8 + 4 * segment, true) : bytes.length;
    if (from < 64 || end > bytes.length || from > end) return undefined;
    if (!unpack(bytes, from, end, flat.subarray(segment * pixels, (segment + 1) * pixels))) return undefined;
  }
  if (bytesASample === 1) return flat;
  const words = new Uint16Array(pixels * components);
  for (let component = 0; component < components; component += 1) {
    const high = 2 * component * pixels;
    for (let at = 0; at < pixels; at += 1)
      words[component * pixels + at] =
        ((flat[high + at] as number) << 8) | (flat[high + pixels + at] as number);
  }
  return words;
}

function unpack(bytes: Uint8Array, from: number, end: number, out: Uint8Array): boolean {
  let at = from;
  let to = 0;
  while (to < out.length) {
    if (at >= end) return false;
    const control = bytes[at] as number;
    at += 1;
    if (control < 128) {
      const count = control + 1;
      if (at + count > end || to + count > out.length) return false;
      out.set(bytes.subarray(at, at + count), to);
      at += count;
      to += count;
    } else if (control > 128) {
      const count = 257 - control;
      if (at >= end || to + count > out.length) return false;
      out.fill(bytes[at] as number, to, to + count);
      at += 1;
      to += count;
    }
  }
  return true;
}
