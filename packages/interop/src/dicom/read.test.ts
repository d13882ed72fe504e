// Proves     every colour model comes out as the right grey; scale only by the acceptance rule; broken files are refused;
//            a geometry given by hand stands in only where it may; no name, maker or free text leaves the reader.
// Published  DICOM PS3.3 C.8.5.5 and C.7.6.3, PS3.5 annex G, in the files made here
// Tolerance  grey exact, except colour to grey: half a step
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, refusalSentence } from '@ebbline/core/quantity';
import {
  planeSetOfImage,
  pictureScale,
  readUltrasound,
  scaleAtPoints,
  type UltrasoundImage,
} from './index.ts';
import { decodeRle } from '../codecs/index.ts';
import {
  join,
  packRle,
  sectorPicture,
  testFile,
  us,
  type TestFile,
  type TestRegion,
} from './testing/file.ts';

const ramp = (count: number): Uint8Array =>
  Uint8Array.from({ length: count }, (_, index) => (index * 7) % 256);
const grey = async (options: TestFile): Promise<Uint8Array> => {
  const image = orThrow(await readUltrasound(testFile(options)));
  return (image.frames.at(-1) as { grey: Uint8Array }).grey;
};
const pixels = 64 * 48;

describe('grey frames', () => {
  it('from grey samples, upright and inverted, frame after frame', async () => {
    const both = new Uint8Array(2 * pixels);
    both.set(ramp(pixels), pixels);
    expect(await grey({ frames: 2, pixels: both })).toEqual(ramp(pixels));
    expect(await grey({ photometric: 'MONOCHROME1', pixels: ramp(pixels) })).toEqual(
      ramp(pixels).map((one) => 255 - one),
    );
  });
  it('from red, green, blue, by pixel and by plane', async () => {
    const mixed = ramp(3 * pixels);
    const planar = new Uint8Array(3 * pixels);
    for (let at = 0; at < pixels; at += 1)
      for (let part = 0; part < 3; part += 1) planar[part * pixels + at] = mixed[3 * at + part] as number;
    const byPixel = await grey({ components: 3, photometric: 'RGB', planar: 0, pixels: mixed });
    expect(await grey({ components: 3, photometric: 'RGB', planar: 1, pixels: planar })).toEqual(byPixel);
    expect(byPixel[0]).toBe(Math.round(0.299 * 0 + 0.587 * 7 + 0.114 * 14));
  });
  it('from brightness with halved colour: Y Y Cb Cr', async () => {
    const packed = new Uint8Array(2 * pixels);
    for (let at = 0; at < pixels; at += 1) packed[(at >> 1) * 4 + (at & 1)] = at % 256;
    expect(
      (await grey({ components: 3, photometric: 'YBR_FULL_422', pixels: packed })).subarray(0, 256),
    ).toEqual(Uint8Array.from({ length: 256 }, (_, at) => at));
  });
  it('through a palette of 16 bits', async () => {
    const table = new Uint8Array(Uint16Array.from({ length: 256 }, (_, value) => (255 - value) << 8).buffer);
    const extra = [1, 2, 3].flatMap((part) => [
      { tag: [0x28, 0x1100 + part] as const, vr: 'US', value: us(256, 0, 16) },
    ]);
    const tables = [1, 2, 3].map((part) => ({ tag: [0x28, 0x1200 + part] as const, vr: 'OW', value: table }));
    expect(
      await grey({ photometric: 'PALETTE COLOR', extra: [...extra, ...tables], pixels: ramp(pixels) }),
    ).toEqual(ramp(pixels).map((one) => 255 - one));
    expect(await readUltrasound(testFile({ photometric: 'PALETTE COLOR' }))).toMatchObject({
      code: 'dicom/palette',
    });
  });
  it('from RLE, one fragment a frame, no offset table', async () => {
    const second = ramp(pixels).fill(9, 100, 900);
    const file = {
      syntax: '1.2.840.10008.1.2.5',
      frames: 2,
      fragments: [packRle([new Uint8Array(pixels)]), packRle([second])],
    };
    expect(await grey(file)).toEqual(second);
  });
  it('RLE that ends early, runs over or claims other segments is refused', () => {
    const packed = packRle([ramp(500)]);
    expect(decodeRle(packed, 500, 1)).toEqual(ramp(500));
    for (const wrong of [
      packed.subarray(0, 300),
      packed.subarray(0, 20),
      Uint8Array.from(packed, (one, at) => (at === 0 ? 2 : one)),
    ]) {
      expect(decodeRle(wrong, 500, 1)).toBeUndefined();
    }
    expect(decodeRle(packed, 400, 1)).toBeUndefined();
    expect(decodeRle(packed, 25e6, 1)).toBeUndefined();
  });
});

