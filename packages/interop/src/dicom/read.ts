/**
 * Reads a DICOM ultrasound image into grey frames, with its scale or the reason why it has none. Nothing else of the
 * header leaves this file: no name, no identifier, no maker, no free text.
 *
 * In        the bytes of one file
 * Out       frames (grey, one byte a pixel), scale or refusal, the plane layout if the comment states it in our words
 * Errors    dicom/not-dicom, dicom/damaged, dicom/not-ultrasound-image, dicom/no-pixels, dicom/picture-size,
 *           dicom/bits, dicom/colour, dicom/transfer-syntax, dicom/frame-damaged, dicom/frames-missing
 * Source    DICOM PS3.3 and PS3.5 (S-dicom-ps3.3, S-dicom-ps3.5)
 */
import type { GreyPlane } from '@ebbline/imaging';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import dicomParser, { type DataSet, type Element } from 'dicom-parser';
import { frameDecoder, type DecodedFrame } from './codecs.ts';
import { greyFrame, readPalette, type Colour, type Palette } from './grey.ts';
import { layoutInComment, type StatedLayout } from './layout-comment.ts';
import { pictureScale, type PictureScale, type UltrasoundRegion } from './regions.ts';

export interface UltrasoundImage {
  readonly frames: readonly GreyPlane[];
  readonly scale: PictureScale | Refusal;
  readonly layout?: StatedLayout;
}

const ultrasoundClasses = [
  '1.2.840.10008.5.1.4.1.1.6.1',
  '1.2.840.10008.5.1.4.1.1.3.1',
  '1.2.840.10008.5.1.4.1.1.6',
  '1.2.840.10008.5.1.4.1.1.3',
];
const nativeSyntaxes = ['1.2.840.10008.1.2', '1.2.840.10008.1.2.1', '1.2.840.10008.1.2.2'];
const bigEndian = '1.2.840.10008.1.2.2';
const mostPixels = 400e6;

const no = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(`dicom/${code}`, { asked: 'Ultrasound image', found, allowed, todo });
const damaged = no(
  'damaged',
  'a file that breaks off or contradicts itself',
  'a whole DICOM file',
  'Send the file again from its source.',
);

/** True when the bytes carry the mark of a DICOM file. */
export function looksLikeDicom(bytes: Uint8Array): boolean {
  return (
    bytes.length > 140 &&
    bytes[128] === 0x44 &&
    bytes[129] === 0x49 &&
    bytes[130] === 0x43 &&
    bytes[131] === 0x4d
  );
}

export async function readUltrasound(bytes: Uint8Array): Promise<UltrasoundImage | Refusal> {
  if (!looksLikeDicom(bytes)) {
    return no(
      'not-dicom',
      'a file without the DICOM mark',
      'a DICOM file with its preamble',
      'Export the image as a DICOM file.',
    );
  }
  try {
    return await readChecked(bytes);
  } catch {
    // The parser throws on broken structure; its message may quote the file, so it goes no further.
    return damaged;
  }
}

