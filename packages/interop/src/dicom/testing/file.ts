/**
 * Small DICOM ultrasound files for tests, in any byte order and with or without value representations. Invented.
 *
 * A writer of its own, that shares nothing with the reader, so that the same mistake in both can not hide.
 */
import { deflateRawSync } from 'node:zlib';

export interface TestElement {
  readonly tag: readonly [number, number];
  readonly vr: string;
  readonly value: Uint8Array;
}

interface Coding {
  readonly explicit: boolean;
  readonly little: boolean;
}

const plain: Coding = { explicit: true, little: true };
const longVrs = new Set(['OB', 'OW', 'OV', 'SQ', 'UN', 'UT', 'OF']);
/** Bytes that turn round in a big-endian file. */
const wordBytes: Readonly<Record<string, number>> = {
  US: 2,
  SS: 2,
  OW: 2,
  UL: 4,
  SL: 4,
  FL: 4,
  FD: 8,
  OV: 8,
};

export const us = (...values: number[]): Uint8Array => new Uint8Array(Uint16Array.from(values).buffer);
export const ul = (...values: number[]): Uint8Array => new Uint8Array(Uint32Array.from(values).buffer);
export const fd = (...values: number[]): Uint8Array => new Uint8Array(Float64Array.from(values).buffer);
export const text = (value: string, pad = ' '): Uint8Array =>
  new TextEncoder().encode(value.length % 2 === 0 ? value : value + pad);

