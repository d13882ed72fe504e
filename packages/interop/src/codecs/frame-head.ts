/**
 * What a packed frame says of itself, read from its first markers, so that a wrong or giant size is found before a
 * decoder takes memory for it.
 *
 * Source    ISO/IEC 10918-1 annex B (S-jpeg), ISO/IEC 14495-1 annex C (S-jpeg-ls), ISO/IEC 15444-1 annex A (S-jpeg2000)
 */
export interface FrameHead {
  readonly width: number;
  readonly height: number;
  readonly components: number;
  readonly bits: number;
  /** Second byte of the marker that opened the frame; 0 for JPEG 2000. */
  readonly process: number;
  /** The stream itself turns colour differences into red, green, blue (JPEG 2000). */
  readonly colourTransform: boolean;
  /** An application marker says how the colours stand (JPEG: JFIF or Adobe). */
  readonly coloursStated: boolean;
}

const mostTiles = 1024;
const mostScans = 64;

/** The head of a JPEG or JPEG-LS stream. */
export function jpegHead(bytes: Uint8Array): FrameHead | undefined {
  if (bytes[0] !== 0xff || bytes[1] !== 0xd8) return undefined;
  const word = (at: number): number => ((bytes[at] as number) << 8) | (bytes[at + 1] as number);
  let coloursStated = false;
  let at = 2;
  while (at + 9 < bytes.length) {
    if (bytes[at] !== 0xff) return undefined;
    const marker = bytes[at + 1] as number;
    if (marker === 0xff) {
      at += 1;
      continue;
    }
    if (marker === 0xe0 || marker === 0xee) coloursStated = true;
    // Frame markers are C0 to CF but for tables (C4, CC) and an extension (C8); F7 opens JPEG-LS.
    const opens = marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
    if (opens || marker === 0xf7) {
      return {
        bits: bytes[at + 4] as number,
        height: word(at + 5),
        width: word(at + 7),
        components: bytes[at + 9] as number,
        process: marker,
        colourTransform: false,
        coloursStated,
      };
    }
    const length = word(at + 2);
    if (length < 2 || marker === 0xda || marker === 0xd9) return undefined;
    at += 2 + length;
  }
  return undefined;
}

/** False when a JPEG stream has more scans than a picture needs: each would be unpacked in full. */
export function fewScans(bytes: Uint8Array): boolean {
  let scans = 0;
  for (let at = 0; at + 1 < bytes.length; at += 1)
    if (bytes[at] === 0xff && bytes[at + 1] === 0xda) scans += 1;
  return scans <= mostScans;
}

/** The head of a JPEG 2000 code stream. */
export function jpeg2000Head(bytes: Uint8Array): FrameHead | undefined {
  if (bytes.length < 60 || bytes[0] !== 0xff || bytes[1] !== 0x4f || bytes[2] !== 0xff || bytes[3] !== 0x51)
    return undefined;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const [right, bottom, left, top, tileWidth, tileHeight] = [8, 12, 16, 20, 24, 28].map((at) =>
    view.getUint32(at),
  ) as [number, number, number, number, number, number];
  const components = view.getUint16(40);
  const width = right - left;
  const height = bottom - top;
  if (width < 1 || height < 1 || tileWidth < 1 || tileHeight < 1) return undefined;
  if (Math.ceil(width / tileWidth) * Math.ceil(height / tileHeight) > mostTiles) return undefined;
  if (42 + 3 * components > bytes.length) return undefined;
  // Every component of the same depth and at full size: what ultrasound writes, and all that we unpack.
  for (let one = 0; one < components; one += 1) {
    const from = 42 + 3 * one;
    if (bytes[from] !== bytes[42] || bytes[from + 1] !== 1 || bytes[from + 2] !== 1) return undefined;
  }
  let at = 4 + view.getUint16(4);
  let colourTransform = false;
  // Up to the first tile; the default coding style says whether the colours were transformed.
  while (at + 12 < bytes.length && view.getUint16(at) !== 0xff90) {
    if (view.getUint16(at) === 0xff52) colourTransform = bytes[at + 8] === 1;
    const length = view.getUint16(at + 2);
    if (length < 2) return undefined;
    at += 2 + length;
  }
  return {
    width,
    height,
    components,
    bits: ((bytes[42] as number) & 0x7f) + 1,
    process: 0,
    colourTransform,
    coloursStated: true,
  };
}
