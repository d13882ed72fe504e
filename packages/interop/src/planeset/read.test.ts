// Proves     a plane set is read from bytes; what is missing, damaged or contradictory is refused by name.
// Tolerance  exact
import { encode } from 'fast-png';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow, seededRandom } from '@ebbline/core/quantity';
import { readGeometry, readPicture, readPlaneSet, readPng } from './index.ts';

// 32 × 16, written by another program: grey 230 beside 20; red beside blue, colours not thinned out.
const greyJpeg = Buffer.from(
  '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAAMCAgMCAgMDAwMEAwMEBQgFBQQEBQoHBwYIDAoMDAsKCwsNDhIQDQ4RDgsLEBYQ' +
    'ERMUFRUVDA8XGBYUGBIUFRT/wAALCAAQACABAREA/8QAFgABAQEAAAAAAAAAAAAAAAAAAAoJ/8QAFBABAAAAAAAAAAAAAAAA' +
    'AAAAAP/aAAgBAQAAPwDRATnijATnj//Z',
  'base64',
);
const colourJpeg = Buffer.from(
  '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDAAMCAgMCAgMDAwMEAwMEBQgFBQQEBQoHBwYIDAoMDAsKCwsNDhIQDQ4RDgsLEBYQ' +
    'ERMUFRUVDA8XGBYUGBIUFRT/2wBDAQMEBAUEBQkFBQkUDQsNFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQUFBQU' +
    'FBQUFBQUFBQUFBQUFBT/wAARCAAQACADAREAAhEBAxEB/8QAFgABAQEAAAAAAAAAAAAAAAAAAAcI/8QAFBABAAAAAAAAAAAA' +
    'AAAAAAAAAP/EABYBAQEBAAAAAAAAAAAAAAAAAAAJB//EABQRAQAAAAAAAAAAAAAAAAAAAAD/2gAMAwEAAhEDEQA/AM6MMVTA' +
    'QJcZHQBfUOViwECXGR0Af//Z',
  'base64',
);

const sidecar = (change: (value: Record<string, unknown>) => void = () => undefined): string => {
  const value: Record<string, unknown> = {
    format: 'planeset-1',
    layout: 'rotational_fan',
    image: { width: 40, height: 30 },
    mm_per_px: { x: 0.5, y: 0.6 },
    apex_px: { x: 19.5, y: -2 },
    sector: { half_angle_deg: 50, r_min_mm: 5, r_max_mm: 60 },
    planes: [0, 60, 120].map((angle, index) => ({ index, file: `plane_0${index}.png`, rotation_deg: angle })),
  };
  change(value);
  return JSON.stringify(value);
};
const png = (level: number, width = 40, height = 30): Uint8Array =>
  encode({
    width,
    height,
    channels: 1,
    depth: 8,
    data: Uint8Array.from({ length: width * height }, (_, at) => (at + level) % 256),
  });
const files = (
  change?: (value: Record<string, unknown>) => void,
  more: Record<string, Uint8Array | undefined> = {},
) => {
  const all: Record<string, Uint8Array | undefined> = {
    'geometry.json': new TextEncoder().encode(sidecar(change)),
    'plane_00.png': png(0),
    'plane_01.png': png(1),
    'plane_02.png': png(2),
    ...more,
  };
  return (name: string) => (Object.hasOwn(all, name) ? all[name] : undefined);
};

