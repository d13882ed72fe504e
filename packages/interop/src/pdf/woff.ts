/**
 * A WOFF 1.0 font file unpacked into the plain font that a PDF embeds. Fonts come from packages that ship them for the
 * web; the PDF writer reads such a file but cuts glyphs that are made of others wrongly, so it is given the plain form.
 *
 * In        bytes of a .woff file
 * Out       bytes of the TrueType or CFF font inside; tables in the file's order, each on a multiple of four
 * Errors    `pdf/not-a-font`
 * Source    S-woff: W3C WOFF File Format 1.0, sections 3 to 5
 */
import { inflateSync } from 'node:zlib';
import { refuse, type Refusal } from '@ebbline/core/quantity';

const padded = (length: number): number => (length + 3) & ~3;

export function fontOfWoff(bytes: Uint8Array): Uint8Array | Refusal {
  const bad = (found: string): Refusal =>
    refuse('pdf/not-a-font', {
      asked: 'Font',
      found,
      allowed: 'a WOFF 1.0 file',
      todo: 'Install the font packages again.',
    });
  if (bytes.byteLength < 44) return bad(`${bytes.byteLength} bytes`);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (view.getUint32(0) !== 0x774f4646) return bad('another signature');
  const flavor = view.getUint32(4);
  const count = view.getUint16(12);
  const tables = Array.from({ length: count }, (_, index) => {
    const at = 44 + index * 20;
    const [tag, offset, packed, length, checksum] = [0, 4, 8, 12, 16].map((step) =>
      view.getUint32(at + step),
    ) as [number, number, number, number, number];
    const raw = bytes.subarray(offset, offset + packed);
    return { tag, checksum, length, data: packed < length ? inflateSync(raw) : raw };
  });
  if (tables.some((one) => one.data.byteLength !== one.length))
    return bad('a table of another length than stated');
  const size = 12 + 16 * count + tables.reduce((sum, one) => sum + padded(one.length), 0);
  const out = new Uint8Array(size);
  const write = new DataView(out.buffer);
  const power = 2 ** Math.floor(Math.log2(count));
  write.setUint32(0, flavor);
  write.setUint16(4, count);
  write.setUint16(6, power * 16);
  write.setUint16(8, Math.log2(power));
  write.setUint16(10, (count - power) * 16);
  let at = 12 + 16 * count;
  for (const [index, table] of tables.entries()) {
    const row = 12 + 16 * index;
    write.setUint32(row, table.tag);
    write.setUint32(row + 4, table.checksum);
    write.setUint32(row + 8, at);
    write.setUint32(row + 12, table.length);
    out.set(table.data, at);
    at += padded(table.length);
  }
  return out;
}
