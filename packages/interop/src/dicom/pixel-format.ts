/**
 * How the picture of a DICOM image is written: size, frames, bits and colour, read and checked before any memory is
 * taken for it.
 *
 * Domain    at least 8 × 8 pixels, at most 25 million a frame and 256 million in all; 8 or 16 bits a sample
 * Errors    dicom/picture-size, dicom/bits, dicom/colour
 * Source    DICOM PS3.3 C.7.6.3 and C.11.2 (S-dicom-ps3.3)
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import { decimal, plainText, uint16, type DataSet } from './elements.ts';

export type Colour = 'grey' | 'inverted-grey' | 'palette' | 'rgb' | 'ybr' | 'ybr-422';

export interface PixelFormat {
  readonly width: number;
  readonly height: number;
  readonly frameCount: number;
  readonly components: number;
  readonly colour: Colour;
  /** The header itself says red, green, blue: not colour differences that a codec turned. */
  readonly statedRgb: boolean;
  /** Component after component instead of pixel after pixel. */
  readonly planar: boolean;
  readonly bitsAllocated: 8 | 16;
  readonly bitsStored: number;
  readonly highBit: number;
  readonly signed: boolean;
  /** Stored value to shown brightness, when the file says so. */
  readonly window?: { readonly centre: number; readonly width: number };
  readonly rescale: { readonly slope: number; readonly intercept: number };
}

const mostPixels = 256e6;
const mostPixelsAFrame = 25e6;

const no = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(`dicom/${code}`, { asked: 'Ultrasound image', found, allowed, todo });

export function readPixelFormat(data: DataSet): PixelFormat | Refusal {
  const width = uint16(data, 0x0028_0011) ?? 0;
  const height = uint16(data, 0x0028_0010) ?? 0;
  const components = uint16(data, 0x0028_0002) ?? 0;
  const frameCount = data.elements.has(0x0028_0008) ? (decimal(data, 0x0028_0008) ?? 0) : 1;
  const fine =
    width >= 8 &&
    height >= 8 &&
    Number.isInteger(frameCount) &&
    frameCount >= 1 &&
    width * height <= mostPixelsAFrame &&
    width * height * frameCount <= mostPixels;
  if (!fine) {
    return no(
      'picture-size',
      `${width} × ${height}, ${frameCount} frames`,
      `at least 8 × 8 pixels and 1 frame, at most ${mostPixelsAFrame / 1e6} million pixels a frame and ${mostPixels / 1e6} million in all`,
      'Check the image at its source.',
    );
  }
  const bitsAllocated = uint16(data, 0x0028_0100);
  const bitsStored = uint16(data, 0x0028_0101) ?? bitsAllocated ?? 0;
  const highBit = uint16(data, 0x0028_0102) ?? bitsStored - 1;
  if (
    (bitsAllocated !== 8 && bitsAllocated !== 16) ||
    bitsStored < 1 ||
    bitsStored > bitsAllocated ||
    highBit >= bitsAllocated ||
    highBit + 1 < bitsStored
  ) {
    return no(
      'bits',
      `${bitsAllocated ?? 'no'} bits a sample, ${bitsStored} of them used`,
      '8 or 16 bits a sample, all or fewer of them used',
      'Export the image with 8 bits.',
    );
  }
  const stated = plainText(data, 0x0028_0004) ?? '';
  const colour = colourOf(stated, components);
  if (!colour || (colour === 'ybr-422' && width % 2 === 1)) {
    return no(
      'colour',
      colour ? 'halved colour in rows of odd length' : 'a kind of colour we do not read',
      'MONOCHROME1, MONOCHROME2, RGB, YBR_FULL, YBR_FULL_422, YBR_RCT, YBR_ICT, PALETTE COLOR',
      'Export the image in grey or in RGB.',
    );
  }
  const centre = decimal(data, 0x0028_1050);
  const windowWidth = decimal(data, 0x0028_1051);
  const slope = decimal(data, 0x0028_1053) ?? 1;
  return {
    width,
    height,
    frameCount,
    components,
    colour,
    statedRgb: stated === 'RGB',
    planar: uint16(data, 0x0028_0006) === 1,
    bitsAllocated,
    bitsStored,
    highBit,
    signed: uint16(data, 0x0028_0103) === 1,
    ...(centre !== undefined && windowWidth !== undefined && windowWidth > 1
      ? { window: { centre, width: windowWidth } }
      : {}),
    rescale: { slope: slope === 0 ? 1 : slope, intercept: decimal(data, 0x0028_1052) ?? 0 },
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
