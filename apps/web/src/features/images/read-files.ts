/**
 * Files that a person chose, as one plane set: a DICOM file, or a folder with geometry.json and its pictures.
 * The readers are loaded when files are first chosen.
 *
 * Errors    `images/no-files`, `images/several-dicom`, and those of the readers
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import type { PlaneSet } from '@ebbline/imaging';

export interface NamedBytes {
  /** Plain file name, without its folder. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

export async function planeSetFrom(files: readonly NamedBytes[]): Promise<PlaneSet | Refusal> {
  if (files.length === 0) {
    return refuse('images/no-files', {
      asked: 'Images',
      found: 'no file',
      allowed: 'a DICOM file, or a folder with geometry.json and its pictures',
      todo: 'Choose the files of one look.',
    });
  }
  if (files.some((one) => one.name === 'geometry.json')) {
    const { readPlaneSet } = await import('@ebbline/interop/planeset');
    return readPlaneSet((name) => files.find((one) => one.name === name)?.bytes);
  }
  const { looksLikeDicom, planeSetOfImage, readUltrasound } = await import('@ebbline/interop/dicom');
  const images = files.filter((one) => looksLikeDicom(one.bytes));
  const [only] = images;
  if (!only) {
    return refuse('images/not-known', {
      asked: 'Images',
      found:
        files.length === 1
          ? 'a file that is neither DICOM nor the geometry.json of a folder'
          : `${files.length} files that are neither DICOM nor a folder with geometry.json`,
      allowed: 'a DICOM file, or a folder with geometry.json and its pictures',
      todo: 'Export the look from the scanner as DICOM, or type the volume.',
    });
  }
  if (images.length > 1) {
    return refuse('images/several-dicom', {
      asked: 'Images',
      found: `${images.length} DICOM files`,
      allowed: 'one file of one look',
      todo: 'Choose the one file that holds all planes of this look.',
    });
  }
  const image = await readUltrasound(only.bytes);
  return isRefusal(image) ? image : planeSetOfImage(image);
}