export function join(parts: readonly Uint8Array[]): Uint8Array {
  const out = new Uint8Array(parts.reduce((sum, one) => sum + one.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** Each group of bytes turned round, for a big-endian file. */
function turned(value: Uint8Array, size: number, { little }: Coding): Uint8Array {
  if (little || size === 1) return value;
  const out = new Uint8Array(value.length);
  for (let at = 0; at < value.length; at += 1)
    out[at] = value[at - (at % size) + (size - 1 - (at % size))] as number;
  return out;
}

function encode({ tag, vr, value }: TestElement, coding = plain, undefinedLength = false): Uint8Array {
  const number16 = (...values: number[]): Uint8Array => turned(us(...values), 2, coding);
  const length32 = turned(ul(undefinedLength ? 0xffff_ffff : value.length), 4, coding);
  const head = [number16(tag[0], tag[1])];
  if (!coding.explicit) head.push(length32);
  else if (longVrs.has(vr)) head.push(text(vr), number16(0), length32);
  else head.push(text(vr), number16(value.length));
  return join([...head, turned(value, wordBytes[vr] ?? 1, coding)]);
}

export const item = (value: Uint8Array, coding = plain): Uint8Array =>
  join([turned(us(0xfffe, 0xe000), 2, coding), turned(ul(value.length), 4, coding), value]);

export interface TestRegion {
  readonly bounds?: readonly [number, number, number, number];
  readonly format?: number;
  readonly type?: number;
  readonly flags?: number;
  readonly units?: readonly [number, number];
  readonly deltaCm?: readonly [number, number];
  readonly reference?: { readonly px: readonly [number, number]; readonly cm: readonly [number, number] };
}

function region(one: TestRegion, coding: Coding): Uint8Array {
  const {
    bounds = [0, 0, 63, 47],
    format = 1,
    type = 1,
    flags = 2,
    units = [3, 3],
    deltaCm = [0.05, 0.05],
    reference,
  } = one;
  const elements: TestElement[] = [
    { tag: [0x18, 0x6012], vr: 'US', value: us(format) },
    { tag: [0x18, 0x6014], vr: 'US', value: us(type) },
    { tag: [0x18, 0x6016], vr: 'UL', value: ul(flags) },
    ...bounds.map((bound, index): TestElement => ({
      tag: [0x18, 0x6018 + 2 * index],
      vr: 'UL',
      value: ul(bound),
    })),
    ...(reference
      ? [
          {
            tag: [0x18, 0x6020] as const,
            vr: 'SL',
            value: new Uint8Array(Int32Array.of(reference.px[0]).buffer),
          },
          {
            tag: [0x18, 0x6022] as const,
            vr: 'SL',
            value: new Uint8Array(Int32Array.of(reference.px[1]).buffer),
          },
        ]
      : []),
    { tag: [0x18, 0x6024], vr: 'US', value: us(units[0]) },
    { tag: [0x18, 0x6026], vr: 'US', value: us(units[1]) },
    ...(reference
      ? [
          { tag: [0x18, 0x6028] as const, vr: 'FD', value: fd(reference.cm[0]) },
          { tag: [0x18, 0x602a] as const, vr: 'FD', value: fd(reference.cm[1]) },
        ]
      : []),
    { tag: [0x18, 0x602c], vr: 'FD', value: fd(deltaCm[0]) },
    { tag: [0x18, 0x602e], vr: 'FD', value: fd(deltaCm[1]) },
  ];
  return item(join(elements.map((element) => encode(element, coding))), coding);
}

export interface TestFile {
  readonly syntax?: string;
  readonly sopClass?: string;
  readonly modality?: string;
  readonly width?: number;
  readonly height?: number;
  readonly frames?: number;
  readonly components?: number;
  readonly photometric?: string;
  readonly planar?: number;
  readonly bitsAllocated?: number;
  readonly bitsStored?: number;
  readonly highBit?: number;
  readonly signed?: boolean;
  readonly comment?: string;
  readonly spacingMm?: string;
  readonly regions?: readonly TestRegion[];
  readonly extra?: readonly TestElement[];
  /** Native samples (little endian, words where 16 bits are allocated), or packed fragments. */
  readonly pixels?: Uint8Array;
  readonly pixelVr?: 'OB' | 'OW';
  readonly fragments?: readonly Uint8Array[];
  /** Fragments that open a frame: written to the basic or to the extended table of offsets. */
  readonly frameStarts?: readonly number[];
  readonly extendedTable?: boolean;
}

export function testFile(options: TestFile = {}): Uint8Array {
  const { width = 64, height = 48, frames, components = 1, regions = [], bitsAllocated = 8 } = options;
  const syntax = options.syntax ?? '1.2.840.10008.1.2.1';
  const sopClass = options.sopClass ?? '1.2.840.10008.5.1.4.1.1.3.1';
  const bitsStored = options.bitsStored ?? bitsAllocated;
  const coding: Coding = {
    explicit: syntax !== '1.2.840.10008.1.2',
    little: syntax !== '1.2.840.10008.1.2.2',
  };
  const instance = text('2.25.1001', '\0');
  const meta = join([
    encode({ tag: [2, 0x01], vr: 'OB', value: Uint8Array.of(0, 1) }),
    encode({ tag: [2, 0x02], vr: 'UI', value: text(sopClass, '\0') }),
    encode({ tag: [2, 0x03], vr: 'UI', value: instance }),
    encode({ tag: [2, 0x10], vr: 'UI', value: text(syntax, '\0') }),
    encode({ tag: [2, 0x12], vr: 'UI', value: text('2.25.1', '\0') }),
  ]);
  const body: TestElement[] = [
    { tag: [0x08, 0x16], vr: 'UI', value: text(sopClass, '\0') },
    { tag: [0x08, 0x18], vr: 'UI', value: instance },
    { tag: [0x08, 0x60], vr: 'CS', value: text(options.modality ?? 'US') },
    { tag: [0x08, 0x70], vr: 'LO', value: text('INVENTED MAKER') },
    { tag: [0x10, 0x10], vr: 'PN', value: text('INVENTED^NAME') },
    { tag: [0x20, 0x0d], vr: 'UI', value: text('2.25.1002', '\0') },
    { tag: [0x20, 0x0e], vr: 'UI', value: text('2.25.1003', '\0') },
    { tag: [0x28, 0x02], vr: 'US', value: us(components) },
    { tag: [0x28, 0x04], vr: 'CS', value: text(options.photometric ?? 'MONOCHROME2') },
    { tag: [0x28, 0x10], vr: 'US', value: us(height) },
    { tag: [0x28, 0x11], vr: 'US', value: us(width) },
    { tag: [0x28, 0x100], vr: 'US', value: us(bitsAllocated) },
    { tag: [0x28, 0x101], vr: 'US', value: us(bitsStored) },
    { tag: [0x28, 0x102], vr: 'US', value: us(options.highBit ?? bitsStored - 1) },
    { tag: [0x28, 0x103], vr: 'US', value: us(options.signed === true ? 1 : 0) },
    ...(options.extra ?? []),
  ];
  const add = (tag: readonly [number, number], vr: string, value: Uint8Array | undefined): void => {
    if (value !== undefined) body.push({ tag, vr, value });
  };
  const list = regions.length > 0 ? join(regions.map((one) => region(one, coding))) : undefined;
  add([0x18, 0x6011], 'SQ', list);
  add([0x20, 0x4000], 'LT', options.comment === undefined ? undefined : text(options.comment));
  add([0x28, 0x06], 'US', options.planar === undefined ? undefined : us(options.planar));
  add([0x28, 0x08], 'IS', frames === undefined ? undefined : text(String(frames)));
  add([0x28, 0x30], 'DS', options.spacingMm === undefined ? undefined : text(options.spacingMm));
  const starts = options.frameStarts ? offsets(options.fragments ?? [], options.frameStarts) : [];
  if (options.extendedTable === true) {
    add([0x7fe0, 0x01], 'OV', ul(...starts.flatMap((one) => [one, 0])));
    add([0x7fe0, 0x02], 'OV', ul(...(options.fragments ?? []).flatMap((one) => [one.length, 0])));
  }
  body.sort((a, b) => a.tag[0] * 65_536 + a.tag[1] - (b.tag[0] * 65_536 + b.tag[1]));
  const table = options.extendedTable === true ? new Uint8Array(0) : ul(...starts);
  const packed = options.fragments
    ? encode(
        {
          tag: [0x7fe0, 0x10],
          vr: 'OB',
          value: join([item(table), ...options.fragments.map((one) => item(one)), us(0xfffe, 0xe0dd), ul(0)]),
        },
        coding,
        true,
      )
    : encode(
        {
          tag: [0x7fe0, 0x10],
          vr: options.pixelVr ?? (bitsAllocated === 16 ? 'OW' : 'OB'),
          value:
            options.pixels ??
            new Uint8Array((width * height * components * (frames ?? 1) * bitsAllocated) / 8),
        },
        coding,
      );
  const set = join([...body.map((element) => encode(element, coding)), packed]);
  return join([
    new Uint8Array(128),
    text('DICM'),
    encode({ tag: [2, 0], vr: 'UL', value: ul(meta.length) }),
    meta,
    syntax === '1.2.840.10008.1.2.1.99' ? padded(new Uint8Array(deflateRawSync(set))) : set,
  ]);
}

const padded = (bytes: Uint8Array): Uint8Array =>
  bytes.length % 2 === 0 ? bytes : join([bytes, Uint8Array.of(0)]);

/** Where the fragments that open a frame begin, counted from the first fragment. */
function offsets(fragments: readonly Uint8Array[], starts: readonly number[]): number[] {
  const all: number[] = [];
  let at = 0;
  for (const one of fragments) {
    all.push(at);
    at += 8 + one.length;
  }
  return starts.map((index) => all[index] as number);
}

/** A lit sector of 30° to each side in the picture of 64 × 48, 3 to 45 pixels from its apex at 32, 0. */
export function sectorPicture(level = 90): Uint8Array {
  return Uint8Array.from({ length: 64 * 48 }, (_, at) => {
    const s = (at % 64) - 32;
    const d = Math.floor(at / 64);
    const range = Math.hypot(s, d);
    return Math.abs(Math.atan2(s, d)) <= Math.PI / 6 && range >= 3 && range <= 45 ? level : 0;
  });
}

/** Packs planar samples as one RLE frame: literal runs of at most 128 bytes, or one repeated byte. */
export function packRle(planes: readonly Uint8Array[]): Uint8Array {
  const segments = planes.map((samples) => {
    const out: number[] = [];
    for (let at = 0; at < samples.length;) {
      let run = 1;
      while (run < 128 && at + run < samples.length && samples[at + run] === samples[at]) run += 1;
      if (run >= 3) out.push(257 - run, samples[at] as number);
      else {
        run = Math.min(128, samples.length - at);
        out.push(run - 1, ...samples.subarray(at, at + run));
      }
      at += run;
    }
    if (out.length % 2 === 1) out.push(128);
    return Uint8Array.from(out);
  });
  const head = new Uint32Array(16);
  head[0] = segments.length;
  let at = 64;
  for (const [index, segment] of segments.entries()) {
    head[index + 1] = at;
    at += segment.length;
  }
  return join([new Uint8Array(head.buffer), ...segments]);
}