async function readChecked(bytes: Uint8Array): Promise<UltrasoundImage | Refusal> {
  const data = dicomParser.parseDicom(bytes);
  const sopClass = data.string('x00080016') ?? '';
  if (!ultrasoundClasses.includes(sopClass)) {
    return no(
      'not-ultrasound-image',
      'an object of another kind, such as a report',
      'an ultrasound image or an ultrasound multi-frame image',
      'Choose the image itself.',
    );
  }
  const syntax = data.string('x00020010') ?? '';
  const pixels = data.elements['x7fe00010'];
  if (!pixels || pixels.length === 0)
    return no('no-pixels', 'no picture', 'an image with its pixels', 'Send the whole image.');
  const width = data.uint16('x00280011') ?? 0;
  const height = data.uint16('x00280010') ?? 0;
  const components = data.uint16('x00280002') ?? 0;
  const frameCount = data.elements['x00280008'] ? (data.intString('x00280008') ?? 0) : 1;
  if (
    !(
      width >= 8 &&
      height >= 8 &&
      frameCount >= 1 &&
      Number.isInteger(frameCount) &&
      width * height * frameCount <= mostPixels
    )
  ) {
    return no(
      'picture-size',
      `${width} × ${height}, ${frameCount} frames`,
      `at least 8 × 8 pixels and 1 frame, at most ${mostPixels} pixels in all`,
      'Check the image at its source.',
    );
  }
  if (data.uint16('x00280100') !== 8) {
    return no(
      'bits',
      `${data.uint16('x00280100') ?? 'no'} bits a sample`,
      '8 bits a sample',
      'Export the image with 8 bits.',
    );
  }
  const stated = (data.string('x00280004') ?? '').trim();
  const colour = colourOf(stated, components);
  if (!colour)
    return no(
      'colour',
      'a kind of colour we do not read',
      'MONOCHROME1, MONOCHROME2, RGB, YBR_FULL, YBR_FULL_422, YBR_RCT, YBR_ICT, PALETTE COLOR',
      'Export the image in grey or in RGB.',
    );
  let palette: Palette | undefined;
  if (colour === 'palette') {
    const read = readPalette(data);
    if (isRefusal(read)) return read;
    palette = read;
  }
  const planar = data.uint16('x00280006') === 1;
  const frames = nativeSyntaxes.includes(syntax)
    ? nativeFrames(data, pixels, {
        width,
        height,
        components,
        frameCount,
        colour,
        planar,
        palette,
        bigEndian: syntax === bigEndian,
      })
    : await packedFrames(data, pixels, syntax, { width, height, components, frameCount, colour, palette });
  if (isRefusal(frames)) return frames;
  const spacing = pixelSpacing(data);
  const layout = layoutInComment(data.text('x00204000') ?? '');
  return {
    frames,
    scale: pictureScale(readRegions(data), { width, height }, spacing),
    ...(layout ? { layout } : {}),
  };
}

function colourOf(stated: string, components: number): Colour | undefined {
  if (components === 1 && stated === 'MONOCHROME2') return 'grey';
  if (components === 1 && stated === 'MONOCHROME1') return 'inverted-grey';
  if (components === 1 && stated === 'PALETTE COLOR') return 'palette';
  if (components !== 3) return undefined;
  if (stated === 'RGB' || stated === 'YBR_RCT' || stated === 'YBR_ICT') return 'rgb';
  if (stated === 'YBR_FULL') return 'ybr';
  return stated === 'YBR_FULL_422' ? 'ybr-422' : undefined;
}

interface Shape {
  readonly width: number;
  readonly height: number;
  readonly components: number;
  readonly frameCount: number;
  readonly colour: Colour;
  readonly palette: Palette | undefined;
}

function nativeFrames(
  data: DataSet,
  pixels: Element,
  shape: Shape & { planar: boolean; bigEndian: boolean },
): GreyPlane[] | Refusal {
  const perPixel = shape.colour === 'ybr-422' ? 2 : shape.components;
  const size = shape.width * shape.height * perPixel;
  if (
    pixels.encapsulatedPixelData ||
    pixels.length < size * shape.frameCount ||
    pixels.dataOffset + pixels.length > data.byteArray.length
  ) {
    return no(
      'frames-missing',
      'fewer pixels than the header says',
      'as many pixels as rows × columns × frames',
      'Send the image again from its source.',
    );
  }
  const frames: GreyPlane[] = [];
  for (let frame = 0; frame < shape.frameCount; frame += 1) {
    const start = pixels.dataOffset + frame * size;
    let samples = data.byteArray.subarray(start, start + size) as Uint8Array;
    // 8-bit samples written as 16-bit words by a big-endian writer stand in swapped pairs.
    if (shape.bigEndian && pixels.vr === 'OW' && size % 2 === 0) {
      samples = Uint8Array.from(samples, (_, index) => samples[index ^ 1] as number);
    }
    frames.push(greyFrame(samples, shape.width, shape.height, shape.colour, shape.planar, shape.palette));
  }
  return frames;
}

