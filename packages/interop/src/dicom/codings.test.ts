// Proves     every byte order, depth, sign, colour model, palette and way of cutting frames into pieces comes out as the
//            grey that stands in the pixels, worked out here by itself; what contradicts itself is refused by name.
// Published  DICOM PS3.5 annexes A and G, PS3.3 C.7.6.3 and C.11.2, in the files made here
// Tolerance  grey exact
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { readUltrasound } from './index.ts';
import { colourAt, deepAt, greyAt, packedFrames, side, type PackedFrame } from './testing/packed-frames.ts';
import { join, packRle, testFile, text, ul, us, type TestElement, type TestFile } from './testing/file.ts';

const pixels = 64 * 48;
const ramp = (count: number, step = 7): Uint8Array =>
  Uint8Array.from({ length: count }, (_, index) => (index * step) % 256);
const frames = async (options: TestFile): Promise<Uint8Array[]> =>
  orThrow(await readUltrasound(testFile(options))).frames.map((one) => one.grey);
const last = async (options: TestFile): Promise<Uint8Array> => (await frames(options)).at(-1) as Uint8Array;
const codeOf = async (options: TestFile): Promise<string> => {
  const image = await readUltrasound(testFile(options));
  return isRefusal(image) ? image.code : 'opened';
};
const words = (count: number, value: (index: number) => number): Uint8Array =>
  new Uint8Array(Uint16Array.from({ length: count }, (_, index) => value(index) & 0xffff).buffer);
const uncompressed: readonly (readonly [string, string])[] = [
  ['implicit little endian', '1.2.840.10008.1.2'],
  ['explicit little endian', '1.2.840.10008.1.2.1'],
  ['deflated', '1.2.840.10008.1.2.1.99'],
  ['explicit big endian', '1.2.840.10008.1.2.2'],
];

describe.each(uncompressed)('%s', (_name, syntax) => {
  it('gives grey, colour and the scale alike', async () => {
    expect(await last({ syntax, frames: 2, pixels: join([new Uint8Array(pixels), ramp(pixels)]) })).toEqual(
      ramp(pixels),
    );
    const colour = ramp(3 * pixels);
    const expected = Uint8Array.from({ length: pixels }, (_, at) =>
      Math.floor(
        (299 * (colour[3 * at] as number) +
          587 * (colour[3 * at + 1] as number) +
          114 * (colour[3 * at + 2] as number) +
          500) /
          1000,
      ),
    );
    expect(await last({ syntax, components: 3, photometric: 'RGB', planar: 0, pixels: colour })).toEqual(
      expected,
    );
    const image = orThrow(
      await readUltrasound(
        testFile({
          syntax,
          regions: [{ deltaCm: [0.05, 0.06], reference: { px: [32, -3], cm: [0, -0.1] } }],
        }),
      ),
    );
    expect(image.scale).toMatchObject({ mmPerPx: { x: 0.5, y: 0.6 }, originPx: { x: 32 } });
  });
  it('gives 12 of 16 bits, and 8 bits written as words', async () => {
    const value = (index: number): number => (index * 13) % 4096;
    expect(await last({ syntax, bitsAllocated: 16, bitsStored: 12, pixels: words(pixels, value) })).toEqual(
      Uint8Array.from({ length: pixels }, (_, index) => Math.round((value(index) * 255) / 4095)),
    );
    expect(await last({ syntax, pixelVr: 'OW', pixels: ramp(pixels) })).toEqual(ramp(pixels));
  });
});