describe('refused files', () => {
  it.each<[string, TestFile | Uint8Array, string]>([
    ['no DICOM', new Uint8Array(500), 'dicom/not-dicom'],
    ['a report', { sopClass: '1.2.840.10008.5.1.4.1.1.88.22' }, 'dicom/not-ultrasound-image'],
    ['another kind of image under the class of ultrasound', { modality: 'CT' }, 'dicom/not-ultrasound-image'],
    ['too few pixels', { frames: 9, pixels: new Uint8Array(pixels) }, 'dicom/frames-missing'],
    ['no pixels', { pixels: new Uint8Array(0) }, 'dicom/no-pixels'],
    [
      'an unknown coding',
      { syntax: '1.2.840.10008.1.2.4.100', fragments: [new Uint8Array(10)] },
      'dicom/transfer-syntax',
    ],
    ['a name as coding', { syntax: 'toString', fragments: [new Uint8Array(10)] }, 'dicom/transfer-syntax'],
    ['an unknown colour', { photometric: 'CMYK' }, 'dicom/colour'],
    ['frames without end', { frames: 999_999_999, pixels: new Uint8Array(pixels) }, 'dicom/picture-size'],
    ['a broken JPEG', { syntax: '1.2.840.10008.1.2.4.50', fragments: [ramp(400)] }, 'dicom/frame-damaged'],
    [
      'a broken lossless JPEG',
      { syntax: '1.2.840.10008.1.2.4.70', fragments: [ramp(400)] },
      'dicom/frame-damaged',
    ],
    ['a broken JPEG-LS', { syntax: '1.2.840.10008.1.2.4.80', fragments: [ramp(400)] }, 'dicom/frame-damaged'],
    [
      'a broken JPEG 2000',
      { syntax: '1.2.840.10008.1.2.4.90', fragments: [ramp(400)] },
      'dicom/frame-damaged',
    ],
  ])('%s', async (_name, file, code) => {
    const bytes = file instanceof Uint8Array ? file : testFile(file);
    expect(await readUltrasound(bytes)).toMatchObject({ refused: true, code });
  });
});

