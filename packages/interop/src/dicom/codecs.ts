/**
 * Compressed frames to samples. Each codec is fetched when the first frame needs it, so that a page that opens no such
 * file does not carry it.
 *
 * Out       interleaved samples, 8 bits; JPEG and JPEG 2000 decoders give RGB for three components whatever the file says
 * Errors    dicom/frame-damaged, dicom/transfer-syntax
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { decodeRle } from './rle.ts';

export interface BufferDecoder {
  getEncodedBuffer(length: number): Uint8Array;
  decode(): void;
  getFrameInfo(): { width: number; height: number; componentCount: number; bitsPerSample?: number };
  getDecodedBuffer(): Uint8Array;
  delete(): void;
}

export interface DecodedFrame {
  readonly samples: Uint8Array;
  readonly width: number;
  readonly height: number;
  readonly components: number;
  /** True when the decoder has already turned colour differences into red, green, blue. */
  readonly isRgb: boolean;
  readonly planar: boolean;
}

export interface FrameShape {
  readonly width: number;
  readonly height: number;
  readonly components: number;
}

type FrameDecoder = (bytes: Uint8Array, shape: FrameShape) => Promise<DecodedFrame | Refusal>;

const damagedFrame = (): Refusal =>
  refuse('dicom/frame-damaged', {
    asked: 'Ultrasound image',
    found: 'a frame that can not be unpacked whole',
    allowed: 'a whole frame in the stated coding',
    todo: 'Send the image again from its source.',
  });

// A fresh object for each codec: the codec fills it in and keeps it.
const quiet = (): object => ({ print: (): void => undefined, printErr: (): void => undefined });

const withBuffer = (load: () => Promise<new () => BufferDecoder>): FrameDecoder => {
  let loaded: Promise<new () => BufferDecoder> | undefined;
  return async (bytes, shape) => {
    let decoder: BufferDecoder | undefined;
    try {
      loaded ??= load();
      decoder = new (await loaded)();
      decoder.getEncodedBuffer(bytes.length).set(bytes);
      decoder.decode();
      const info = decoder.getFrameInfo();
      const fits =
        info.width === shape.width &&
        info.height === shape.height &&
        (info.componentCount === 1 || info.componentCount === 3);
      const samples = Uint8Array.from(decoder.getDecodedBuffer());
      if (
        !fits ||
        (info.bitsPerSample ?? 8) > 8 ||
        samples.length !== shape.width * shape.height * info.componentCount
      )
        return damagedFrame();
      return {
        samples,
        width: info.width,
        height: info.height,
        components: info.componentCount,
        isRgb: info.componentCount === 3,
        planar: false,
      };
    } catch {
      // A decoder that gave up may leave its memory in disorder: the next frame gets a new one.
      loaded = undefined;
      return damagedFrame();
    } finally {
      try {
        decoder?.delete();
      } catch {
        loaded = undefined;
      }
    }
  };
};

const jpegBaseline = withBuffer(
  async () =>
    (await (await import('@cornerstonejs/codec-libjpeg-turbo-8bit/decode')).default(quiet())).JPEGDecoder,
);
const jpeg2000 = withBuffer(
  async () => (await (await import('@cornerstonejs/codec-openjpeg/decode')).default(quiet())).J2KDecoder,
);
const jpegLs = withBuffer(
  async () => (await (await import('@cornerstonejs/codec-charls/decode')).default(quiet())).JpegLSDecoder,
);

const jpegLossless: FrameDecoder = async (bytes, shape) => {
  try {
    const head = losslessHead(bytes);
    if (!head || head.width !== shape.width || head.height !== shape.height || head.bits > 8)
      return damagedFrame();
    const { Decoder } = await import('jpeg-lossless-decoder-js');
    const decoder = new Decoder();
    const samples = new Uint8Array(
      decoder.decompress(bytes.buffer as ArrayBuffer, bytes.byteOffset, bytes.length),
    );
    if (samples.length !== shape.width * shape.height * head.components) return damagedFrame();
    return {
      samples,
      width: head.width,
      height: head.height,
      components: head.components,
      isRgb: false,
      planar: false,
    };
  } catch {
    return damagedFrame();
  }
};

/** Size in the start-of-frame marker (SOF3), so that a damaged size is found before memory is taken. */
function losslessHead(
  bytes: Uint8Array,
): { width: number; height: number; bits: number; components: number } | undefined {
  let at = 2;
  while (at + 9 < bytes.length) {
    if (bytes[at] !== 0xff) return undefined;
    const marker = bytes[at + 1] as number;
    const length = ((bytes[at + 2] as number) << 8) | (bytes[at + 3] as number);
    if (marker === 0xc3) {
      return {
        bits: bytes[at + 4] as number,
        height: ((bytes[at + 5] as number) << 8) | (bytes[at + 6] as number),
        width: ((bytes[at + 7] as number) << 8) | (bytes[at + 8] as number),
        components: bytes[at + 9] as number,
      };
    }
    if (length < 2) return undefined;
    at += 2 + length;
  }
  return undefined;
}

const rle: FrameDecoder = async (bytes, shape) => {
  const samples = decodeRle(bytes, shape.width * shape.height, shape.components);
  if (isRefusal(samples)) return samples;
  return {
    samples,
    width: shape.width,
    height: shape.height,
    components: shape.components,
    isRgb: false,
    planar: true,
  };
};

const decoders: Readonly<Record<string, FrameDecoder>> = {
  '1.2.840.10008.1.2.4.50': jpegBaseline,
  '1.2.840.10008.1.2.4.51': jpegBaseline,
  '1.2.840.10008.1.2.4.57': jpegLossless,
  '1.2.840.10008.1.2.4.70': jpegLossless,
  '1.2.840.10008.1.2.4.80': jpegLs,
  '1.2.840.10008.1.2.4.81': jpegLs,
  '1.2.840.10008.1.2.4.90': jpeg2000,
  '1.2.840.10008.1.2.4.91': jpeg2000,
  '1.2.840.10008.1.2.5': rle,
};

/** The decoder of a transfer syntax, if it is one of compressed frames that we read. */
export function frameDecoder(transferSyntax: string): FrameDecoder | undefined {
  return Object.hasOwn(decoders, transferSyntax) ? decoders[transferSyntax] : undefined;
}
