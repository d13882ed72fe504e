/**
 * A DICOM file: preamble, file head, then the data set in the coding that the head names.
 *
 * In        the bytes of one file
 * Out       its data set and transfer syntax
 * Errors    dicom/not-dicom, dicom/damaged, dicom/unpacked-size
 * Source    DICOM PS3.10 chapter 7, PS3.5 annex A (S-dicom-ps3.5)
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import { plainText, readDataSet, uint32, type DataSet } from './elements.ts';

export interface DicomFile {
  readonly data: DataSet;
  readonly transferSyntax: string;
}

const deflated = '1.2.840.10008.1.2.1.99';
const implicitLittle = '1.2.840.10008.1.2';
const explicitBig = '1.2.840.10008.1.2.2';
const mostUnpackedBytes = 512e6;

const no = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(`dicom/${code}`, { asked: 'Ultrasound image', found, allowed, todo });

export const damaged = no(
  'damaged',
  'a file that breaks off or contradicts itself',
  'a whole DICOM file',
  'Send the file again from its source.',
);

/** True when the bytes carry the mark of a DICOM file. */
export function looksLikeDicom(bytes: Uint8Array): boolean {
  return (
    bytes.length > 140 &&
    bytes[128] === 0x44 &&
    bytes[129] === 0x49 &&
    bytes[130] === 0x43 &&
    bytes[131] === 0x4d
  );
}

export async function readDicomFile(bytes: Uint8Array): Promise<DicomFile | Refusal> {
  if (!looksLikeDicom(bytes)) {
    return no(
      'not-dicom',
      'a file without the DICOM mark',
      'a DICOM file with its preamble',
      'Export the image as a DICOM file.',
    );
  }
  const head = fileHead(bytes);
  const transferSyntax = head === undefined ? undefined : plainText(head, 0x0002_0010);
  if (!head || !transferSyntax) return damaged;
  const coding = {
    explicit: transferSyntax !== implicitLittle,
    littleEndian: transferSyntax !== explicitBig,
  };
  if (transferSyntax !== deflated) {
    const data = readDataSet(bytes, head.end, bytes.length, coding);
    return data ? { data, transferSyntax } : damaged;
  }
  const packed = bytes.subarray(head.end);
  // The stream may end in one byte of padding, which an unpacker takes for damage.
  const unpacked =
    (await inflate(packed)) ??
    (packed.at(-1) === 0 ? await inflate(packed.subarray(0, packed.length - 1)) : undefined);
  if (unpacked === 'too-large') {
    return no(
      'unpacked-size',
      `more than ${mostUnpackedBytes / 1e6} MB once unpacked`,
      `at most ${mostUnpackedBytes / 1e6} MB`,
      'Export the image without compression.',
    );
  }
  const data = unpacked === undefined ? undefined : readDataSet(unpacked, 0, unpacked.length, coding);
  return data ? { data, transferSyntax } : damaged;
}

/** The head of the file: as long as its first element says, else as far as its group goes. */
function fileHead(bytes: Uint8Array): DataSet | undefined {
  const coding = { explicit: true, littleEndian: true };
  const first = readDataSet(bytes, 132, bytes.length, coding, (tag) => tag === 0x0002_0000);
  const length = first && uint32(first, 0x0002_0000);
  if (first && length !== undefined && first.end + length <= bytes.length) {
    const head = readDataSet(bytes, first.end, first.end + length, coding, (tag) => tag < 0x3_0000);
    if (head?.elements.has(0x0002_0010)) return head;
  }
  return readDataSet(bytes, 132, bytes.length, coding, (tag) => tag < 0x3_0000);
}

/** Unpacks piece by piece and stops at the limit, so that a small file can not fill the memory. */
async function inflate(packed: Uint8Array): Promise<Uint8Array | 'too-large' | undefined> {
  const pieces: Uint8Array[] = [];
  let length = 0;
  try {
    const stream = new Blob([packed as BlobPart])
      .stream()
      .pipeThrough(new DecompressionStream('deflate-raw'));
    const reader = stream.getReader();
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      length += value.length;
      if (length > mostUnpackedBytes) {
        await reader.cancel();
        return 'too-large';
      }
      pieces.push(value);
    }
  } catch {
    return undefined;
  }
  const whole = new Uint8Array(length);
  let to = 0;
  for (const piece of pieces) {
    whole.set(piece, to);
    to += piece.length;
  }
  return whole;
}
