/**
 * The frames of a DICOM image as grey planes.
 *
 * Errors    dicom/frames-missing, dicom/frames-more, dicom/transfer-syntax, dicom/frame-damaged, dicom/bits, dicom/palette
 * Source    DICOM PS3.5 chapter 8 and annex A.4, PS3.3 C.7.6.3 (S-dicom-ps3.5, S-dicom-ps3.3)
 */
import type { GreyPlane } from '@ebbline/imaging';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { frameDecoder, type FrameFault, type Samples } from '../codecs/index.ts';
import { uint32, type DataSet, type Element, type Extent } from './elements.ts';
import { colourTones, greyFrame, greyTones, type Tones } from './grey.ts';
import { paletteTones } from './palette.ts';
import type { Colour, PixelFormat } from './pixel-format.ts';

interface RawFrame {
  readonly samples: Samples;
  readonly colour: Colour;
  readonly planar: boolean;
}

const nativeSyntaxes = [
  '1.2.840.10008.1.2',
  '1.2.840.10008.1.2.1',
  '1.2.840.10008.1.2.1.99',
  '1.2.840.10008.1.2.2',
];

const no = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(`dicom/${code}`, { asked: 'Ultrasound image', found, allowed, todo });

const tooFew = no(
  'frames-missing',
  'fewer frames or pixels than the header says',
  'as many as rows × columns × frames',
  'Send the image again from its source.',
);
const tooMany = no(
  'frames-more',
  'more frames or pixels than the header says',
  'as many as rows × columns × frames',
  'Send the image again from its source; its size may have been changed by hand.',
);
const frameFaults: Readonly<Record<FrameFault, Refusal>> = {
  'frame-damaged': no(
    'frame-damaged',
    'a frame that does not unpack to its size',
    'a whole frame in the stated coding',
    'Send the image again from its source.',
  ),
  'frame-bits': no(
    'bits',
    'a packed frame of more bits than its coding is read with',
    'JPEG with 8 bits; lossless JPEG, JPEG-LS and JPEG 2000 with up to 16',
    'Export the image with 8 bits.',
  ),
};

export async function greyFrames(
  data: DataSet,
  pixels: Element,
  transferSyntax: string,
  format: PixelFormat,
): Promise<readonly GreyPlane[] | Refusal> {
  const native = nativeSyntaxes.includes(transferSyntax);
  // Decoders put the lowest stored bit lowest; RLE and plain samples are as written.
  const aligned = !native && transferSyntax !== '1.2.840.10008.1.2.5';
  const toneOf = colourOrPalette(data, format, aligned);
  if (isRefusal(toneOf)) return toneOf;
  const next = native
    ? nativeFrames(data, pixels, format)
    : packedFrames(data, pixels, transferSyntax, format);
  if (isRefusal(next)) return next;
  // How many bits a deep grey picture uses is known only when all its frames are.
  const deep: RawFrame[] = [];
  const frames: GreyPlane[] = [];
  for (let index = 0; index < format.frameCount; index += 1) {
    const raw = await next(index);
    if (isRefusal(raw)) return raw;
    if (toneOf) frames.push(greyFrame(raw.samples, format, raw.colour, raw.planar, toneOf));
    else deep.push(raw);
  }
  if (toneOf) return frames;
  const tones = greyTones(format, aligned, usedBits(deep, format, aligned));
  return deep.map((raw) => greyFrame(raw.samples, format, raw.colour, raw.planar, tones));
}

/** Tones that are known beforehand; undefined for deep grey without a window. */
function colourOrPalette(data: DataSet, format: PixelFormat, aligned: boolean): Tones | Refusal | undefined {
  if (format.colour === 'palette') return paletteTones(data, format);
  if (format.colour !== 'grey' && format.colour !== 'inverted-grey') return colourTones(format, aligned);
  return format.bitsStored <= 8 || format.window || format.signed ? greyTones(format, aligned) : undefined;
}

function usedBits(frames: readonly RawFrame[], format: PixelFormat, aligned: boolean): number {
  const shift = aligned ? 0 : format.highBit + 1 - format.bitsStored;
  const mask = 2 ** format.bitsStored - 1;
  let union = 0;
  for (const { samples } of frames) for (const word of samples) union |= (word >>> shift) & mask;
  return 32 - Math.clz32(union);
}

type NextFrame = (index: number) => RawFrame | Refusal | Promise<RawFrame | Refusal>;

