// Proves     ultrasound files that other programs wrote are opened, or refused for the right reason.
// Published  the samples' own README: size, frames, coding, and which calibration is a trap
// Tolerance  sizes and codes exact; scale to the printed digits; volume within 0.5 mL of that of the same planes as pictures
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import { traceBladder } from '@ebbline/imaging';
import { readPlaneSet } from '../planeset/index.ts';
import { planeSetOfImage, readUltrasound } from './index.ts';

const samples = process.env['EBBLINE_SAMPLES'];
const open = (file: string) => readUltrasound(new Uint8Array(readFileSync(join(samples as string, file))));

const planeSets = [
  'public/pub01/pub01',
  'public/pub06/pub06',
  'public/pub11/pub11',
  'practice/prac12/prac12',
  'practice/prac20/prac20',
];

describe.skipIf(!samples)('samples of others (folder named by EBBLINE_SAMPLES)', () => {
  it.each<[string, number, number, number, number | string]>([
    ['us-mf-ybr422-jpegbaseline-30frame', 320, 240, 30, 'dicom/scale-outside-image'],
    ['us-palette-explicit-2regions', 800, 350, 1, 'dicom/scale-outside-image'],
    ['us-rgb-explicit-small', 320, 240, 1, 'dicom/scale-missing'],
    ['us-rgb-bigendian', 80, 60, 1, 'dicom/scale-missing'],
    ['us-mf-palette-rle-2frame', 800, 600, 2, 0.26229],
    ['us-ybrrct-j2k-lossless', 640, 480, 1, 'dicom/scale-missing'],
    ['us-rgb-explicit', 640, 480, 1, 'dicom/scale-missing'],
    ['us-mono-jpeglossless', 1024, 768, 1, 0.25477],
    ['us-rgb-jpeglossless-2frame', 1024, 768, 2, 0.02774],
    ['us-ybr422-uncompressed', 800, 555, 1, 0.0616],
  ])('%s is %i × %i with %i frames, scale %s', async (name, width, height, frames, scale) => {
    const image = orThrow(await open(`dicom/${name}.dcm`));
    expect(image.frames.map((one) => [one.width, one.height, one.grey.length])).toEqual(
      Array.from({ length: frames }, () => [width, height, width * height]),
    );
    if (typeof scale === 'string') expect(image.scale).toMatchObject({ code: scale });
    else expect(isRefusal(image.scale) ? 0 : image.scale.mmPerPx.x).toBeCloseTo(scale, 4);
    // None of them states how its planes lie: no volume may come out.
    expect(isRefusal(planeSetOfImage(image))).toBe(true);
  });
  it.each(['sr-sample', 'sr-example'])('%s is a report, not an image', async (name) => {
    expect(await open(`dicom/${name}.dcm`)).toMatchObject({ code: 'dicom/not-ultrasound-image' });
  });
  it('a frame differs from the next, so frames are not read twice', async () => {
    const image = orThrow(await open('dicom/us-mf-ybr422-jpegbaseline-30frame.dcm'));
    expect(image.frames[0]?.grey).not.toEqual(image.frames[15]?.grey);
  });
  it.each(planeSets)('%s gives the volume of its pictures', async (name) => {
    const folder = join(samples as string, 'ultrasound', name, '..');
    const pictures = await readPlaneSet((file) => {
      const path = join(folder, file);
      return existsSync(path) ? new Uint8Array(readFileSync(path)) : undefined;
    });
    const own = planeSetOfImage(orThrow(await open(`ultrasound/${name}.dcm`)));
    const [one, other] = [traceBladder(orThrow(own)), traceBladder(orThrow(pictures))];
    expect(one.answer).toBe(other.answer);
    expect(Math.abs((one.volumeMl ?? 0) - (other.volumeMl ?? 0))).toBeLessThan(0.5);
    expect(Math.abs((one.interval?.hiMl ?? 0) - (other.interval?.hiMl ?? 0))).toBeLessThan(1);
  });
  it.each(planeSets)(
    '%s has the same grey and, to half a mm, the same sector as its pictures',
    async (name) => {
      const set = orThrow(planeSetOfImage(orThrow(await open(`ultrasound/${name}.dcm`))));
      const beside = join(samples as string, 'ultrasound', name, '..', 'geometry.json');
      expect(existsSync(beside)).toBe(true);
      const told = JSON.parse(readFileSync(beside, 'utf8')) as {
        layout: string;
        apex_px: { x: number; y: number };
        sector: { half_angle_deg: number; r_min_mm: number; r_max_mm: number };
        planes: { lateral: number[]; axial: number[] }[];
      };
      expect(set.geometry.layout).toBe(told.layout);
      expect(set.geometry.apexPx.x).toBeCloseTo(told.apex_px.x, 2);
      expect(set.geometry.apexPx.y).toBeCloseTo(told.apex_px.y, 2);
      expect(Math.abs(set.geometry.sector.halfAngleDeg - told.sector.half_angle_deg)).toBeLessThan(0.3);
      expect(Math.abs(set.geometry.sector.rMinMm - told.sector.r_min_mm)).toBeLessThan(0.5);
      expect(Math.abs(set.geometry.sector.rMaxMm - told.sector.r_max_mm)).toBeLessThan(0.5);
      for (const [index, plane] of told.planes.entries()) {
        const pose = set.geometry.planes[index];
        for (let axis = 0; axis < 3; axis += 1) {
          expect(pose?.lateral[axis]).toBeCloseTo(plane.lateral[axis] as number, 4);
          expect(pose?.axial[axis]).toBeCloseTo(plane.axial[axis] as number, 4);
        }
      }
    },
  );
});
