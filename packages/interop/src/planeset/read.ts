/**
 * Reads a plane set: `geometry.json` and one PNG or JPEG picture a plane, from bytes (a folder, a drop on a page, an
 * archive).
 *
 * A geometry that a person gives stands in for a missing one, or for what the folder's own lacks, and is marked as given
 * by hand. Where the folder's own is whole, the given one must agree with it.
 *
 * In        a getter of bytes by plain file name; a given geometry
 * Out       a `PlaneSet` for @ebbline/imaging, or a refusal
 * Errors    those of geometry.ts; planeset/geometry-missing, planeset/geometry-contradictory, planeset/picture-missing,
 *           planeset/picture-damaged, planeset/picture-size
 */
import type { GreyPlane, PlaneSet, PlaneSetGeometry } from '@ebbline/imaging';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { decode } from 'fast-png';
import { decodeJpeg, jpegHead } from '../codecs/index.ts';
import { pictureNames, readGeometry, type PlaneSetFile } from './geometry.ts';

const mostPixels = 64e6;

/** What a given geometry may stand in for; a geometry that is wrong in another way is put right, not covered up. */
const canBeGiven = [
  'planeset/scale-missing',
  'planeset/layout-missing',
  'planeset/apex-missing',
  'planeset/sector',
];

export async function readPlaneSet(
  file: (name: string) => Uint8Array | undefined,
  given?: PlaneSetFile,
): Promise<PlaneSet | Refusal> {
  const described = describedSet(file('geometry.json'), given);
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
        allowed: 'one PNG or JPEG picture for each plane',
        todo: 'Give all pictures of the set.',
        where,
      });
    }
    const plane = await readPicture(bytes, where);
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
  return { geometry: described.geometry, planes };
}

/** The geometry that holds: the folder's own, or the given one where it may stand in. */
function describedSet(
  sidecar: Uint8Array | undefined,
  given: PlaneSetFile | undefined,
): PlaneSetFile | Refusal {
  const byHand = given && { ...given, geometry: { ...given.geometry, givenByHand: true } };
  if (!sidecar) {
    return (
      byHand ??
      refuse('planeset/geometry-missing', {
        asked: 'Plane set',
        found: 'no geometry.json',
        allowed: 'a folder with geometry.json and its pictures',
        todo: 'Give the folder that holds geometry.json.',
      })
    );
  }
  const text = new TextDecoder().decode(sidecar);
  const own = readGeometry(text);
  if (!byHand) return own;
  if (!isRefusal(own)) {
    return sameGeometry(own.geometry, byHand.geometry)
      ? own
      : refuse('planeset/geometry-contradictory', {
          asked: 'Plane set',
          found: 'a given geometry that differs from geometry.json of the folder',
          allowed: 'the same layout, angles and offsets, apex, and a pixel size within 1 %',
          todo: 'Check which geometry belongs to these pictures.',
        });
  }
  if (!canBeGiven.includes(own.code)) return own;
  const names = pictureNames(text);
  return { ...byHand, files: byHand.files.map((name, index) => name ?? names[index]) };
}

function sameGeometry(own: PlaneSetGeometry, given: PlaneSetGeometry): boolean {
  return (
    own.layout === given.layout &&
    own.planes.length === given.planes.length &&
    own.planes.every(
      ({ position }, index) => Math.abs(position - (given.planes[index]?.position ?? 1e9)) <= 0.5,
    ) &&
    Math.abs(given.mmPerPx.x / own.mmPerPx.x - 1) <= 0.01 &&
    Math.abs(given.mmPerPx.y / own.mmPerPx.y - 1) <= 0.01 &&
    Math.hypot(given.apexPx.x - own.apexPx.x, given.apexPx.y - own.apexPx.y) <= 2
  );
}

const damagedPicture = (where: string): Refusal =>
  refuse('planeset/picture-damaged', {
    asked: 'Plane set',
    found: 'a picture that can not be read whole',
    allowed: 'a whole PNG picture, or a JPEG picture in grey or three colours',
    todo: 'Export the picture again.',
    where,
  });

/** One PNG or JPEG picture as grey bytes. */
export async function readPicture(bytes: Uint8Array, where: string): Promise<GreyPlane | Refusal> {
  if (bytes[0] !== 0xff || bytes[1] !== 0xd8) return readPng(bytes, where);
  const head = jpegHead(bytes);
  if (!head || !(head.width * head.height > 0 && head.width * head.height <= mostPixels))
    return damagedPicture(where);
  const { width, height, components } = head;
  const frame = await decodeJpeg(bytes, { width, height, components, bitsAllocated: 8, statedRgb: false });
  if (typeof frame === 'string') return damagedPicture(where);
  const { samples } = frame;
  const grey = new Uint8Array(width * height);
  for (let index = 0; index < grey.length; index += 1) {
    const at = index * components;
    grey[index] =
      components === 1
        ? (samples[at] as number)
        : luma(samples[at] as number, samples[at + 1] as number, samples[at + 2] as number);
  }
  return { width, height, grey };
}

/** One PNG picture as grey bytes. */
export function readPng(bytes: Uint8Array, where: string): GreyPlane | Refusal {
  const damaged = damagedPicture(where);
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
