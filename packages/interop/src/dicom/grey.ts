/**
 * Samples of any of the colour models of ultrasound to one grey byte a pixel.
 *
 * Errors    dicom/palette
 * Source    DICOM PS3.3 C.7.6.3 (S-dicom-ps3.3); brightness weights ITU-R BT.601 (S-bt601)
 */
import type { GreyPlane } from '@ebbline/imaging';
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { DataSet } from 'dicom-parser';

export type Colour = 'grey' | 'inverted-grey' | 'palette' | 'rgb' | 'ybr' | 'ybr-422';

/** Grey of each of the 256 sample values. */
export type Palette = Uint8Array;

export function greyFrame(
  samples: Uint8Array,
  width: number,
  height: number,
  colour: Colour,
  planar: boolean,
  palette: Palette | undefined,
): GreyPlane {
  const pixels = width * height;
  const grey = new Uint8Array(pixels);
  if (colour === 'grey') grey.set(samples.subarray(0, pixels));
  else if (colour === 'inverted-grey')
    for (let at = 0; at < pixels; at += 1) grey[at] = 255 - (samples[at] as number);
  else if (colour === 'palette')
    for (let at = 0; at < pixels; at += 1) grey[at] = palette?.[samples[at] as number] ?? 0;
  else if (colour === 'ybr-422') {
    // Two brightnesses, then the two colour differences they share: Y Y Cb Cr.
    for (let at = 0; at < pixels; at += 1) grey[at] = samples[(at >> 1) * 4 + (at & 1)] as number;
  } else {
    const step = planar ? 1 : 3;
    const apart = planar ? pixels : 1;
    for (let at = 0; at < pixels; at += 1) {
      const first = at * step;
      grey[at] =
        colour === 'ybr'
          ? (samples[first] as number)
          : (299 * (samples[first] as number) +
              587 * (samples[first + apart] as number) +
              114 * (samples[first + 2 * apart] as number) +
              500) /
            1000;
    }
  }
  return { width, height, grey };
}

/** The palette of the image as grey, from its three look-up tables. */
export function readPalette(data: DataSet): Palette | Refusal {
  const bad = refuse('dicom/palette', {
    asked: 'Ultrasound image',
    found: 'a colour table that is missing or too short',
    allowed: 'three whole colour tables of 8 or 16 bits',
    todo: 'Export the image in grey or in RGB.',
  });
  const grey = new Float64Array(256);
  const weights = [0.299, 0.587, 0.114];
  for (const [index, weight] of weights.entries()) {
    const tag = `x0028110${index + 1}`;
    const table = data.elements[`x0028120${index + 1}`];
    const count = data.uint16(tag, 0);
    const first = data.uint16(tag, 1);
    const bits = data.uint16(tag, 2);
    if (!table || count === undefined || first === undefined || (bits !== 8 && bits !== 16)) return bad;
    const entries = count === 0 ? 65_536 : count;
    // A table stated with 16 bits may still hold one byte an entry.
    const wide = table.length >= entries * 2;
    if (table.length < entries || table.dataOffset + table.length > data.byteArray.length) return bad;
    for (let value = 0; value < 256; value += 1) {
      const entry = Math.max(0, Math.min(entries - 1, value - first));
      let level: number;
      if (wide) {
        const word = data.byteArrayParser.readUint16(data.byteArray, table.dataOffset + 2 * entry);
        level = bits === 16 ? word >> 8 : word & 0xff;
      } else level = data.byteArray[table.dataOffset + entry] as number;
      grey[value] = (grey[value] as number) + weight * level;
    }
  }
  return Uint8Array.from(grey, (one) => Math.round(one));
}
