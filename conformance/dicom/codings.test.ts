// Proves     files that other programs packed or turned round are read with the very pixels that went in, and lossy ones
//            with the pixels that those programs unpack themselves.
// Published  DCMTK 3.6.7 (dcmcjpeg, dcmcjpls, dcmcrle, dcmconv, dcmdjpeg) and GDCM 3.0 (gdcmconv), where installed
// Tolerance  lossless exact; near-lossless within its stated deviation; lossy within 2 of the other program
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import { readUltrasound } from '@ebbline/interop/dicom';
import { testFile, type TestFile } from '@ebbline/interop/dicom/testing';
import { has, run, type Program } from './tools.ts';

const width = 96;
const height = 70;
const frames = 3;
const count = width * height * frames;
const random = seededRandom(11);

/** Speckle over a dark body, black corners: what a picture is made of, runs and noise alike. */
const level = Float64Array.from({ length: count }, (_, at) => {
  const [x, y] = [at % width, Math.floor(at / width) % height];
  if (x + y < 25 || x - y > 70) return 0;
  const body = Math.hypot(x - 50, y - 38) < 16 ? 0.03 : 0.5;
  return Math.max(0, Math.min(1, body * (0.4 + random.next())));
});
const grey = Uint8Array.from(level, (one) => Math.round(255 * one));
const deep = new Uint8Array(Uint16Array.from(level, (one) => Math.round(4095 * one)).buffer);
const colour = Uint8Array.from({ length: 3 * count }, (_, at) => {
  const one = grey[Math.floor(at / 3)] as number;
  return (at % 3) * 11 + Math.round(one * (0.9 - 0.2 * (at % 3)));
});
const greyOfDeep = Uint8Array.from(level, (one) => Math.round((255 * Math.round(4095 * one)) / 4095));
const greyOfColour = Uint8Array.from({ length: count }, (_, at) =>
  Math.floor(
    (299 * (colour[3 * at] as number) +
      587 * (colour[3 * at + 1] as number) +
      114 * (colour[3 * at + 2] as number) +
      500) /
      1000,
  ),
);

const shape: TestFile = { width, height, frames };
const sources = {
  grey: { file: testFile({ ...shape, pixels: grey }), expected: grey },
  deep: {
    file: testFile({ ...shape, bitsAllocated: 16, bitsStored: 12, pixels: deep }),
    expected: greyOfDeep,
  },
  colour: {
    file: testFile({ ...shape, components: 3, photometric: 'RGB', planar: 0, pixels: colour }),
    expected: greyOfColour,
  },
} as const;
type Source = keyof typeof sources;

async function greyOf(bytes: Uint8Array): Promise<Uint8Array> {
  const read = orThrow(await readUltrasound(bytes));
  expect(read.frames).toHaveLength(frames);
  const all = new Uint8Array(count);
  for (const [index, frame] of read.frames.entries()) all.set(frame.grey, index * width * height);
  return all;
}

const worst = (a: Uint8Array, b: Uint8Array): number =>
  a.reduce((most, one, at) => Math.max(most, Math.abs(one - (b[at] as number))), 0);

