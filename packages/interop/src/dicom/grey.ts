/**
 * Samples of any of the colour models of ultrasound to one grey byte a pixel.
 *
 * Source    DICOM PS3.3 C.7.6.3 and C.11.2 (S-dicom-ps3.3); brightness weights ITU-R BT.601 (S-bt601)
 */
import type { GreyPlane } from '@ebbline/imaging';
import type { Samples } from '../codecs/index.ts';
import type { Colour, PixelFormat } from './pixel-format.ts';

/** Grey, or brightness of one component, of each value that a sample can hold. */
export type Tones = Uint8Array;

/**
 * Tones of a grey picture. `usedBits` is how many of the stored bits any pixel of the picture uses: eight bits kept in
 * words that claim sixteen come out as they are, not as black.
 */
export function greyTones(format: PixelFormat, aligned: boolean, usedBits = format.bitsStored): Tones {
  const { bitsStored, signed, window, rescale } = format;
  const shift = aligned ? 0 : format.highBit + 1 - bitsStored;
  const mask = 2 ** bitsStored - 1;
  const half = 2 ** (bitsStored - 1);
  const bits = signed ? bitsStored : Math.min(bitsStored, Math.max(8, usedBits));
  const lowest = signed ? -half : 0;
  const span = 2 ** bits - 1;
  const upsideDown = (format.colour === 'inverted-grey') !== (rescale.slope < 0 && !window);
  const tones = new Uint8Array(2 ** format.bitsAllocated);
  for (let word = 0; word < tones.length; word += 1) {
    const raw = (word >>> shift) & mask;
    const stored = signed && raw >= half ? raw - 2 * half : raw;
    const share = window
      ? (stored * rescale.slope + rescale.intercept - (window.centre - 0.5)) / (window.width - 1) + 0.5
      : (stored - lowest) / span;
    const tone = Math.round(255 * Math.max(0, Math.min(1, share)));
    tones[word] = upsideDown ? 255 - tone : tone;
  }
  return tones;
}

/** Tones of one component of a colour picture: its upper eight bits. */
export function colourTones(format: PixelFormat, aligned: boolean): Tones {
  const shift = aligned ? 0 : format.highBit + 1 - format.bitsStored;
  const mask = 2 ** format.bitsStored - 1;
  const tones = new Uint8Array(2 ** format.bitsAllocated);
  for (let word = 0; word < tones.length; word += 1) {
    const value = (word >>> shift) & mask;
    tones[word] =
      format.bitsStored >= 8 ? value >>> (format.bitsStored - 8) : value << (8 - format.bitsStored);
  }
  return tones;
}

export function greyFrame(
  samples: Samples,
  { width, height }: { readonly width: number; readonly height: number },
  colour: Colour,
  planar: boolean,
  tones: Tones,
): GreyPlane {
  const pixels = width * height;
  const grey = new Uint8Array(pixels);
  const tone = (at: number): number => tones[samples[at] as number] as number;
  if (colour === 'ybr-422') {
    // Two brightnesses, then the two colour differences they share: Y Y Cb Cr.
    for (let at = 0; at < pixels; at += 1) grey[at] = tone((at >> 1) * 4 + (at & 1));
  } else if (colour === 'rgb' || colour === 'ybr') {
    const step = planar ? 1 : 3;
    const apart = planar ? pixels : 1;
    for (let at = 0; at < pixels; at += 1) {
      const first = at * step;
      grey[at] =
        colour === 'ybr'
          ? tone(first)
          : (299 * tone(first) + 587 * tone(first + apart) + 114 * tone(first + 2 * apart) + 500) / 1000;
    }
  } else for (let at = 0; at < pixels; at += 1) grey[at] = tone(at);
  return { width, height, grey };
}