function nativeFrames(data: DataSet, pixels: Element, format: PixelFormat): NextFrame | Refusal {
  if (pixels.fragments) return frameFaults['frame-damaged'];
  const { width, height, components, frameCount, bitsAllocated } = format;
  const bytesASample = bitsAllocated / 8;
  const samplesOf = (perPixel: number): number => width * height * perPixel;
  const bytesOf = (perPixel: number): number => samplesOf(perPixel) * bytesASample * frameCount;
  let { colour } = format;
  let perPixel = colour === 'ybr-422' ? 2 : components;
  // Some writers say halved colour and write it whole.
  if (colour === 'ybr-422' && pixels.length - bytesOf(3) >= 0 && pixels.length - bytesOf(3) <= 1) {
    colour = 'ybr';
    perPixel = 3;
  }
  if (pixels.length < bytesOf(perPixel)) return tooFew;
  if (pixels.length > bytesOf(perPixel) + 1) return tooMany;
  const count = samplesOf(perPixel);
  const { bytes, view } = data;
  const { littleEndian } = data.coding;
  // Bytes that a big-endian writer put in words stand in swapped pairs.
  const swapped = !littleEndian && pixels.vr === 'OW' && bytesASample === 1;
  return (index) => {
    const start = index * count;
    let samples: Samples;
    if (bytesASample === 2) {
      samples = new Uint16Array(count);
      for (let at = 0; at < count; at += 1)
        samples[at] = view.getUint16(pixels.offset + 2 * (start + at), littleEndian);
    } else if (swapped) {
      samples = new Uint8Array(count);
      for (let at = 0; at < count; at += 1) samples[at] = bytes[pixels.offset + ((start + at) ^ 1)] as number;
    } else samples = bytes.subarray(pixels.offset + start, pixels.offset + start + count);
    return { samples, colour, planar: format.planar };
  };
}

function packedFrames(
  data: DataSet,
  pixels: Element,
  transferSyntax: string,
  format: PixelFormat,
): NextFrame | Refusal {
  const decode = frameDecoder(transferSyntax);
  if (!decode) {
    return no(
      'transfer-syntax',
      'a coding of the picture that we do not read',
      'uncompressed, deflated, RLE, JPEG baseline, JPEG lossless, JPEG-LS, JPEG 2000',
      'Export the image without compression.',
    );
  }
  const groups = fragmentsOfFrames(data, pixels, format.frameCount);
  if (isRefusal(groups)) return groups;
  return async (index) => {
    const decoded = await decode(joined(data.bytes, groups[index] as readonly Extent[]), format);
    if (typeof decoded === 'string') return frameFaults[decoded];
    if (decoded.isRgb) return { ...decoded, colour: 'rgb' };
    // A decoder gives every pixel its own colour, whatever the header says about halves.
    return { ...decoded, colour: format.colour === 'ybr-422' ? 'ybr' : format.colour };
  };
}

/** Which pieces make each frame: one each, or by an offset table, or by the ends that JPEG streams have. */
function fragmentsOfFrames(
  data: DataSet,
  pixels: Element,
  frameCount: number,
): readonly (readonly Extent[])[] | Refusal {
  const [table, ...pieces] = pixels.fragments ?? [];
  if (!table || pieces.length === 0) return frameFaults['frame-damaged'];
  if (pieces.length < frameCount) return tooFew;
  const offsets = offsetTable(data, table) ?? extendedOffsetTable(data);
  if (offsets && offsets.length > frameCount) return tooMany;
  const starts = offsets && new Set(offsets);
  if (frameCount === 1) return [pieces];
  if (pieces.length === frameCount) return pieces.map((one) => [one]);
  const groups: Extent[][] = [];
  const origin = (pieces[0] as Extent).offset;
  for (const [index, piece] of pieces.entries()) {
    const before = pieces[index - 1];
    const opens = starts
      ? starts.has(piece.offset - origin)
      : before === undefined || endsStream(data.bytes, before);
    if (opens || groups.length === 0) groups.push([]);
    (groups.at(-1) as Extent[]).push(piece);
  }
  if (groups.length < frameCount) return tooFew;
  return groups.length > frameCount ? tooMany : groups;
}

function offsetTable(data: DataSet, table: Extent): number[] | undefined {
  if (table.length < 4) return undefined;
  return Array.from({ length: table.length >> 2 }, (_, index) =>
    data.view.getUint32(table.offset + 4 * index, true),
  );
}

/** Offsets of eight bytes; no file that we take is so long that the upper four matter. */
function extendedOffsetTable(data: DataSet): number[] | undefined {
  const element = data.elements.get(0x7fe0_0001);
  if (!element || element.length < 8) return undefined;
  return Array.from(
    { length: element.length >> 3 },
    (_, index) => uint32(data, 0x7fe0_0001, 2 * index) as number,
  );
}

/** True when a piece ends with the mark that ends every JPEG stream, perhaps padded. */
function endsStream(bytes: Uint8Array, { offset, length }: Extent): boolean {
  for (const padding of [0, 1]) {
    const end = offset + length - padding;
    if (length >= 2 + padding && bytes[end - 2] === 0xff && bytes[end - 1] === 0xd9) return true;
  }
  return false;
}

function joined(bytes: Uint8Array, pieces: readonly Extent[]): Uint8Array {
  const out = new Uint8Array(pieces.reduce((sum, one) => sum + one.length, 0));
  let to = 0;
  for (const { offset, length } of pieces) {
    out.set(bytes.subarray(offset, offset + length), to);
    to += length;
  }
  return out;
}
