// Proves     files that a person chose are read whole, in the order of their planes; what they do not say is left open to
//            be asked for; what is no picture is refused with what to do.
// Tolerance  exact.
import { encode } from 'fast-png';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import type { GreyPlane } from '@ebbline/imaging';
import { isMissing } from './by-hand.ts';
import { picturesFrom, type NamedBytes } from './read-files.ts';
import { smallDicom } from './testing/small-dicom.ts';

const [width, height] = [20, 18];
const png = (name: string, grey: number, wide = width): NamedBytes => ({
  name,
  bytes: encode({
    width: wide,
    height,
    data: new Uint8Array(wide * height).fill(grey),
    channels: 1,
    depth: 8,
  }),
});
const jpeg: NamedBytes = { name: 'plane_1.jpg', bytes: Uint8Array.of(0xff, 0xd8, 0xff, 0xe0) };
const decodeJpeg = (): Promise<GreyPlane> =>
  Promise.resolve({ width, height, grey: new Uint8Array(width * height).fill(77) });
const cannot = (): Promise<undefined> => Promise.resolve(undefined);
const text = (name: string, words: string): NamedBytes => ({ name, bytes: new TextEncoder().encode(words) });

const geometry = (change: object = {}, files = ['a.png', 'b.jpg', 'c.png']): NamedBytes =>
  text(
    'geometry.json',
    JSON.stringify({
      format: 'planeset-1',
      layout: 'rotational_fan',
      image: { width, height },
      mm_per_px: { x: 0.5, y: 0.5 },
      apex_px: { x: 10, y: 0 },
      sector: { half_angle_deg: 40, r_min_mm: 0, r_max_mm: 60 },
      planes: files.map((file, index) => ({ file, rotation_deg: 60 * index })),
      ...change,
    }),
  );

describe('files that were chosen', () => {
  it.each([
    ['none', []],
    ['something that is no picture', [text('letter.txt', 'a letter')]],
    ['a picture that breaks off', [{ name: 'a.png', bytes: png('a.png', 9).bytes.slice(0, 40) }]],
    ['pictures of two sizes', [png('a.png', 9), png('b.png', 9, 24)]],
    ['a folder with a picture missing', [geometry(), png('a.png', 1), png('c.png', 3)]],
  ])('are refused in words when they are %s', async (_name, files) => {
    const answer = await picturesFrom(files, cannot);
    expect(isRefusal(answer) && answer.todo.length).toBeGreaterThan(10);
  });

  it('are a folder of PNG and JPEG pictures with everything said', async () => {
    const jpegNamed = { ...jpeg, name: 'b.jpg' };
    const read = orThrow(
      await picturesFrom([png('c.png', 3), jpegNamed, geometry(), png('a.png', 1)], decodeJpeg),
    );
    expect(read.planes.map((one) => one.grey[0])).toEqual([1, 77, 3]);
    expect(read.geometry?.planes.map((one) => one.position)).toEqual([0, 60, 120]);
  });

  it('are pictures alone: plane 2 before plane 10, scale and layout left open', async () => {
    const read = orThrow(
      await picturesFrom([png('plane_10.png', 10), png('plane_2.png', 2), jpeg], decodeJpeg),
    );
    expect(read.planes.map((one) => one.grey[0])).toEqual([77, 2, 10]);
    expect(read).toMatchObject({ known: {} });
    expect(read.geometry).toBeUndefined();
  });

  it('are asked about when geometry.json has no scale, and refused when it contradicts itself', async () => {
    const folder = [png('a.png', 1), png('b.png', 2), png('c.png', 3)];
    const read = orThrow(await picturesFrom([...folder, geometry({ mm_per_px: undefined })], cannot));
    expect(read.geometry).toBeUndefined();
    const damaged = await picturesFrom([...folder, text('geometry.json', '{')], cannot);
    expect(damaged).toMatchObject({ code: 'planeset/not-json' });
  });

  it('are a DICOM file whose scale is known and whose layout is asked for', async () => {
    const frames = [1, 2, 3].map((grey) => new Uint8Array(width * height).fill(grey));
    const file = (region?: { cm: number; apexX: number; apexY: number }): NamedBytes => ({
      name: 'look.dcm',
      bytes: smallDicom({ width, height, frames, ...(region ? { region } : {}) }),
    });
    const read = orThrow(await picturesFrom([file({ cm: 0.04, apexX: 10, apexY: 0 })], cannot));
    expect(read.planes.map((one) => one.grey[0])).toEqual([1, 2, 3]);
    expect(read.known.mmPerPx?.x).toBeCloseTo(0.4, 9);
    expect(isMissing(read)).toEqual({ scale: false, layout: true });
    expect(isMissing(orThrow(await picturesFrom([file()], cannot)))).toEqual({ scale: true, layout: true });
    expect(await picturesFrom([file(), file()], cannot)).toMatchObject({ code: 'images/several-dicom' });
  });

  it('are refused when a JPEG can not be read', async () => {
    expect(await picturesFrom([jpeg], cannot)).toMatchObject({ code: 'images/picture-damaged' });
  });
});