describe('scale', () => {
  const size = { width: 64, height: 48 };
  const read = async (regions: readonly TestRegion[], spacingMm?: string) =>
    (
      orThrow(
        await readUltrasound(testFile({ regions, ...(spacingMm === undefined ? {} : { spacingMm }) })),
      ) as UltrasoundImage
    ).scale;
  it('is that of the one calibrated region of tissue, in mm', async () => {
    expect(await read([{ deltaCm: [0.05, -0.06] }])).toMatchObject({ mmPerPx: { x: 0.5, y: 0.6 } });
    expect(await read([{ format: 4, type: 10, units: [4, 0] }, { bounds: [0, 0, 64, 48] }])).toMatchObject({
      mmPerPx: { x: 0.5, y: 0.5 },
      region: { maxX: 63, maxY: 47 },
    });
  });
  it.each<[string, readonly TestRegion[], string]>([
    ['no region', [], 'scale-missing'],
    ['M-mode only', [{ format: 2, units: [4, 3] }], 'scale-not-2d'],
    ['a spectrum only', [{ format: 3, units: [4, 7] }], 'scale-not-2d'],
    ['a drawing only', [{ format: 5 }], 'scale-not-2d'],
    ['an electrocardiogram only', [{ type: 10 }], 'scale-not-tissue'],
    ['flow in colour only', [{ type: 2 }], 'scale-not-tissue'],
    ['tissue in seconds', [{ units: [4, 3] }], 'scale-not-cm'],
    ['tissue without units', [{ units: [0, 0] }], 'scale-not-cm'],
    ['a delta of zero', [{ deltaCm: [0, 0.05] }], 'scale-zero'],
    ['a delta that is no number', [{ deltaCm: [0.05, Number.NaN] }], 'scale-zero'],
    ['a pixel of 3 cm', [{ deltaCm: [3, 0.05] }], 'scale-implausible'],
    ['a pixel of a micrometre', [{ deltaCm: [0.0001, 0.0001] }], 'scale-implausible'],
    ['bounds to the right', [{ bounds: [10, 10, 66, 40] }], 'scale-outside-image'],
    ['bounds below', [{ bounds: [10, 10, 60, 80] }], 'scale-outside-image'],
    ['bounds the wrong way round', [{ bounds: [40, 10, 20, 40] }], 'scale-outside-image'],
    ['one region outside beside one inside', [{}, { bounds: [0, 0, 99, 47] }], 'scale-outside-image'],
    ['two sizes of the same priority', [{}, { deltaCm: [0.07, 0.07] }], 'scale-contradictory'],
    ['two sizes of low priority', [{ flags: 1 }, { flags: 1, deltaCm: [0.05, 0.07] }], 'scale-contradictory'],
  ])('with %s is refused for that reason', async (_name, regions, code) => {
    expect(await read(regions)).toMatchObject({ refused: true, code: `dicom/${code}` });
  });
  it('in millimetres under the name of centimetres is refused: the picture would be over half a metre', async () => {
    const file = testFile({
      width: 480,
      height: 300,
      regions: [{ bounds: [0, 0, 479, 299], deltaCm: [0.5, 0.5] }],
    });
    expect(orThrow(await readUltrasound(file)).scale).toMatchObject({ code: 'dicom/scale-implausible' });
  });
  it('is refused when the region runs out of the picture [scale-inside-image]', async () => {
    expect(await read([{ bounds: [10, 10, 66, 40] }])).toMatchObject({ code: 'dicom/scale-outside-image' });
    expect(await read([{ bounds: [10, 10, 60, 80] }])).toMatchObject({ code: 'dicom/scale-outside-image' });
  });
  it('is refused when regions or pixel spacing contradict it [scale-contradiction]', async () => {
    expect(await read([{}, { deltaCm: [0.07, 0.07] }])).toMatchObject({ code: 'dicom/scale-contradictory' });
    expect(await read([{}], '0.7\\0.7')).toMatchObject({ code: 'dicom/scale-spacing-differs' });
    expect(await read([{}], '0.5\\0.7')).toMatchObject({ code: 'dicom/scale-spacing-differs' });
    expect(await read([{}], '0.5\\0.5')).toMatchObject({ mmPerPx: { x: 0.5, y: 0.5 } });
  });
  it('is not taken from pixel spacing alone', async () => {
    const alone = await read([], '0.5\\0.5');
    expect(alone).toMatchObject({ code: 'dicom/scale-missing' });
    expect((alone as { found: string }).found).toContain('pixel spacing');
  });
  it('keeps its size where an axis runs the other way, and says when depth runs up', async () => {
    expect(await read([{ deltaCm: [-0.05, 0.05] }])).toMatchObject({
      mmPerPx: { x: 0.5, y: 0.5 },
      depthRunsUp: false,
    });
    expect(await read([{ deltaCm: [0.05, -0.05] }])).toMatchObject({
      mmPerPx: { x: 0.5, y: 0.5 },
      depthRunsUp: true,
    });
  });
  it('comes from the region of high priority where two overlap', async () => {
    expect(await read([{ flags: 3, deltaCm: [0.07, 0.07] }, { flags: 2 }])).toMatchObject({
      mmPerPx: { x: 0.5, y: 0.5 },
    });
  });
  it('holds at points inside its region only', () => {
    const scale = orThrow(
      pictureScale(
        [
          {
            spatialFormat: 1,
            dataType: 1,
            flags: 2,
            minX: 5,
            minY: 5,
            maxX: 50,
            maxY: 40,
            unitsX: 3,
            unitsY: 3,
            deltaX: 0.05,
            deltaY: 0.05,
          },
        ],
        size,
      ),
    );
    expect(scaleAtPoints(scale, [{ x: 6, y: 6 }])).toEqual({ x: 0.5, y: 0.5 });
    expect(
      scaleAtPoints(scale, [
        { x: 6, y: 6 },
        { x: 51, y: 6 },
      ]),
    ).toMatchObject({ code: 'dicom/scale-point-outside' });
  });
});

