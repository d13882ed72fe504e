/**
 * The four identifiers by which a report can point at the image it came from. They name objects, not people; still they
 * are read only when a report is asked for, and go nowhere else.
 *
 * Errors    those of part10, dicom/no-reference
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { plainText } from './elements.ts';
import { readDicomFile } from './part10.ts';
import type { SourceImage } from './report-content.ts';

export async function sourceOfImage(bytes: Uint8Array): Promise<SourceImage | Refusal> {
  const file = await readDicomFile(bytes);
  if (isRefusal(file)) return file;
  const [sopClassUid, sopInstanceUid, studyUid, seriesUid] = [
    0x0008_0016, 0x0008_0018, 0x0020_000d, 0x0020_000e,
  ].map((tag) => plainText(file.data, tag) ?? '') as [string, string, string, string];
  const isUid = (one: string): boolean => one.length <= 64 && /^[0-9]+(?:\.[0-9]+)+$/.test(one);
  return [sopClassUid, sopInstanceUid, studyUid, seriesUid].every(isUid)
    ? { sopClassUid, sopInstanceUid, studyUid, seriesUid }
    : refuse('dicom/no-reference', {
        asked: 'DICOM report',
        found: 'an image without its identifiers',
        allowed: 'an image with the identifiers of itself, its series and its study',
        todo: 'Make the report without a reference to the image.',
      });
}
