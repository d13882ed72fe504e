/**
 * The grey of each sample of a palette picture, from its three look-up tables: whole, or in segments.
 *
 * Errors    dicom/palette
 * Source    DICOM PS3.3 C.7.6.3.1.5 and C.7.9 (S-dicom-ps3.3); brightness weights ITU-R BT.601 (S-bt601)
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import { uint16, type DataSet } from './elements.ts';
import type { Tones } from './grey.ts';
import type { PixelFormat } from './pixel-format.ts';

const bad = refuse('dicom/palette', {
  asked: 'Ultrasound image',
  found: 'a colour table that is missing, too short or damaged',
  allowed: 'three whole colour tables of 8 or 16 bits, plain or in segments',
  todo: 'Export the image in grey or in RGB.',
});

// Empty segments that are run again and again would otherwise take for ever.
const mostSegments = 65_536;

interface Table {
  readonly levels: readonly number[];
  readonly first: number;
  readonly bits: number;
}

export function paletteTones(data: DataSet, format: PixelFormat): Tones | Refusal {
  const tables: Table[] = [];
  for (const part of [1, 2, 3]) {
    const table = readTable(data, part);
    if (!table) return bad;
    tables.push(table);
  }
  // Some writers fill only the lower byte of tables that claim 16 bits.
  const shift = tables.map(({ bits }) => (bits === 16 ? 8 : 0));
  if (tables.every(({ levels, bits }) => bits === 16 && levels.every((one) => one <= 255))) shift.fill(0);
  const weights = [299, 587, 114];
  const downBy = format.highBit + 1 - format.bitsStored;
  const mask = 2 ** format.bitsStored - 1;
  const half = 2 ** (format.bitsStored - 1);
  const tones = new Uint8Array(2 ** format.bitsAllocated);
  for (let word = 0; word < tones.length; word += 1) {
    const raw = (word >>> downBy) & mask;
    const value = format.signed && raw >= half ? raw - 2 * half : raw;
    let sum = 500;
    for (const [part, { levels, first }] of tables.entries()) {
      const entry = Math.max(0, Math.min(levels.length - 1, value - first));
      sum += (weights[part] as number) * Math.min(255, (levels[entry] as number) >> (shift[part] as number));
    }
    tones[word] = sum / 1000;
  }
  return tones;
}

function readTable(data: DataSet, part: number): Table | undefined {
  const descriptor = 0x0028_1100 + part;
  const count = uint16(data, descriptor, 0);
  const stated = uint16(data, descriptor, 1);
  const bits = uint16(data, descriptor, 2);
  if (count === undefined || stated === undefined || (bits !== 8 && bits !== 16)) return undefined;
  const entries = count === 0 ? 65_536 : count;
  // The first value mapped is signed where the samples are.
  const first = uint16(data, 0x0028_0103) === 1 && stated > 0x7fff ? stated - 0x1_0000 : stated;
  const whole = data.elements.get(0x0028_1200 + part);
  const levels =
    whole && whole.length > 0
      ? plainLevels(data, 0x0028_1200 + part, entries, bits)
      : segmentedLevels(data, 0x0028_1220 + part, entries, bits);
  return levels ? { levels, first, bits } : undefined;
}

/** A reader of the numbers of a table: words, or bytes where the table is too short for words. */
function reader(
  data: DataSet,
  tag: number,
  wide: boolean,
): { readonly length: number; readonly read: (index: number) => number } | undefined {
  const element = data.elements.get(tag);
  if (!element) return undefined;
  if (wide) {
    return {
      length: element.length >> 1,
      read: (index) => data.view.getUint16(element.offset + 2 * index, data.coding.littleEndian),
    };
  }
  // Bytes that stand in words of a big-endian file are in swapped pairs.
  const swap = !data.coding.littleEndian && element.vr === 'OW' ? 1 : 0;
  return {
    length: element.length - (swap ? element.length % 2 : 0),
    read: (index) => data.bytes[element.offset + (index ^ swap)] as number,
  };
}

function plainLevels(data: DataSet, tag: number, entries: number, bits: number): number[] | undefined {
  const length = data.elements.get(tag)?.length ?? 0;
  const wide = length >= entries * 2;
  const from = reader(data, tag, wide);
  if (!from || from.length < entries) return undefined;
  return Array.from({ length: entries }, (_, index) => {
    const level = from.read(index);
    // One byte an entry in a table of 16 bits is the upper byte of it.
    if (bits === 16) return wide ? level : level << 8;
    return level & 0xff;
  });
}

/** Segments: 0 as written, 1 a straight line to a level, 2 again some earlier segments. */
function segmentedLevels(data: DataSet, tag: number, entries: number, bits: number): number[] | undefined {
  const from = reader(data, tag, bits === 16);
  if (!from) return undefined;
  const levels: number[] = [];
  let segmentsLeft = mostSegments;
  const run = (start: number, most: number, again: boolean): boolean => {
    let at = start;
    for (let segment = 0; segment < most && at + 2 <= from.length; segment += 1) {
      segmentsLeft -= 1;
      if (segmentsLeft < 0) return false;
      const kind = from.read(at);
      const count = from.read(at + 1);
      at += 2;
      if (kind === 0) {
        if (at + count > from.length || levels.length + count > entries) return false;
        for (let index = 0; index < count; index += 1) levels.push(from.read(at + index));
        at += count;
      } else if (kind === 1) {
        const last = levels.at(-1);
        if (last === undefined || at >= from.length || levels.length + count > entries) return false;
        const step = (from.read(at) - last) / count;
        for (let index = 1; index <= count; index += 1) levels.push(Math.round(last + step * index));
        at += 1;
      } else if (kind === 2 && !again) {
        // Where they start is written as a count of bytes, in two parts.
        const parts = bits === 16 ? 2 : 4;
        if (at + parts > from.length) return false;
        let offset = 0;
        for (let index = parts - 1; index >= 0; index -= 1)
          offset = offset * (bits === 16 ? 0x1_0000 : 0x100) + from.read(at + index);
        if (!run(bits === 16 ? offset / 2 : offset, count, true)) return false;
        at += parts;
      } else return false;
    }
    return true;
  };
  return run(0, mostSegments, false) && levels.length === entries ? levels : undefined;
}