describe('depth and sign', () => {
  it('leaves 8 bits as they are when words of 16 hold them', async () => {
    const value = (index: number): number => (index * 7) % 256;
    expect(await last({ bitsAllocated: 16, pixels: words(pixels, value) })).toEqual(ramp(pixels));
  });
  it('shares one brightness over all frames of a deep picture', async () => {
    const dark = words(pixels, () => 1023);
    const bright = words(pixels, () => 4095);
    const [first, second] = await frames({ bitsAllocated: 16, frames: 2, pixels: join([dark, bright]) });
    expect(first?.[0]).toBe(Math.round((1023 * 255) / 4095));
    expect(second?.[0]).toBe(255);
  });
  it('takes the window of the file when it states one, after slope and intercept', async () => {
    const number = (tag: readonly [number, number], value: string): TestElement => ({
      tag,
      vr: 'DS',
      value: text(value),
    });
    const extra = [
      number([0x28, 0x1050], '600'),
      number([0x28, 0x1051], '401'),
      number([0x28, 0x1052], '-1000'),
      number([0x28, 0x1053], '2'),
    ];
    const grey = await last({
      bitsAllocated: 16,
      bitsStored: 12,
      pixels: words(pixels, (index) => index),
      extra,
    });
    // 2 · 700 − 1000 = 400, at the foot of the window; 2 · 899 − 1000 = 798, just under its head.
    expect([grey[0], grey[699], grey[700], grey[800], grey[900]]).toEqual([0, 0, 0, 128, 255]);
  });
  it('reads signed samples from their lowest value', async () => {
    const value = (index: number): number => (index % 256) - 128;
    const expected = Uint8Array.from({ length: pixels }, (_, index) => index % 256);
    expect(
      await last({
        signed: true,
        pixels: Uint8Array.from({ length: pixels }, (_, index) => value(index) & 0xff),
      }),
    ).toEqual(expected);
    expect(
      await last({ bitsAllocated: 16, bitsStored: 8, signed: true, pixels: words(pixels, value) }),
    ).toEqual(expected);
  });
  it('sees neither an overlay in unused upper bits nor one in lower bits', async () => {
    const value = (index: number): number => (index * 7) % 256;
    const above = words(pixels, (index) => value(index) | (index % 3 === 0 ? 0xff00 : 0));
    expect(await last({ bitsAllocated: 16, bitsStored: 8, pixels: above })).toEqual(ramp(pixels));
    const below = words(pixels, (index) => (value(index) << 4) | (index % 16));
    expect(await last({ bitsAllocated: 16, bitsStored: 8, highBit: 11, pixels: below })).toEqual(
      ramp(pixels),
    );
  });
  it('stretches fewer bits than eight, and turns inverted grey of 12 bits', async () => {
    const grey = await last({
      bitsStored: 4,
      pixels: Uint8Array.from({ length: pixels }, (_, index) => index % 16),
    });
    expect([...grey.subarray(0, 16)]).toEqual(Array.from({ length: 16 }, (_, index) => index * 17));
    const inverted = await last({
      photometric: 'MONOCHROME1',
      bitsAllocated: 16,
      bitsStored: 12,
      pixels: words(pixels, (index) => (index === 0 ? 0 : 4095)),
    });
    expect([inverted[0], inverted[1]]).toEqual([255, 0]);
  });
  it.each<[string, TestFile]>([
    ['1 bit a sample', { bitsAllocated: 1, pixels: new Uint8Array(pixels) }],
    ['32 bits a sample', { bitsAllocated: 32, pixels: new Uint8Array(pixels * 4) }],
    ['more bits used than there are', { bitsStored: 12 }],
    ['a high bit above the word', { highBit: 9 }],
    ['a high bit below the bits used', { bitsAllocated: 16, bitsStored: 12, highBit: 7 }],
  ])('refuses %s', async (_name, file) => {
    expect(await codeOf(file)).toBe('dicom/bits');
  });
});

