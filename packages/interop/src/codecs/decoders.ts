/**
 * Packed frames to samples. Each decoder is fetched when the first frame needs it, so that a page that opens no such
 * file does not carry it.
 *
 * In        the bytes of one frame, and the size that the file states
 * Out       whole samples, one array element each, right-aligned
 * Domain    1 or 3 components; up to 16 bits, JPEG with losses 8 bits
 * Errors    `frame-damaged`, `frame-bits`: words that the room above turns into its own refusals
 */
import { fewScans, isEnded, jpeg2000Head, jpegHead, type FrameHead } from './frame-head.ts';
import { decodeRle } from './rle.ts';

export interface BufferDecoder {
  getEncodedBuffer(length: number): Uint8Array;
  decode(): void;
  getFrameInfo(): { width: number; height: number; componentCount: number; bitsPerSample?: number };
  getDecodedBuffer(): Uint8Array;
  delete(): void;
}

export type Samples = Uint8Array | Uint16Array;

export interface DecodedFrame {
  readonly samples: Samples;
  readonly components: number;
  /** True when three components are red, green, blue, whatever the file calls them; else as the file says. */
  readonly isRgb: boolean;
  /** Component after component instead of pixel after pixel. */
  readonly planar: boolean;
}

export interface FrameShape {
  readonly width: number;
  readonly height: number;
  readonly components: number;
  /** Bits that one stored sample takes: 8 or 16. */
  readonly bitsAllocated: number;
  /** The file calls its colours red, green, blue. */
  readonly statedRgb: boolean;
}

export type FrameFault = 'frame-damaged' | 'frame-bits';
export type FrameDecoder = (bytes: Uint8Array, shape: FrameShape) => Promise<DecodedFrame | FrameFault>;

// A fresh object for each codec: the codec fills it in and keeps it.
const quiet = (): object => ({ print: (): void => undefined, printErr: (): void => undefined });
// A decoder that met damage may keep some of its memory; after this many it starts afresh.
const mostFaults = 1000;

/**
 * Most samples that one byte of each coding can stand for, so that a small file takes little memory and time whatever it
 * says. A block of 8 × 8 in JPEG needs 2 bits, a sample in lossless JPEG 1 bit. The other two can pack an all-black
 * frame still tighter; such a frame shows nothing, and is refused.
 */
const mostSamplesAByte = { jpeg: 300, lossless: 9, ls: 3000, jpeg2000: 1000 } as const;

/** The stream is whole, of the size that the file states, and long enough for it. */
const fits = (
  coding: keyof typeof mostSamplesAByte,
  bytes: Uint8Array,
  head: FrameHead | undefined,
  shape: FrameShape,
): head is FrameHead =>
  head !== undefined &&
  isEnded(bytes) &&
  shape.width * shape.height * shape.components <= bytes.length * mostSamplesAByte[coding] &&
  head.width === shape.width &&
  head.height === shape.height &&
  head.components === shape.components;

type Load = () => Promise<new () => BufferDecoder>;

/** Runs one of the compiled decoders, and gets a new one when it has given up. */
function keeper(load: Load): (bytes: Uint8Array) => Promise<
  | {
      samples: Samples;
      components: number;
    }
  | undefined
> {
  let loaded: ReturnType<Load> | undefined;
  let faults = 0;
  return async (bytes) => {
    let decoder: BufferDecoder | undefined;
    try {
      loaded ??= load();
      decoder = new (await loaded)();
      decoder.getEncodedBuffer(bytes.length).set(bytes);
      decoder.decode();
      const info = decoder.getFrameInfo();
      // A copy: the buffer is the decoder's own memory.
      const out = Uint8Array.from(decoder.getDecodedBuffer());
      const samples = (info.bitsPerSample ?? 8) > 8 ? new Uint16Array(out.buffer, 0, out.length >> 1) : out;
      if (samples.length !== info.width * info.height * info.componentCount) return undefined;
      return { samples, components: info.componentCount };
    } catch (error) {
      faults += 1;
      // Its own complaints are numbers; anything else means that its memory is in disorder.
      if (faults >= mostFaults || typeof error !== 'number') {
        loaded = undefined;
        faults = 0;
      }
      return undefined;
    } finally {
      try {
        decoder?.delete();
      } catch {
        loaded = undefined;
      }
    }
  };
}

const turbo = keeper(
  async () =>
    (await (await import('@cornerstonejs/codec-libjpeg-turbo-8bit/decode')).default(quiet())).JPEGDecoder,
);
const openJpeg = keeper(
  async () => (await (await import('@cornerstonejs/codec-openjpeg/decode')).default(quiet())).J2KDecoder,
);