describe('plane set of an image', () => {
  const sector = { px: [32, 0] as const, cm: [0, 0] as const };
  const fan: TestFile = {
    frames: 3,
    comment: 'rotational_fan plane angles deg: 0 60 120',
    regions: [{ bounds: [0, 0, 63, 47], deltaCm: [0.1, 0.1], reference: sector }],
    pixels: join([sectorPicture(), sectorPicture(), sectorPicture()]),
  };
  const setOf = async (file: TestFile) => planeSetOfImage(orThrow(await readUltrasound(testFile(file))));
  it('takes the layout from our own words in the comment, the apex from the reference pixel', async () => {
    expect(await setOf(fan)).toMatchObject({
      geometry: { layout: 'rotational_fan', apexPx: { x: 32, y: 0 }, mmPerPx: { x: 1, y: 1 } },
    });
  });
  it('reads the sector off the picture; writing, a bar and a ruler beside it change nothing', async () => {
    const plain = orThrow(await setOf(fan)).geometry.sector;
    expect(Math.abs(plain.halfAngleDeg - 30)).toBeLessThan(1);
    expect(Math.abs(plain.rMinMm - 3)).toBeLessThan(0.6);
    expect(Math.abs(plain.rMaxMm - 45)).toBeLessThan(0.6);
    const marked = join([sectorPicture(), sectorPicture(), sectorPicture()]);
    for (let y = 4; y < 44; y += 1) marked[y * 64 + 62] = 255;
    for (let y = 2; y < 7; y += 1) marked.fill(255, y * 64 + 2, y * 64 + 14);
    const beside = orThrow(await setOf({ ...fan, pixels: marked })).geometry.sector;
    expect(Math.abs(beside.halfAngleDeg - plain.halfAngleDeg)).toBeLessThan(1);
    expect([beside.rMinMm, beside.rMaxMm]).toEqual([plain.rMinMm, plain.rMaxMm]);
  });
  it('is refused when the picture is less than 20 mm deep: the pixel size is in another unit', async () => {
    const tenth = await setOf({ ...fan, regions: [{ deltaCm: [0.01, 0.01], reference: sector }] });
    expect(tenth).toMatchObject({ code: 'dicom/scale-implausible' });
  });
  it('is refused without layout, with other words around it, or another count', async () => {
    for (const comment of [
      '',
      'Mrs X rotational_fan plane angles deg: 0 60 120',
      'rotational_fan plane angles deg: 0 60 120 seen by Y',
      'rotational_fan plane offsets mm: 0 60 120',
    ]) {
      expect(await setOf({ ...fan, comment })).toMatchObject({ code: 'dicom/layout-missing' });
    }
    expect(await setOf({ ...fan, comment: 'rotational_fan plane angles deg: 0 60' })).toMatchObject({
      code: 'dicom/layout-frames',
    });
    expect(await setOf({ ...fan, regions: [] })).toMatchObject({ code: 'dicom/scale-missing' });
    expect(await setOf({ ...fan, pixels: new Uint8Array(3 * pixels) })).toMatchObject({
      code: 'dicom/sector-unclear',
    });
  });
  it('with a given geometry says so, and refuses one whose scale contradicts the image [scale-contradiction]', async () => {
    const image = orThrow(await readUltrasound(testFile(fan)));
    const given = orThrow(planeSetOfImage(image)).geometry;
    expect(planeSetOfImage(image, given)).toMatchObject({ geometry: { givenByHand: true } });
    expect(planeSetOfImage(image, { ...given, mmPerPx: { x: 2, y: 2 } })).toMatchObject({
      code: 'dicom/scale-given-differs',
    });
    expect(planeSetOfImage(image, { ...given, planes: given.planes.slice(1) })).toMatchObject({
      code: 'dicom/layout-frames',
    });
  });
});

