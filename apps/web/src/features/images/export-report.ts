/**
 * The volume as a DICOM structured report, to be taken to an archive of images. No name and no number of a patient: the
 * person puts it to the right patient there. When the pictures were taken is not known here, so it is left open.
 */
import type { ImageEvidence } from '@ebbline/core/record';
import { isRefusal, type Instant, type Refusal } from '@ebbline/core/quantity';
import type { PlaneSetGeometry, VolumeResult } from '@ebbline/imaging';

export interface ReportMaking {
  readonly writtenAt: Instant;
  readonly zone: string;
  /** A new UUID at every call. */
  readonly newId: () => string;
}

export async function reportFile(
  answer: VolumeResult,
  geometry: PlaneSetGeometry,
  evidence: ImageEvidence,
  { writtenAt, zone, newId }: ReportMaking,
): Promise<Uint8Array | Refusal> {
  const { writeReport } = await import('@ebbline/interop/dicom');
  return writeReport({
    result: answer,
    layout: geometry.layout,
    outlinedBy: evidence.drawnBy,
    writtenAt,
    zone,
    ids: { report: newId(), series: newId(), study: newId(), tracking: newId() },
  });
}

/** Gives the report to the browser as a file, or back why there is none. */
export async function downloadReport(...parts: Parameters<typeof reportFile>): Promise<Refusal | undefined> {
  const bytes = await reportFile(...parts);
  if (isRefusal(bytes)) return bytes;
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([bytes.slice()], { type: 'application/dicom' }));
  link.download = 'volume-report.dcm';
  link.click();
  URL.revokeObjectURL(link.href);
  return undefined;
}