describe('colour', () => {
  it('takes the brightness of YBR_FULL, by pixel and by plane', async () => {
    const mixed = ramp(3 * pixels, 5);
    const expected = Uint8Array.from({ length: pixels }, (_, at) => mixed[3 * at] as number);
    const planes = new Uint8Array(3 * pixels);
    for (let at = 0; at < pixels; at += 1)
      for (let part = 0; part < 3; part += 1) planes[part * pixels + at] = mixed[3 * at + part] as number;
    const file = { components: 3, photometric: 'YBR_FULL' };
    expect(await last({ ...file, planar: 0, pixels: mixed })).toEqual(expected);
    expect(await last({ ...file, planar: 1, pixels: planes })).toEqual(expected);
    // The name of halved colour on whole colour: some writers do it, and the length tells.
    expect(await last({ ...file, photometric: 'YBR_FULL_422', planar: 0, pixels: mixed })).toEqual(expected);
  });
  it('takes the upper byte of colours of 16 bits', async () => {
    const grey = await last({
      components: 3,
      photometric: 'RGB',
      planar: 0,
      bitsAllocated: 16,
      pixels: words(3 * pixels, (index) => ((index % 251) << 8) | 0x5a),
    });
    expect(grey[0]).toBe(Math.floor((0 * 299 + 1 * 587 + 2 * 114 + 500) / 1000));
    expect(grey[40]).toBe(Math.floor((120 * 299 + 121 * 587 + 122 * 114 + 500) / 1000));
  });
  it.each(['YBR_PARTIAL_422', 'YBR_PARTIAL_420', 'XYB', 'HSV', 'ARGB', ''])(
    'refuses %s',
    async (photometric) => {
      expect(await codeOf({ components: 3, photometric, pixels: new Uint8Array(3 * pixels) })).toBe(
        'dicom/colour',
      );
    },
  );
  it('refuses halved colour in rows of odd length', async () => {
    const file = {
      width: 63,
      components: 3,
      photometric: 'YBR_FULL_422',
      pixels: new Uint8Array(63 * 48 * 2),
    };
    expect(await codeOf(file)).toBe('dicom/colour');
  });
});

describe('palettes', () => {
  const tables = (descriptor: Uint8Array, value: Uint8Array, first = 0x1200): TestElement[] =>
    [1, 2, 3].flatMap((part): TestElement[] => [
      { tag: [0x28, 0x1100 + part], vr: 'US', value: descriptor },
      { tag: [0x28, first + part], vr: 'OW', value },
    ]);
  const file = (extra: readonly TestElement[], more: TestFile = {}): TestFile => ({
    photometric: 'PALETTE COLOR',
    extra,
    pixels: ramp(pixels),
    ...more,
  });
  const turned = ramp(pixels).map((one) => 255 - one);
  const falling = (value: number): number => 255 - value;
  it('of 8 bits, of 16, of 16 with only the lower byte filled, and of words that hold 8', async () => {
    const bytes = Uint8Array.from({ length: 256 }, (_, value) => falling(value));
    expect(await last(file(tables(us(256, 0, 8), bytes)))).toEqual(turned);
    expect(
      await last(
        file(
          tables(
            us(256, 0, 16),
            words(256, (one) => falling(one) << 8),
          ),
        ),
      ),
    ).toEqual(turned);
    expect(await last(file(tables(us(256, 0, 16), words(256, falling))))).toEqual(turned);
    expect(await last(file(tables(us(256, 0, 8), words(256, falling))))).toEqual(turned);
  });
  it('in a big-endian file, of words and of bytes in swapped pairs', async () => {
    const syntax = '1.2.840.10008.1.2.2';
    const bytes = Uint8Array.from({ length: 256 }, (_, value) => falling(value));
    expect(
      await last(
        file(
          tables(
            us(256, 0, 16),
            words(256, (one) => falling(one) << 8),
          ),
          { syntax },
        ),
      ),
    ).toEqual(turned);
    expect(await last(file(tables(us(256, 0, 8), bytes), { syntax }))).toEqual(turned);
  });
  it('that begin at another value, and samples of 16 bits', async () => {
    const levels = words(16, (one) => (one * 16) << 8);
    const values = (index: number): number => 1000 + (index % 40) - 10;
    const grey = await last(
      file(tables(us(16, 1000, 16), levels), { bitsAllocated: 16, pixels: words(pixels, values) }),
    );
    expect([grey[0], grey[10], grey[12], grey[25], grey[39]]).toEqual([0, 0, 32, 240, 240]);
  });
  it('that begin below zero where samples are signed', async () => {
    const levels = words(256, (one) => one << 8);
    const grey = await last(
      file(tables(us(256, 0x1_0000 - 128, 16), levels), {
        signed: true,
        pixels: Uint8Array.from({ length: pixels }, (_, index) => ((index % 256) - 128) & 0xff),
      }),
    );
    expect(grey.subarray(0, 256)).toEqual(Uint8Array.from({ length: 256 }, (_, index) => index));
  });
  it('in segments: levels as written, a straight line, and earlier segments again', async () => {
    // 0 as written; then 127 steps up to 0x7f00; then both again, from the byte where the second segment stands.
    const segments = us(0, 1, 0, 1, 127, 0x7f00, 2, 1, 6, 0, 0, 1, 0xff00);
    const grey = await last(file(tables(us(256, 0, 16), segments, 0x1220), { pixels: ramp(pixels, 1) }));
    const expected = Uint8Array.from({ length: 256 }, (_, value) =>
      value < 128 ? value : value < 255 ? 127 : 255,
    );
    expect(grey.subarray(0, 256)).toEqual(expected);
  });
  it.each<[string, TestElement[]]>([
    ['missing tables', []],
    ['a table of 12 bits', tables(us(256, 0, 12), words(256, falling))],
    ['a table that is too short', tables(us(256, 0, 16), words(100, falling))],
    ['segments that run over', tables(us(256, 0, 16), us(0, 1, 0, 1, 400, 0xff00), 0x1220)],
    ['segments that end early', tables(us(256, 0, 16), us(0, 1, 0), 0x1220)],
    ['segments that repeat themselves without end', tables(us(256, 0, 16), us(2, 0xffff, 0, 0), 0x1220)],
  ])('with %s are refused', async (_name, extra) => {
    expect(await codeOf(file(extra))).toBe('dicom/palette');
  });
});

