/**
 * Reads a plane set: `geometry.json` and one PNG picture a plane, from bytes (a folder, a drop on a page, an archive).
 *
 * In        a getter of bytes by plain file name; a geometry given by a person where the folder has none
 * Out       a `PlaneSet` for @ebbline/imaging, or a refusal
 * Errors    those of geometry.ts; planeset/geometry-missing, planeset/picture-missing, planeset/picture-damaged,
 *           planeset/picture-size
 */
import type { GreyPlane, PlaneSet } from '@ebbline/imaging';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { decode } from 'fast-png';
import { readGeometry, type PlaneSetFile } from './geometry.ts';

const mostPixels = 64e6;

export function readPlaneSet(
  file: (name: string) => Uint8Array | undefined,
  given?: PlaneSetFile,
): PlaneSet | Refusal {
  const sidecar = given === undefined ? file('geometry.json') : undefined;
  if (!sidecar && !given) {
    return refuse('planeset/geometry-missing', {
      asked: 'Plane set',
      found: 'no geometry.json',
      allowed: 'a folder with geometry.json and its pictures',
      todo: 'Give the folder that holds geometry.json.',
    });
  }
  const described = given ?? readGeometry(new TextDecoder().decode(sidecar));
  if (isRefusal(described)) return described;
  const planes: GreyPlane[] = [];
  let pixels = 0;
  for (const [index, name] of described.files.entries()) {
    const where = `planes[${index}]`;
    const bytes = name === undefined ? undefined : file(name);
    if (!bytes) {
      return refuse('planeset/picture-missing', {
        asked: 'Plane set',
        found: 'a plane without its picture',
        allowed: 'one PNG picture for each plane',
        todo: 'Give all pictures of the set.',
        where,
      });
    }
    const plane = readPng(bytes, where);
    if (isRefusal(plane)) return plane;
    const first = planes[0];
    const wanted = described.image ?? (first ? { width: first.width, height: first.height } : undefined);
    pixels += plane.width * plane.height;
    if ((wanted && (plane.width !== wanted.width || plane.height !== wanted.height)) || pixels > mostPixels) {
      return refuse('planeset/picture-size', {
        asked: 'Plane set',
        found: `a picture of ${plane.width} × ${plane.height}`,
        allowed: wanted ? `${wanted.width} × ${wanted.height}` : `at most ${mostPixels} pixels in all`,
        todo: 'Export the pictures without resizing; a resized picture has another scale.',
        where,
      });
    }
    planes.push(plane);
  }
  return { geometry: given ? { ...described.geometry, givenByHand: true } : described.geometry, planes };
}

/** One PNG picture as grey bytes. */
export function readPng(bytes: Uint8Array, where: string): GreyPlane | Refusal {
  const damaged = refuse('planeset/picture-damaged', {
    asked: 'Plane set',
    found: 'a picture that can not be read whole',
    allowed: 'a whole PNG picture',
    todo: 'Export the picture again.',
    where,
  });
  // Width and height stand in the first chunk: refuse a giant before anything is unpacked.
  if (bytes.length < 33) return damaged;
  const head = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const claimed = head.getUint32(16) * head.getUint32(20);
  if (!(claimed > 0 && claimed <= mostPixels)) return damaged;
  try {
    const picture = decode(bytes, { checkCrc: true });
    const { width, height, channels, data, palette } = picture;
    const grey = new Uint8Array(width * height);
    if (data.length < width * height * (palette ? 1 : channels)) return damaged;
    const shift = picture.depth === 16 ? 8 : 0;
    const stretch = picture.depth < 8 && !palette ? 255 / ((1 << picture.depth) - 1) : 1;
    for (let index = 0; index < grey.length; index += 1) {
      if (palette) {
        const colour = palette[data[index] as number];
        if (!colour) return damaged;
        grey[index] = luma(colour[0] as number, colour[1] as number, colour[2] as number);
      } else if (channels >= 3) {
        const at = index * channels;
        grey[index] = luma(
          (data[at] as number) >> shift,
          (data[at + 1] as number) >> shift,
          (data[at + 2] as number) >> shift,
        );
      } else grey[index] = ((data[index * channels] as number) >> shift) * stretch;
    }
    return { width, height, grey };
  } catch {
    return damaged;
  }
}

/** Brightness of a colour, 0 to 255 (weights of ITU-R BT.601, S-bt601). */
function luma(red: number, green: number, blue: number): number {
  return (299 * red + 587 * green + 114 * blue + 500) / 1000;
}
