/**
 * Files that a person chose, as the pictures of one look: a DICOM file; a folder with geometry.json and its pictures; or
 * pictures alone, whose scale and layout are then asked for. The readers are loaded when files are first chosen.
 *
 * Errors    `images/no-files`, `images/several-dicom`, `images/not-known`, `images/picture-missing`, `images/picture-size`,
 *           and those of the readers
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { GreyPlane } from '@ebbline/imaging';
import type { UltrasoundImage } from '@ebbline/interop/dicom';
import type { Known, Pictures } from './pictures.ts';

export interface NamedBytes {
  /** Plain file name, without its folder. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Decodes a JPEG picture. */
export type DecodeJpeg = (bytes: Uint8Array) => Promise<GreyPlane | undefined>;

const allowed = 'a DICOM file, a folder with geometry.json and its pictures, or PNG or JPEG pictures';
const isPng = (bytes: Uint8Array): boolean =>
  bytes[0] === 0x89 && bytes[1] === 0x50 && bytes[2] === 0x4e && bytes[3] === 0x47;
const isJpeg = (bytes: Uint8Array): boolean => bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff;

/** What a person can still give when the file has none; a file that contradicts itself is refused for good. */
const canBeAsked = ['planeset/scale-missing', 'planeset/layout-missing', 'planeset/apex-missing'];

/** Plane 2 before plane 10. */
const byNumber = (a: NamedBytes, b: NamedBytes): number => {
  const parts = (name: string): string[] => name.match(/\d+|\D+/g) ?? [];
  const [left, right] = [parts(a.name), parts(b.name)];
  for (const [index, one] of left.entries()) {
    const other = right[index];
    if (other === undefined) return 1;
    const difference = /^\d/.test(one) && /^\d/.test(other) ? Number(one) - Number(other) : 0;
    if (difference !== 0) return difference;
    if (one !== other) return one < other ? -1 : 1;
  }
  return left.length - right.length;
};

async function decoded(
  file: NamedBytes,
  decodeJpeg: DecodeJpeg,
  where: string,
): Promise<GreyPlane | Refusal> {
  if (isPng(file.bytes)) {
    const { readPng } = await import('@ebbline/interop/planeset');
    return readPng(file.bytes, where);
  }
  const plane = isJpeg(file.bytes) ? await decodeJpeg(file.bytes) : undefined;
  return (
    plane ??
    refuse('images/picture-damaged', {
      asked: 'Images',
      found: 'a picture that can not be read whole',
      allowed: 'whole PNG or JPEG pictures',
      todo: 'Export the picture again.',
      where,
    })
  );
}

/** One picture a plane, all of one size. */
async function planesOf(
  files: readonly (NamedBytes | undefined)[],
  decodeJpeg: DecodeJpeg,
  size?: { readonly width: number; readonly height: number },
): Promise<readonly GreyPlane[] | Refusal> {
  const planes: GreyPlane[] = [];
  for (const [index, file] of files.entries()) {
    const where = `plane ${index + 1}`;
    if (!file) {
      return refuse('images/picture-missing', {
        asked: 'Images',
        found: 'a plane without its picture',
        allowed: 'one picture for each plane that geometry.json names',
        todo: 'Choose the whole folder.',
        where,
      });
    }
    const plane = await decoded(file, decodeJpeg, where);
    if (isRefusal(plane)) return plane;
    const wanted = size ?? planes[0];
    if (wanted && (plane.width !== wanted.width || plane.height !== wanted.height)) {
      return refuse('images/picture-size', {
        asked: 'Images',
        found: `a picture of ${plane.width} × ${plane.height}`,
        allowed: `pictures of one size, ${wanted.width} × ${wanted.height}`,
        todo: 'Export the pictures without resizing; a resized picture has another scale.',
        where,
      });
    }
    planes.push(plane);
  }
  return planes;
}

export async function picturesFrom(
  files: readonly NamedBytes[],
  decodeJpeg: DecodeJpeg,
): Promise<Pictures | Refusal> {
  if (files.length === 0) {
    return refuse('images/no-files', {
      asked: 'Images',
      found: 'no file',
      allowed,
      todo: 'Choose the files of one look.',
    });
  }
  const pictures = files.filter((one) => isPng(one.bytes) || isJpeg(one.bytes)).toSorted(byNumber);
  const sidecar = files.find((one) => one.name === 'geometry.json');
  if (sidecar) {
    const { readGeometry } = await import('@ebbline/interop/planeset');
    const described = readGeometry(new TextDecoder().decode(sidecar.bytes));
    if (isRefusal(described)) {
      if (!canBeAsked.includes(described.code) || pictures.length === 0) return described;
    } else {
      const named = described.files.map((name) => files.find((one) => one.name === name));
      const planes = await planesOf(named, decodeJpeg, described.image);
      if (isRefusal(planes)) return planes;
      return { planes, geometry: described.geometry, known: described.geometry };
    }
  }
  const { looksLikeDicom, readUltrasound } = await import('@ebbline/interop/dicom');
  const images = files.filter((one) => looksLikeDicom(one.bytes));
  const [only] = images;
  if (images.length > 1) {
    return refuse('images/several-dicom', {
      asked: 'Images',
      found: `${images.length} DICOM files`,
      allowed: 'one file of one look',
      todo: 'Choose the one file that holds all planes of this look.',
    });
  }
  if (only) {
    const image = await readUltrasound(only.bytes);
    return isRefusal(image) ? image : ofUltrasound(image);
  }
  if (pictures.length === 0) {
    return refuse('images/not-known', {
      asked: 'Images',
      found:
        files.length === 1
          ? 'a file that is neither DICOM nor a picture'
          : `${files.length} files, none of them DICOM or a picture`,
      allowed,
      todo: 'Export the look from the scanner as DICOM, or type the volume.',
    });
  }
  const planes = await planesOf(pictures, decodeJpeg);
  return isRefusal(planes) ? planes : { planes, known: {} };
}

async function ofUltrasound(image: UltrasoundImage): Promise<Pictures | Refusal> {
  const { planeSetOfImage, scaleCanBeGiven } = await import('@ebbline/interop/dicom');
  const set = planeSetOfImage(image);
  if (!isRefusal(set)) return { planes: set.planes, geometry: set.geometry, known: set.geometry };
  const { scale, layout, frames } = image;
  if (isRefusal(scale) && !scaleCanBeGiven(scale)) return scale;
  const known: Known = {
    ...(isRefusal(scale) ? {} : { mmPerPx: scale.mmPerPx }),
    ...(layout && layout.positions.length === frames.length ? layout : {}),
  };
  return { planes: frames, known };
}