describe('pieces of packed frames', () => {
  const syntax = '1.2.840.10008.1.2.5';
  const planes = [ramp(pixels, 3), ramp(pixels, 5), ramp(pixels, 11)];
  const packed = planes.map((one) => packRle([one]));
  const halves = packed.flatMap((one) => {
    const middle = 2 * Math.floor(one.length / 4);
    return [one.subarray(0, middle), one.subarray(middle)];
  });
  it('one a frame, with and without a table of offsets', async () => {
    expect(await frames({ syntax, frames: 3, fragments: packed })).toEqual(planes);
    expect(await frames({ syntax, frames: 3, fragments: packed, frameStarts: [0, 1, 2] })).toEqual(planes);
  });
  it('several a frame, by the basic and by the extended table', async () => {
    const file = { syntax, frames: 3, fragments: halves, frameStarts: [0, 2, 4] };
    expect(await frames(file)).toEqual(planes);
    expect(await frames({ ...file, extendedTable: true })).toEqual(planes);
  });
  it('several of one frame without a table', async () => {
    expect(await frames({ syntax, fragments: halves.slice(0, 2) })).toEqual([planes[0]]);
  });
  it('of colours and of 16 bits in RLE', async () => {
    const parts = [ramp(pixels, 3), ramp(pixels, 5), ramp(pixels, 11)];
    expect(
      await last({ syntax, components: 3, photometric: 'YBR_FULL', planar: 1, fragments: [packRle(parts)] }),
    ).toEqual(parts[0]);
    const deep = await last({
      syntax,
      bitsAllocated: 16,
      fragments: [packRle([new Uint8Array(pixels).fill(0x0f), ramp(pixels)])],
    });
    expect(deep[1]).toBe(Math.round((0x0f07 * 255) / 4095));
  });
  it.each<[string, TestFile, string]>([
    [
      'more frames in the table than counted',
      { frames: 2, fragments: packed, frameStarts: [0, 1, 2] },
      'frames-more',
    ],
    ['fewer pieces than frames', { frames: 9, fragments: packed }, 'frames-missing'],
    ['pieces that no table tells apart', { frames: 2, fragments: packed }, 'frames-missing'],
    ['an empty piece', { fragments: [new Uint8Array(0)] }, 'frame-damaged'],
  ])('refuses %s', async (_name, file, code) => {
    expect(await codeOf({ syntax, ...file })).toBe(`dicom/${code}`);
  });
  it('refuses plain pixels that are more or fewer than rows, columns and frames say', async () => {
    expect(await codeOf({ frames: 2, pixels: new Uint8Array(3 * pixels) })).toBe('dicom/frames-more');
    expect(await codeOf({ frames: 2, pixels: new Uint8Array(pixels) })).toBe('dicom/frames-missing');
    expect(await codeOf({ width: 32, pixels: new Uint8Array(pixels) })).toBe('dicom/frames-more');
  });
});