describe('plane set', () => {
  it('is read with grey, scale and poses that follow from the angle', async () => {
    const set = orThrow(await readPlaneSet(files()));
    expect(set.planes.map((one) => one.grey[0])).toEqual([0, 1, 2]);
    expect(set.geometry).toMatchObject({
      layout: 'rotational_fan',
      mmPerPx: { x: 0.5, y: 0.6 },
      apexPx: { x: 19.5, y: -2 },
    });
    expect(set.geometry.planes[1]?.lateral[1]).toBeCloseTo(Math.sin(Math.PI / 3), 12);
    expect(set.geometry.givenByHand).toBeUndefined();
  });
  it('takes a given geometry where the folder has none, and says so', async () => {
    const given = orThrow(readGeometry(sidecar()));
    expect(await readPlaneSet(files(undefined, { 'geometry.json': undefined }), given)).toMatchObject({
      geometry: { givenByHand: true },
    });
  });
  it('colour, 16 bits and one bit come out as grey', () => {
    const rgb = encode({
      width: 2,
      height: 1,
      channels: 3,
      depth: 8,
      data: Uint8Array.of(255, 255, 255, 100, 0, 0),
    });
    expect(orThrow(readPng(rgb, 'x')).grey).toEqual(Uint8Array.of(255, 30));
    const deep = encode({
      width: 2,
      height: 1,
      channels: 1,
      depth: 16,
      data: Uint16Array.of(0xffff, 0x8000),
    });
    expect(orThrow(readPng(deep, 'x')).grey).toEqual(Uint8Array.of(255, 128));
  });
  it('a JPEG picture in grey and in three colours comes out as grey', async () => {
    const sides = async (bytes: Uint8Array): Promise<number[]> => {
      const { grey } = orThrow(await readPicture(bytes, 'x'));
      return [...grey]
        .map((one, at) => one - ((grey[at % 32 < 16 ? 0 : 31] as number) ?? 0))
        .every((one) => Math.abs(one) <= 1)
        ? [grey[0] as number, grey[31] as number]
        : [];
    };
    const [bright, dark] = await sides(greyJpeg);
    expect(Math.abs((bright as number) - 230)).toBeLessThanOrEqual(1);
    expect(Math.abs((dark as number) - 20)).toBeLessThanOrEqual(1);
    const [red, blue] = await sides(colourJpeg);
    expect(Math.abs((red as number) - 76)).toBeLessThanOrEqual(2);
    expect(Math.abs((blue as number) - 29)).toBeLessThanOrEqual(2);
  });
  it('JPEG pictures make a set; a cut or giant one is refused by name', async () => {
    const small = (value: Record<string, unknown>): void => {
      value['image'] = { width: 32, height: 16 };
    };
    const all = { 'plane_00.png': greyJpeg, 'plane_01.png': colourJpeg, 'plane_02.png': greyJpeg };
    expect(orThrow(await readPlaneSet(files(small, all))).planes).toHaveLength(3);
    const giant = Uint8Array.from(greyJpeg);
    giant.set([0xff, 0xff, 0xff, 0xff], greyJpeg.indexOf(Uint8Array.of(0xff, 0xc0)) + 5);
    const fourColours = Uint8Array.from(colourJpeg);
    fourColours[colourJpeg.indexOf(Uint8Array.of(0xff, 0xc0)) + 9] = 4;
    for (const wrong of [greyJpeg.subarray(0, 60), giant, fourColours]) {
      expect(await readPlaneSet(files(small, { ...all, 'plane_01.png': wrong }))).toMatchObject({
        code: 'planeset/picture-damaged',
      });
    }
  });
  it('takes a given geometry for what the own one lacks, with the own picture names, and says so', async () => {
    const given = orThrow(
      readGeometry(
        sidecar((value) => {
          for (const plane of value['planes'] as Record<string, unknown>[]) delete plane['file'];
        }),
      ),
    );
    for (const lacking of ['mm_per_px', 'layout', 'apex_px', 'sector']) {
      const set = await readPlaneSet(
        files((value) => delete value[lacking]),
        given,
      );
      expect(set).toMatchObject({ geometry: { givenByHand: true, mmPerPx: { x: 0.5, y: 0.6 } } });
    }
    const broken = files((value) => (value['format'] = 'planeset-9'));
    expect(await readPlaneSet(broken, given)).toMatchObject({ code: 'planeset/format' });
  });
  it('refuses a given geometry that contradicts the own one, and keeps the own one where they agree', async () => {
    const given = orThrow(readGeometry(sidecar()));
    const same = orThrow(await readPlaneSet(files(), given));
    expect(same.geometry.givenByHand).toBeUndefined();
    for (const change of [
      (value: Record<string, unknown>) => (value['mm_per_px'] = { x: 0.51, y: 0.6 }),
      (value: Record<string, unknown>) => (value['apex_px'] = { x: 19.5, y: 8 }),
      (value: Record<string, unknown>) => (value['layout'] = 'two_orthogonal_planes'),
      (value: Record<string, unknown>) =>
        (value['planes'] as { rotation_deg: number }[]).forEach((one) => (one.rotation_deg += 2)),
    ]) {
      const own = files((value) => {
        change(value);
        if (value['layout'] === 'two_orthogonal_planes') (value['planes'] as unknown[]).pop();
      });
      expect(await readPlaneSet(own, given)).toMatchObject({ code: 'planeset/geometry-contradictory' });
    }
  });
  it('without a pixel size is refused [no-scale-no-volume]', async () => {
    expect(await readPlaneSet(files((value) => delete value['mm_per_px']))).toMatchObject({
      code: 'planeset/scale-missing',
    });
    expect(await readPlaneSet(files((value) => (value['mm_per_px'] = { x: 0.5 })))).toMatchObject({
      code: 'planeset/scale-missing',
    });
  });
  it.each<[string, (value: Record<string, unknown>) => void]>([
    ['format', (value) => (value['format'] = 'planeset-9')],
    ['layout-missing', (value) => delete value['layout']],
    ['scale-out-of-range', (value) => (value['mm_per_px'] = { x: 0, y: 0.5 })],
    ['scale-out-of-range', (value) => (value['mm_per_px'] = { x: 50, y: 50 })],
    ['apex-missing', (value) => delete value['apex_px']],
    ['sector', (value) => (value['sector'] = { half_angle_deg: 95, r_min_mm: 5, r_max_mm: 60 })],
    ['planes', (value) => (value['planes'] = [])],
    ['planes', (value) => (value['layout'] = 'two_orthogonal_planes')],
    ['pose', (value) => (value['planes'] = [{ file: 'plane_00.png' }, {}, {}])],
    [
      'pose',
      (value) =>
        ((value['planes'] as Record<string, unknown>[])[1] = {
          file: 'plane_01.png',
          rotation_deg: 60,
          lateral: [1, 0, 0],
          axial: [0, 0, 1],
        }),
    ],
    [
      'pose',
      (value) =>
        ((value['planes'] as Record<string, unknown>[])[1] = {
          file: 'plane_01.png',
          rotation_deg: 60,
          lateral: [2, 0, 0],
          axial: [0, 0, 1],
        }),
    ],
    [
      'file-name',
      (value) =>
        ((value['planes'] as Record<string, unknown>[])[1] = { file: '../secret.png', rotation_deg: 60 }),
    ],
  ])('is refused with planeset/%s', async (code, change) => {
    expect(await readPlaneSet(files(change))).toMatchObject({ refused: true, code: `planeset/${code}` });
  });
  it('with a picture missing, cut, changed, of another size, or no geometry is refused', async () => {
    const whole = png(1);
    const changed = Uint8Array.from(whole, (one, at) => (at === 60 ? one ^ 255 : one));
    expect(await readPlaneSet(files(undefined, { 'plane_01.png': undefined }))).toMatchObject({
      code: 'planeset/picture-missing',
      where: 'planes[1]',
    });
    for (const wrong of [whole.subarray(0, whole.length - 30), changed, new Uint8Array(100)]) {
      expect(await readPlaneSet(files(undefined, { 'plane_01.png': wrong }))).toMatchObject({
        code: 'planeset/picture-damaged',
      });
    }
    expect(await readPlaneSet(files(undefined, { 'plane_01.png': png(1, 20, 30) }))).toMatchObject({
      code: 'planeset/picture-size',
    });
    expect(await readPlaneSet(() => undefined)).toMatchObject({ code: 'planeset/geometry-missing' });
    expect(readGeometry('{')).toMatchObject({ code: 'planeset/not-json' });
    expect(readGeometry('[]')).toMatchObject({ code: 'planeset/not-json' });
  });
  it('a picture that claims to be giant is refused before it is unpacked', () => {
    const giant = png(1).slice();
    new DataView(giant.buffer).setUint32(16, 60_000);
    new DataView(giant.buffer).setUint32(20, 60_000);
    expect(readPng(giant, 'planes[0]')).toMatchObject({ code: 'planeset/picture-damaged' });
  });
  it('broken at random is refused by name or read, never an exception, each in 50 ms and with little memory', async () => {
    const random = seededRandom(5);
    const image = { width: 32, height: 16 };
    const small = (value: Record<string, unknown>): void => void (value['image'] = image);
    const spentMs = (): number => process.threadCpuUsage().user / 1000;
    const megabytes = (): number => (process.memoryUsage().external + process.memoryUsage().heapUsed) / 1e6;
    await readPicture(greyJpeg, 'x');
    const before = megabytes();
    let [refused, read, slowestMs, peak] = [0, 0, 0, 0];
    // `npm run long` goes on for half a minute.
    const end = performance.now() + (process.env['EBBLINE_LONG'] === '1' ? 30_000 : 2000);
    while (performance.now() < end || refused < 150) {
      const text = new TextEncoder().encode(sidecar(small));
      const picture = Uint8Array.from(random.pick([png(1, 32, 16), greyJpeg, colourJpeg]));
      const whole = random.next() < 0.7;
      for (let hit = random.below(4); hit >= 0; hit -= 1) {
        text[random.below(text.length)] = 32 + random.below(94);
        picture[random.below(picture.length)] = random.below(256);
      }
      const broken = whole ? picture : picture.subarray(0, random.below(picture.length));
      const pictures = { 'plane_00.png': greyJpeg, 'plane_01.png': broken, 'plane_02.png': greyJpeg };
      const more = random.next() < 0.3 ? { 'plane_01.png': greyJpeg, 'geometry.json': text } : {};
      let tookMs = Number.POSITIVE_INFINITY;
      for (let turn = 0; turn < 3 && tookMs > 50; turn += 1) {
        const start = spentMs();
        const result = await readPlaneSet(files(small, { ...pictures, ...more }));
        tookMs = Math.min(tookMs, spentMs() - start);
        if (isRefusal(result)) {
          expect(result.code).toMatch(/^planeset\//);
          refused += 1;
        } else read += 1;
      }
      slowestMs = Math.max(slowestMs, tookMs);
      peak = Math.max(peak, megabytes() - before);
    }
    console.log(
      `${refused} refused, ${read} read: slowest ${slowestMs.toFixed(1)} ms, peak ${peak.toFixed(0)} MB more`,
    );
    expect(slowestMs).toBeLessThan(50);
    expect(peak).toBeLessThan(160);
    expect(refused).toBeGreaterThan(50);
    expect(read).toBeGreaterThan(5);
  }, 120_000);
});