/** Says in the stream itself that its colours are red, green, blue: a decoder that is told nothing takes them for differences. */
function markedAsRgb(bytes: Uint8Array): Uint8Array {
  const adobe = [0xff, 0xee, 0, 14, 0x41, 0x64, 0x6f, 0x62, 0x65, 0, 100, 0, 0, 0, 0, 0];
  const out = new Uint8Array(bytes.length + adobe.length);
  out.set(bytes.subarray(0, 2));
  out.set(adobe, 2);
  out.set(bytes.subarray(2), 2 + adobe.length);
  return out;
}

/** JPEG with losses, 8 bits: sequential and, where a picture file needs it, progressive. */
export const decodeJpeg: FrameDecoder = async (bytes, shape) => {
  const head = jpegHead(bytes);
  if (head && head.bits !== 8) return 'frame-bits';
  if (!fits('jpeg', bytes, head, shape) || head.process > 0xc2 || !fewScans(bytes)) return 'frame-damaged';
  const unmarked = head.components === 3 && shape.statedRgb && !head.coloursStated;
  const out = await turbo(unmarked ? markedAsRgb(bytes) : bytes);
  if (!out || out.components !== shape.components) return 'frame-damaged';
  return { samples: out.samples, components: out.components, isRgb: out.components === 3, planar: false };
};

const decodeJpeg2000: FrameDecoder = async (bytes, shape) => {
  const head = jpeg2000Head(bytes);
  if (head && head.bits > 16) return 'frame-bits';
  if (!fits('jpeg2000', bytes, head, shape)) return 'frame-damaged';
  const out = await openJpeg(bytes);
  if (!out || out.components !== shape.components) return 'frame-damaged';
  return { samples: out.samples, components: out.components, isRgb: head.colourTransform, planar: false };
};

const decodeLsFrame: FrameDecoder = async (bytes, shape) => {
  const head = jpegHead(bytes);
  if (head && head.bits > 16) return 'frame-bits';
  if (!fits('ls', bytes, head, shape) || head.process !== 0xf7) return 'frame-damaged';
  const { decodeJpegLs } = await import('./jpeg-ls.ts');
  const out = decodeJpegLs(bytes);
  return out ? { ...out, components: head.components, isRgb: false } : 'frame-damaged';
};

/** The decoder reads ahead into the end mark and then spoils the last sample: zeros before the mark give it room. */
function withRoomAtTheEnd(bytes: Uint8Array): Uint8Array {
  const end = bytes.length - (bytes.at(-1) === 0xd9 ? 2 : 3);
  const out = new Uint8Array(bytes.length + 8);
  out.set(bytes.subarray(0, end));
  out.set(bytes.subarray(end), end + 8);
  return out;
}

const decodeLosslessJpeg: FrameDecoder = async (bytes, shape) => {
  const head = jpegHead(bytes);
  if (head && head.bits > 16) return 'frame-bits';
  if (!fits('lossless', bytes, head, shape) || head.process !== 0xc3) return 'frame-damaged';
  try {
    const { Decoder } = await import('jpeg-lossless-decoder-js');
    const padded = withRoomAtTheEnd(bytes);
    const out = new Decoder().decompress(padded.buffer as ArrayBuffer, padded.byteOffset, padded.length);
    const samples = head.bits > 8 ? new Uint16Array(out) : new Uint8Array(out);
    if (samples.length !== shape.width * shape.height * head.components) return 'frame-damaged';
    return { samples, components: head.components, isRgb: false, planar: false };
  } catch {
    return 'frame-damaged';
  }
};

const decodeRunLengths: FrameDecoder = async (bytes, shape) => {
  const pixels = shape.width * shape.height;
  const samples = decodeRle(bytes, pixels, shape.components, shape.bitsAllocated / 8);
  return samples ? { samples, components: shape.components, isRgb: false, planar: true } : 'frame-damaged';
};

const decoders: Readonly<Record<string, FrameDecoder>> = {
  '1.2.840.10008.1.2.4.50': decodeJpeg,
  '1.2.840.10008.1.2.4.51': decodeJpeg,
  '1.2.840.10008.1.2.4.57': decodeLosslessJpeg,
  '1.2.840.10008.1.2.4.70': decodeLosslessJpeg,
  '1.2.840.10008.1.2.4.80': decodeLsFrame,
  '1.2.840.10008.1.2.4.81': decodeLsFrame,
  '1.2.840.10008.1.2.4.90': decodeJpeg2000,
  '1.2.840.10008.1.2.4.91': decodeJpeg2000,
  '1.2.840.10008.1.2.5': decodeRunLengths,
};

/** The decoder of a transfer syntax, if it is one of packed frames that we read. */
export function frameDecoder(transferSyntax: string): FrameDecoder | undefined {
  return Object.hasOwn(decoders, transferSyntax) ? decoders[transferSyntax] : undefined;
}
