/**
 * Writes a DICOM file: explicit little endian, elements in ascending order, text in UTF-8 padded to an even length.
 *
 * Domain    values of at most 65 534 bytes in the short representations
 * Source    DICOM PS3.5 chapter 7, PS3.10 chapter 7 (S-dicom-ps3.5)
 */
type LongVr = 'OB' | 'SQ' | 'UT';
type TextVr = 'AE' | 'AS' | 'CS' | 'DA' | 'DS' | 'DT' | 'IS' | 'LO' | 'PN' | 'SH' | 'ST' | 'TM' | 'UI' | 'UT';

export type OutElement =
  | { readonly tag: number; readonly vr: TextVr; readonly text: string }
  | { readonly tag: number; readonly vr: 'SQ'; readonly items: readonly (readonly OutElement[])[] }
  | { readonly tag: number; readonly vr: 'OB'; readonly bytes: Uint8Array };

/** The own mark of this program as a writer of files; it names the program, not a person or a place. */
export const implementationUid = '2.25.113482045618290237146650912837465510293';
const implementationName = 'EBBLINE';
const explicitLittleEndian = '1.2.840.10008.1.2.1';

const longForms: ReadonlySet<string> = new Set<LongVr>(['OB', 'SQ', 'UT']);
const encoder = new TextEncoder();

export const text = (tag: number, vr: TextVr, value: string): OutElement => ({ tag, vr, text: value });
export const sequence = (tag: number, ...items: (readonly OutElement[])[]): OutElement => ({
  tag,
  vr: 'SQ',
  items,
});

function valueOf(element: OutElement): Uint8Array {
  if ('bytes' in element) return element.bytes;
  if ('items' in element) return joined(element.items.map(item));
  const bytes = encoder.encode(element.text);
  if (bytes.length % 2 === 0) return bytes;
  const padded = new Uint8Array(bytes.length + 1).fill(element.vr === 'UI' ? 0 : 0x20);
  padded.set(bytes);
  return padded;
}

function item(elements: readonly OutElement[]): Uint8Array {
  const value = encodeElements(elements);
  const head = new Uint8Array(8);
  const view = new DataView(head.buffer);
  view.setUint16(0, 0xfffe, true);
  view.setUint16(2, 0xe000, true);
  view.setUint32(4, value.length, true);
  return joined([head, value]);
}

export function encodeElements(elements: readonly OutElement[]): Uint8Array {
  const ordered = elements.toSorted((a, b) => a.tag - b.tag);
  return joined(
    ordered.map((element) => {
      const value = valueOf(element);
      const long = longForms.has(element.vr);
      const head = new Uint8Array(long ? 12 : 8);
      const view = new DataView(head.buffer);
      view.setUint16(0, element.tag >>> 16, true);
      view.setUint16(2, element.tag & 0xffff, true);
      head.set(encoder.encode(element.vr), 4);
      if (long) view.setUint32(8, value.length, true);
      else view.setUint16(6, value.length, true);
      return joined([head, value]);
    }),
  );
}

/** A whole file: preamble, head and data set. */
export function encodeFile(
  sopClassUid: string,
  sopInstanceUid: string,
  elements: readonly OutElement[],
): Uint8Array {
  const head = encodeElements([
    { tag: 0x0002_0001, vr: 'OB', bytes: Uint8Array.of(0, 1) },
    text(0x0002_0002, 'UI', sopClassUid),
    text(0x0002_0003, 'UI', sopInstanceUid),
    text(0x0002_0010, 'UI', explicitLittleEndian),
    text(0x0002_0012, 'UI', implementationUid),
    text(0x0002_0013, 'SH', implementationName),
  ]);
  const length = new Uint8Array(12);
  const view = new DataView(length.buffer);
  view.setUint16(0, 2, true);
  length.set(encoder.encode('UL'), 4);
  view.setUint16(6, 4, true);
  view.setUint32(8, head.length, true);
  const mark = new Uint8Array(132);
  mark.set(encoder.encode('DICM'), 128);
  return joined([mark, length, head, encodeElements(elements)]);
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, one) => sum + one.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
