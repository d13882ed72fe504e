/**
 * Reads a DICOM ultrasound image into grey frames, with its scale or the reason why it has none. Nothing else of the
 * header leaves this file: no name, no identifier, no maker, no free text.
 *
 * In        the bytes of one file
 * Out       frames (grey, one byte a pixel), scale or refusal, the plane layout if the comment states it in our words
 * Errors    dicom/not-ultrasound-image, dicom/no-pixels, and those of part10, pixel-format and frames
 * Source    DICOM PS3.3 and PS3.5 (S-dicom-ps3.3, S-dicom-ps3.5)
 */
import type { GreyPlane } from '@ebbline/imaging';
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { decimal, plainText, type DataSet } from './elements.ts';
import { greyFrames } from './frames.ts';
import { layoutInComment, type StatedLayout } from './layout-comment.ts';
import { damaged, readDicomFile } from './part10.ts';
import { readPixelFormat } from './pixel-format.ts';
import { readRegions } from './region-elements.ts';
import { pictureScale, type PictureScale } from './regions.ts';

export interface UltrasoundImage {
  readonly frames: readonly GreyPlane[];
  readonly scale: PictureScale | Refusal;
  readonly layout?: StatedLayout;
}

/** Ultrasound and ultrasound multi-frame, each with its retired forerunner. */
const ultrasoundClasses = [
  '1.2.840.10008.5.1.4.1.1.6.1',
  '1.2.840.10008.5.1.4.1.1.3.1',
  '1.2.840.10008.5.1.4.1.1.6',
  '1.2.840.10008.5.1.4.1.1.3',
];

/** Other kinds of object that arrive, in words. */
const otherKinds: readonly (readonly [string, string])[] = [
  ['1.2.840.10008.5.1.4.1.1.88.', 'a structured report'],
  ['1.2.840.10008.5.1.4.1.1.104.', 'an encapsulated document'],
  ['1.2.840.10008.5.1.4.1.1.7', 'a secondary picture, whose scale nobody vouches for'],
  ['1.2.840.10008.1.3.10', 'the index of a disc (DICOMDIR)'],
  ['1.2.840.10008.5.1.4.1.1.6.2', 'an ultrasound volume in another form'],
  ['1.2.840.10008.5.1.4.1.1.', 'an image of another kind than ultrasound'],
];

export async function readUltrasound(bytes: Uint8Array): Promise<UltrasoundImage | Refusal> {
  const file = await readDicomFile(bytes);
  if (isRefusal(file)) return file;
  const { data, transferSyntax } = file;
  // The index of a disc has no class of its own in the set, only in the head of the file.
  const sopClass =
    plainText(data, 0x0008_0016) ?? (data.elements.has(0x0004_1220) ? '1.2.840.10008.1.3.10' : '');
  if (!ultrasoundClasses.includes(sopClass)) {
    const kind = otherKinds.find(([start]) => sopClass.startsWith(start))?.[1] ?? 'an object of another kind';
    return refuse('dicom/not-ultrasound-image', {
      asked: 'Ultrasound image',
      found: kind,
      allowed: 'an ultrasound image or an ultrasound multi-frame image',
      todo: 'Choose the image itself.',
    });
  }
  const modality = plainText(data, 0x0008_0060) ?? '';
  if (!['', 'US', 'IVUS'].includes(modality)) {
    return refuse('dicom/not-ultrasound-image', {
      asked: 'Ultrasound image',
      found: 'an object that calls itself ultrasound and another kind of image at once',
      allowed: 'an ultrasound image or an ultrasound multi-frame image',
      todo: 'Choose the image itself.',
    });
  }
  const pixels = data.elements.get(0x7fe0_0010);
  if (!pixels || pixels.length === 0) {
    return refuse('dicom/no-pixels', {
      asked: 'Ultrasound image',
      found: 'no picture',
      allowed: 'an image with its pixels',
      todo: 'Send the whole image.',
    });
  }
  const format = readPixelFormat(data);
  if (isRefusal(format)) return format;
  const regions = readRegions(data);
  if (!regions) return damaged;
  const frames = await greyFrames(data, pixels, transferSyntax, format);
  if (isRefusal(frames)) return frames;
  const layout = layoutInComment(plainText(data, 0x0020_4000) ?? '');
  return {
    frames,
    scale: pictureScale(regions, format, pixelSpacing(data)),
    ...(layout ? { layout } : {}),
  };
}

function pixelSpacing(data: DataSet): readonly [number, number] | undefined {
  const row = decimal(data, 0x0028_0030, 0);
  const column = decimal(data, 0x0028_0030, 1);
  return row !== undefined && column !== undefined && row > 0 && column > 0 ? [row, column] : undefined;
}
