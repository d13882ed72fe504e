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
const mostTileParts = 8192;
const mostLayers = 64;
const mostHalvings = 12;
const startOfTile = 0xff90;
const startOfData = 0xff93;
const endOfStream = 0xffd9;
const codingStyle = 0xff52;
const componentStyle = 0xff53;
const progressChange = 0xff5f;

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
  const main = markers(bytes, view, 4 + view.getUint16(4));
  if (!main || !tilePartsHold(bytes, view, main.end)) return undefined;
  return {
    width,
    height,
    components,
    bits: ((bytes[42] as number) & 0x7f) + 1,
    process: 0,
    colourTransform: main.colourTransform,
    coloursStated: true,
  };
}

/**
 * The markers from `start` up to the first tile part or data; undefined when they run over or ask for more quality layers
 * or halvings than a picture needs, each of which costs time whether it holds anything or not.
 */
function markers(
  bytes: Uint8Array,
  view: DataView,
  start: number,
): { readonly end: number; readonly colourTransform: boolean } | undefined {
  let at = start;
  let colourTransform = false;
  while (at + 4 <= bytes.length) {
    const marker = view.getUint16(at);
    if (marker === startOfTile || marker === startOfData) return { end: at, colourTransform };
    const length = view.getUint16(at + 2);
    if (length < 2 || marker < 0xff00) return undefined;
    if (marker === codingStyle) {
      if (at + 10 > bytes.length) return undefined;
      if (view.getUint16(at + 6) > mostLayers || (bytes[at + 9] as number) > mostHalvings) return undefined;
      colourTransform = bytes[at + 8] === 1;
    }
    // Other orders of progress and per-component styles can ask for the same work again.
    if (marker === componentStyle || marker === progressChange) return undefined;
    at += 2 + length;
  }
  return undefined;
}

/** True when every tile part lies inside the stream and its own markers ask for nothing unusual. */
function tilePartsHold(bytes: Uint8Array, view: DataView, start: number): boolean {
  let at = start;
  for (let part = 0; part < mostTileParts; part += 1) {
    if (at + 2 > bytes.length) return false;
    const marker = view.getUint16(at);
    if (marker === endOfStream) return part > 0;
    if (marker !== startOfTile || at + 12 > bytes.length) return false;
    const length = view.getUint32(at + 6);
    if (!markers(bytes, view, at + 12)) return false;
    // A last part may leave its length open.
    if (length === 0) return true;
    if (length < 14 || at + length > bytes.length) return false;
    at += length;
  }
  return false;
}

/** True when a stream of the JPEG kinds ends with its mark, perhaps padded: one that was cut off does not. */
export function isEnded(bytes: Uint8Array): boolean {
  for (const padding of [0, 1]) {
    const end = bytes.length - padding;
    if (end >= 4 && bytes[end - 2] === 0xff && bytes[end - 1] === 0xd9) return true;
  }
  return false;
}