describe('a geometry given by hand', () => {
  const reference = { px: [32, 0] as const, cm: [0, 0] as const };
  const file: TestFile = {
    frames: 3,
    comment: 'rotational_fan plane angles deg: 0 60 120',
    regions: [{ deltaCm: [0.1, 0.1], reference }],
    pixels: join([sectorPicture(), sectorPicture(), sectorPicture()]),
  };
  const image = async (options: TestFile) => orThrow(await readUltrasound(testFile(options)));
  const given = async () => orThrow(planeSetOfImage(await image(file))).geometry;
  it.each<[string, TestFile]>([
    ['no region', { regions: [] }],
    ['M-mode only', { regions: [{ format: 2 }] }],
    ['a region that leaves the picture', { regions: [{ bounds: [0, 0, 200, 47] }] }],
    ['a delta of zero', { regions: [{ deltaCm: [0, 0] }] }],
  ])('stands in where the file has %s, and is marked', async (_name, change) => {
    const set = orThrow(planeSetOfImage(await image({ ...file, ...change }), await given()));
    expect(set.geometry).toMatchObject({ givenByHand: true, mmPerPx: { x: 1, y: 1 } });
  });
  it.each<[string, TestFile, string]>([
    [
      'two regions that disagree',
      { regions: [{ deltaCm: [0.1, 0.1] }, { deltaCm: [0.05, 0.05] }] },
      'scale-contradictory',
    ],
    ['a pixel spacing that disagrees', { spacingMm: '0.7\\0.7' }, 'scale-spacing-differs'],
    ['another scale', { regions: [{ deltaCm: [0.102, 0.1] }] }, 'scale-given-differs'],
    ['other angles', { comment: 'rotational_fan plane angles deg: 0 30 120' }, 'layout-contradictory'],
    ['another layout', { comment: 'tilt_sweep plane angles deg: 0 60 120' }, 'layout-contradictory'],
    ['more frames', { frames: 4, pixels: new Uint8Array(4 * pixels) }, 'layout-frames'],
  ])('is refused where the file has %s', async (_name, change, code) => {
    expect(planeSetOfImage(await image({ ...file, ...change }), await given())).toMatchObject({
      code: `dicom/${code}`,
    });
  });
  it('is refused when it was written for a picture of another size', async () => {
    const wrong = planeSetOfImage(await image(file), await given(), { width: 128, height: 48 });
    expect(wrong).toMatchObject({ code: 'dicom/geometry-size' });
    expect(planeSetOfImage(await image(file), await given(), { width: 64, height: 48 })).toHaveProperty(
      'planes',
    );
  });
  it('is asked for when depth runs up or two pictures stand beside each other', async () => {
    const up = await image({ ...file, regions: [{ deltaCm: [0.1, -0.1], reference }] });
    expect(planeSetOfImage(up)).toMatchObject({ code: 'dicom/depth-runs-up' });
    const two = await image({
      ...file,
      regions: [
        { bounds: [0, 0, 31, 47], deltaCm: [0.1, 0.1], reference },
        { bounds: [32, 0, 63, 47], deltaCm: [0.1, 0.1], reference },
      ],
    });
    expect(two.scale).toMatchObject({ panes: 2, mmPerPx: { x: 1, y: 1 } });
    expect(planeSetOfImage(two)).toMatchObject({ code: 'dicom/several-panes' });
  });
});

describe('what never leaves the reader', () => {
  it('names, makers and comments are in no result and in no refusal', async () => {
    const comment = 'INVENTED^NAME seen today';
    const files: TestFile[] = [
      { comment, regions: [{}] },
      { comment, frames: 5, pixels: new Uint8Array(pixels) },
      { comment, photometric: 'INVENTED' },
    ];
    for (const file of files) {
      const result = await readUltrasound(testFile(file));
      const said = isRefusal(result) ? refusalSentence(result) : JSON.stringify({ ...result, frames: [] });
      expect(said).not.toMatch(/INVENTED|NAME|MAKER|seen today/);
    }
  });
});
