/** Smallest DICOM ultrasound files for tests: explicit little endian, one group-2 header, the elements given. Invented. */
export interface TestElement {
  readonly tag: readonly [number, number];
  readonly vr: string;
  readonly value: Uint8Array;
}

const longVrs = new Set(['OB', 'OW', 'SQ', 'UN', 'UT', 'OF']);

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

function encode({ tag, vr, value }: TestElement, undefinedLength = false): Uint8Array {
  const head = [us(tag[0], tag[1]), text(vr)];
  if (longVrs.has(vr)) head.push(us(0), ul(undefinedLength ? 0xffff_ffff : value.length));
  else head.push(us(value.length));
  return join([...head, value]);
}

const item = (value: Uint8Array): Uint8Array => join([us(0xfffe, 0xe000), ul(value.length), value]);

export interface TestRegion {
  readonly bounds?: readonly [number, number, number, number];
  readonly format?: number;
  readonly type?: number;
  readonly flags?: number;
  readonly units?: readonly [number, number];
  readonly deltaCm?: readonly [number, number];
  readonly reference?: { readonly px: readonly [number, number]; readonly cm: readonly [number, number] };
}

function region(one: TestRegion): Uint8Array {
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
  return item(join(elements.map((element) => encode(element))));
}

export interface TestFile {
  readonly syntax?: string;
  readonly sopClass?: string;
  readonly width?: number;
  readonly height?: number;
  readonly frames?: number;
  readonly components?: number;
  readonly photometric?: string;
  readonly planar?: number;
  readonly comment?: string;
  readonly spacingMm?: string;
  readonly regions?: readonly TestRegion[];
  readonly extra?: readonly TestElement[];
  /** Native samples, or packed fragments. */
  readonly pixels?: Uint8Array;
  readonly fragments?: readonly Uint8Array[];
}

export function testFile(options: TestFile = {}): Uint8Array {
  const { width = 64, height = 48, frames, components = 1, regions = [] } = options;
  const syntax = options.syntax ?? '1.2.840.10008.1.2.1';
  const sopClass = options.sopClass ?? '1.2.840.10008.5.1.4.1.1.3.1';
  const meta = join([
    encode({ tag: [2, 0x02], vr: 'UI', value: text(sopClass, '\0') }),
    encode({ tag: [2, 0x10], vr: 'UI', value: text(syntax, '\0') }),
  ]);
  const body: TestElement[] = [
    { tag: [0x08, 0x16], vr: 'UI', value: text(sopClass, '\0') },
    { tag: [0x08, 0x70], vr: 'LO', value: text('INVENTED MAKER') },
    { tag: [0x10, 0x10], vr: 'PN', value: text('INVENTED^NAME') },
    ...(regions.length > 0
      ? [{ tag: [0x18, 0x6011] as const, vr: 'SQ', value: join(regions.map(region)) }]
      : []),
    ...(options.comment === undefined
      ? []
      : [{ tag: [0x20, 0x4000] as const, vr: 'LT', value: text(options.comment) }]),
    { tag: [0x28, 0x02], vr: 'US', value: us(components) },
    { tag: [0x28, 0x04], vr: 'CS', value: text(options.photometric ?? 'MONOCHROME2') },
    ...(options.planar === undefined
      ? []
      : [{ tag: [0x28, 0x06] as const, vr: 'US', value: us(options.planar) }]),
    ...(frames === undefined ? [] : [{ tag: [0x28, 0x08] as const, vr: 'IS', value: text(String(frames)) }]),
    { tag: [0x28, 0x10], vr: 'US', value: us(height) },
    { tag: [0x28, 0x11], vr: 'US', value: us(width) },
    ...(options.spacingMm === undefined
      ? []
      : [{ tag: [0x28, 0x30] as const, vr: 'DS', value: text(options.spacingMm) }]),
    { tag: [0x28, 0x100], vr: 'US', value: us(8) },
    { tag: [0x28, 0x101], vr: 'US', value: us(8) },
    ...(options.extra ?? []),
  ];
  const packed = options.fragments
    ? encode(
        {
          tag: [0x7fe0, 0x10],
          vr: 'OB',
          value: join([item(new Uint8Array(0)), ...options.fragments.map(item), us(0xfffe, 0xe0dd), ul(0)]),
        },
        true,
      )
    : encode({
        tag: [0x7fe0, 0x10],
        vr: 'OB',
        value: options.pixels ?? new Uint8Array(width * height * components * (frames ?? 1)),
      });
  return join([
    new Uint8Array(128),
    text('DICM'),
    encode({ tag: [2, 0], vr: 'UL', value: ul(meta.length) }),
    meta,
    ...body.map((element) => encode(element)),
    packed,
  ]);
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