describe('frames that other programs packed', () => {
  const shown = { grey: greyAt, deep: (x: number, y: number): number => (deepAt(x, y) * 255) / 4095 };
  const expected = (pattern: PackedFrame['pattern'], x: number, y: number): number => {
    if (pattern !== 'colour') return Math.round(shown[pattern](x, y));
    const [red, green, blue] = colourAt(x, y);
    return Math.round((299 * red + 587 * green + 114 * blue) / 1000);
  };
  const fileOf = ({ syntax, photometric, pattern, frame }: PackedFrame): TestFile => ({
    syntax,
    photometric,
    width: side,
    height: side,
    components: pattern === 'colour' ? 3 : 1,
    ...(pattern === 'colour' ? { planar: 0 } : {}),
    ...(pattern === 'deep' ? { bitsAllocated: 16, bitsStored: 12 } : {}),
    fragments: [frame],
  });
  it.each(packedFrames.map((one) => [one.name, one] as const))('%s', async (_name, packed) => {
    const grey = await last(fileOf(packed));
    let worst = 0;
    for (let at = 0; at < grey.length; at += 1) {
      const wanted = expected(packed.pattern, at % side, Math.floor(at / side));
      worst = Math.max(worst, Math.abs((grey[at] as number) - wanted));
    }
    expect(worst).toBeLessThanOrEqual(packed.tolerance);
    // A frame of another size or number of colours than the file says is found before it is unpacked.
    expect(await codeOf({ ...fileOf(packed), width: side + 2 })).toBe('dicom/frame-damaged');
    expect(await codeOf({ ...fileOf(packed), height: side * 2 })).toBe('dicom/frame-damaged');
    for (const length of [30, packed.frame.length >> 1, packed.frame.length - 6]) {
      const cut = packed.frame.subarray(0, length);
      expect(await codeOf({ ...fileOf(packed), fragments: [cut] })).toBe('dicom/frame-damaged');
    }
  });
  it('several frames of JPEG in pieces without a table are told apart by their ends', async () => {
    const jpeg = packedFrames.filter(
      (one) => one.syntax === '1.2.840.10008.1.2.4.70' && one.pattern === 'grey',
    )[0] as PackedFrame;
    const pieces = [0, 1, 2].flatMap(() => [jpeg.frame.subarray(0, 100), jpeg.frame.subarray(100)]);
    expect(await frames({ ...fileOf(jpeg), frames: 3, fragments: pieces })).toHaveLength(3);
    expect(await codeOf({ ...fileOf(jpeg), frames: 2, fragments: pieces })).toBe('dicom/frames-more');
  });
  it('JPEG of 12 bits with losses is refused as too deep', async () => {
    const jpeg = packedFrames[0] as PackedFrame;
    const deep = Uint8Array.from(jpeg.frame);
    deep[Buffer.from(deep).indexOf(Uint8Array.of(0xff, 0xc0)) + 4] = 12;
    expect(await codeOf({ ...fileOf(jpeg), bitsAllocated: 16, bitsStored: 12, fragments: [deep] })).toBe(
      'dicom/bits',
    );
  });
});

describe('objects of other kinds', () => {
  it.each([
    ['1.2.840.10008.5.1.4.1.1.88.33', 'a structured report'],
    ['1.2.840.10008.5.1.4.1.1.104.1', 'an encapsulated document'],
    ['1.2.840.10008.5.1.4.1.1.7', 'a secondary picture'],
    ['1.2.840.10008.5.1.4.1.1.2', 'an image of another kind than ultrasound'],
    ['1.2.840.10008.1.3.10', 'the index of a disc'],
    ['1.2.3', 'an object of another kind'],
  ])('%s is refused as %s', async (sopClass, found) => {
    const image = await readUltrasound(testFile({ sopClass }));
    expect(image).toMatchObject({ code: 'dicom/not-ultrasound-image' });
    expect((image as { found: string }).found).toContain(found);
  });
  it('a sequence of unknown representation and unstated length does not stop the reader', async () => {
    const extra: TestElement[] = [
      { tag: [0x29, 0x1010], vr: 'UN', value: join([us(0xfffe, 0xe000), ul(0)]) },
    ];
    expect(await last({ extra, pixels: ramp(pixels) })).toEqual(ramp(pixels));
  });
});