async function packedFrames(
  data: DataSet,
  pixels: Element,
  syntax: string,
  shape: Shape,
): Promise<GreyPlane[] | Refusal> {
  const decode = frameDecoder(syntax);
  if (!decode) {
    return no(
      'transfer-syntax',
      'a coding of the picture that we do not read',
      'uncompressed, RLE, JPEG baseline, JPEG lossless, JPEG-LS, JPEG 2000',
      'Export the image without compression.',
    );
  }
  if (!pixels.encapsulatedPixelData || !pixels.fragments || pixels.fragments.length === 0) return damaged;
  if (pixels.fragments.length < shape.frameCount) {
    return no(
      'frames-missing',
      'fewer frames than the header says',
      'one frame for each that the header counts',
      'Send the image again from its source.',
    );
  }
  const frames: GreyPlane[] = [];
  for (let frame = 0; frame < shape.frameCount; frame += 1) {
    const packed = packedFrame(data, pixels, frame, shape.frameCount);
    const decoded: DecodedFrame | Refusal = await decode(packed, shape);
    if (isRefusal(decoded)) return decoded;
    if (decoded.components !== shape.components) return damaged;
    const colour: Colour = decoded.isRgb ? 'rgb' : shape.colour === 'ybr-422' ? 'ybr' : shape.colour;
    frames.push(greyFrame(decoded.samples, shape.width, shape.height, colour, decoded.planar, shape.palette));
  }
  return frames;
}

function packedFrame(data: DataSet, pixels: Element, frame: number, frameCount: number): Uint8Array {
  const fragments = pixels.fragments as NonNullable<Element['fragments']>;
  let packed: Uint8Array;
  if (frameCount === 1)
    packed = dicomParser.readEncapsulatedPixelDataFromFragments(
      data,
      pixels,
      0,
      fragments.length,
    ) as Uint8Array;
  else if (fragments.length === frameCount)
    packed = dicomParser.readEncapsulatedPixelDataFromFragments(data, pixels, frame, 1) as Uint8Array;
  else {
    const table =
      pixels.basicOffsetTable && pixels.basicOffsetTable.length > 0
        ? pixels.basicOffsetTable
        : dicomParser.createJPEGBasicOffsetTable(data, pixels);
    packed = dicomParser.readEncapsulatedImageFrame(data, pixels, frame, table) as Uint8Array;
  }
  return Uint8Array.from(packed);
}

function pixelSpacing(data: DataSet): readonly [number, number] | undefined {
  const row = data.floatString('x00280030', 0);
  const column = data.floatString('x00280030', 1);
  return row !== undefined && column !== undefined && row > 0 && column > 0 ? [row, column] : undefined;
}

function readRegions(data: DataSet): UltrasoundRegion[] {
  const out: UltrasoundRegion[] = [];
  for (const item of data.elements['x00186011']?.items ?? []) {
    const set = item.dataSet;
    if (!set) continue;
    const x = set.int32('x00186020');
    const y = set.int32('x00186022');
    const cmX = set.double('x00186028');
    const cmY = set.double('x0018602a');
    out.push({
      spatialFormat: set.uint16('x00186012') ?? -1,
      dataType: set.uint16('x00186014') ?? -1,
      flags: set.uint32('x00186016') ?? 0,
      minX: set.uint32('x00186018') ?? -1,
      minY: set.uint32('x0018601a') ?? -1,
      maxX: set.uint32('x0018601c') ?? -1,
      maxY: set.uint32('x0018601e') ?? -1,
      unitsX: set.uint16('x00186024') ?? -1,
      unitsY: set.uint16('x00186026') ?? -1,
      deltaX: set.double('x0018602c') ?? 0,
      deltaY: set.double('x0018602e') ?? 0,
      ...(x !== undefined &&
      y !== undefined &&
      cmX !== undefined &&
      cmY !== undefined &&
      [cmX, cmY].every(Number.isFinite)
        ? { reference: { x, y, cmX, cmY } }
        : {}),
    });
  }
  return out;
}