const cases: readonly (readonly [string, Program, readonly string[], Source, number])[] = [
  ['implicit little endian', 'dcmconv', ['+ti'], 'grey', 0],
  ['big endian, 12 bits', 'dcmconv', ['+tb'], 'deep', 0],
  ['big endian, colour', 'dcmconv', ['+tb'], 'colour', 0],
  ['deflated', 'dcmconv', ['+td'], 'deep', 0],
  ['sequences of unstated length', 'dcmconv', ['-e'], 'grey', 0],
  ['RLE', 'dcmcrle', [], 'grey', 0],
  ['RLE, 12 bits', 'dcmcrle', [], 'deep', 0],
  ['RLE, colour', 'dcmcrle', [], 'colour', 0],
  ['RLE without a table of offsets', 'dcmcrle', ['-ot'], 'grey', 0],
  ['lossless JPEG', 'dcmcjpeg', ['+e1'], 'grey', 0],
  ['lossless JPEG, 12 bits', 'dcmcjpeg', ['+e1'], 'deep', 0],
  ['lossless JPEG, colour', 'dcmcjpeg', ['+e1', '+cn'], 'colour', 0],
  ...[1, 2, 3, 4, 5, 6, 7].map(
    (predictor) =>
      [
        `lossless JPEG by predictor ${predictor}`,
        'dcmcjpeg',
        ['+el', '+sv', String(predictor)],
        'deep',
        0,
      ] as const,
  ),
  ['lossless JPEG in pieces of 1 kB', 'dcmcjpeg', ['+e1', '+fs', '1'], 'deep', 0],
  ['lossless JPEG in pieces of 1 kB without a table', 'dcmcjpeg', ['+e1', '+fs', '1', '-ot'], 'deep', 0],
  ['JPEG-LS', 'dcmcjpls', ['+el'], 'grey', 0],
  ['JPEG-LS, 12 bits', 'dcmcjpls', ['+el'], 'deep', 0],
  ['JPEG-LS, colour by line', 'dcmcjpls', ['+el', '+il'], 'colour', 0],
  ['JPEG-LS, colour by sample', 'dcmcjpls', ['+el', '+is'], 'colour', 0],
  ['JPEG-LS, colour by plane', 'dcmcjpls', ['+el', '+in'], 'colour', 0],
  ['near-lossless JPEG-LS', 'dcmcjpls', ['+en', '+md', '3'], 'grey', 3],
  ['near-lossless JPEG-LS, colour by sample', 'dcmcjpls', ['+en', '+md', '3', '+is'], 'colour', 3],
  ['JPEG 2000', 'gdcmconv', ['--j2k'], 'grey', 0],
  ['JPEG 2000, 12 bits', 'gdcmconv', ['--j2k'], 'deep', 0],
  ['JPEG 2000, colour', 'gdcmconv', ['--j2k'], 'colour', 0],
  ['JPEG-LS of another writer', 'gdcmconv', ['--jpegls'], 'deep', 0],
  ['RLE of another writer', 'gdcmconv', ['--rle'], 'colour', 0],
];

describe('pixels that other programs packed', () => {
  it.for(cases)('%s (%s)', async ([, program, words, source, tolerance], { skip }) => {
    skip(!has(program), `${program} is not installed`);
    const { file, expected } = sources[source];
    const { out, said } = run(program, words, file);
    expect(out, said).toBeDefined();
    expect(worst(await greyOf(out as Uint8Array), expected)).toBeLessThanOrEqual(tolerance);
  });
  it.for([
    ['baseline JPEG', ['+eb', '+q', '80'], 'grey'],
    ['baseline JPEG, colour differences', ['+eb', '+q', '80'], 'colour'],
    ['baseline JPEG, colours as they are', ['+eb', '+q', '80', '+cr'], 'colour'],
    ['extended JPEG of 8 bits', ['+ee', '+q', '80'], 'grey'],
  ] as const)('%s, against the other program’s own unpacking', async ([, words, source], { skip }) => {
    skip(!has('dcmcjpeg') || !has('dcmdjpeg'), 'dcmcjpeg and dcmdjpeg are not installed');
    const packed = run('dcmcjpeg', words, sources[source].file).out;
    expect(packed).toBeDefined();
    const unpacked = run('dcmdjpeg', ['+cp'], packed as Uint8Array).out;
    expect(unpacked).toBeDefined();
    const [ours, theirs] = [await greyOf(packed as Uint8Array), await greyOf(unpacked as Uint8Array)];
    // Thinned-out colours may be filled in otherwise, which shifts brightness a little where colours clip.
    expect(worst(ours, theirs)).toBeLessThanOrEqual(2);
  });
  it('12 bits of lossy JPEG are refused by name', async ({ skip }) => {
    skip(!has('dcmcjpeg'), 'dcmcjpeg is not installed');
    const packed = run('dcmcjpeg', ['+ee', '+q', '90'], sources.deep.file).out as Uint8Array;
    const read = await readUltrasound(packed);
    expect(isRefusal(read) ? read.code : 'opened').toBe('dicom/bits');
  });
});
