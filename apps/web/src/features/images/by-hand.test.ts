// Proves     scale, layout and fan given by hand make the geometry they say, are marked as given by hand, and are refused
//            with what to do when they can't be; the fan is found in drawn pictures.
// Tolerance  closed forms 1e-9; a fan found in a drawn picture: apex 2 px, half angle 0.7°, ranges 3 px.
import { describe, expect, it } from 'vitest';
import { isRefusal, orThrow } from '@ebbline/core/quantity';
import type { GreyPlane, Layout, PlanePose } from '@ebbline/imaging';
import { geometryByHand, isMissing, positionsByHand, scaleByHand, suggestedStep } from './by-hand.ts';
import { diametersReading } from './diameters-model.ts';
import { findSector, sectorThrough } from './find-sector.ts';
import type { Pictures } from './pictures.ts';

const fan = { apexPx: { x: 150.5, y: -12 }, halfAngleDeg: 42, rMinPx: 24, rMaxPx: 210 };

/** A lit fan, with a ruler and a block of writing beside it when asked for. */
function drawnFan(beside: boolean): GreyPlane {
  const [width, height] = [302, 215];
  const grey = new Uint8Array(width * height);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const dx = x - fan.apexPx.x;
      const dy = y - fan.apexPx.y;
      const range = Math.hypot(dx, dy);
      const within = Math.abs(Math.atan2(dx, dy)) <= (fan.halfAngleDeg * Math.PI) / 180;
      if (within && range >= fan.rMinPx && range <= fan.rMaxPx)
        grey[y * width + x] = 90 + ((x * 7 + y * 13) % 50);
      const isRuler = y % 20 === 0 && x < 8;
      const isWriting = x > 236 && x < 300 && y > 8 && y < 70;
      if (beside && (isRuler || isWriting)) grey[y * width + x] = 255;
    }
  }
  return { width, height, grey };
}
const picture = drawnFan(false);
const pictures = (count: number, known: Pictures['known'] = {}): Pictures => ({
  planes: Array.from({ length: count }, () => picture),
  known,
});
const poseOf = (_layout: Layout, position: number): PlanePose => ({
  position,
  originMm: [0, 0, 0],
  lateral: [1, 0, 0],
  axial: [0, 0, 1],
});
const points = { from: { x: 10, y: 20 }, to: { x: 10, y: 220 } };

describe('a scale by hand', () => {
  it('is the length over the distance of the two points, the same across and down', () => {
    expect(scaleByHand({ ...points, lengthMm: 100 })).toEqual({ x: 0.5, y: 0.5 });
  });

  it.each([
    ['no length', points, 'images/scale-not-said'],
    ['one point', { from: points.from, lengthMm: 50 }, 'images/scale-not-said'],
    ['centimetres', { ...points, lengthMm: 5 }, 'images/length-out-of-range'],
    ['points too near', { from: { x: 0, y: 0 }, to: { x: 9, y: 0 }, lengthMm: 20 }, 'images/points-too-near'],
  ])('is refused with %s', (_name, given, code) => {
    expect(scaleByHand(given)).toMatchObject({ code });
  });
});

describe('a layout by hand', () => {
  it('suggests equal turns over 180 degrees, and no step for a sweep', () => {
    expect(suggestedStep('rotational_fan', 12)).toBe(15);
    expect(suggestedStep('parallel_sweep', 12)).toBeUndefined();
    expect(positionsByHand({ layout: 'rotational_fan' }, 4)).toEqual([0, 45, 90, 135]);
    expect(positionsByHand({ layout: 'tilt_sweep', step: 6 }, 5)).toEqual([-12, -6, 0, 6, 12]);
    expect(positionsByHand({ layout: 'two_orthogonal_planes' }, 2)).toEqual([0, 90]);
  });

  it.each([
    ['none', {}, 12, 'images/layout-not-said'],
    ['a sweep without a step', { layout: 'parallel_sweep' }, 12, 'images/step-out-of-range'],
    ['turns past half a circle', { layout: 'rotational_fan', step: 20 }, 12, 'images/step-out-of-range'],
    ['two planes of three pictures', { layout: 'two_orthogonal_planes' }, 3, 'images/picture-count'],
    ['a sweep of two pictures', { layout: 'tilt_sweep', step: 5 }, 2, 'images/picture-count'],
  ] as const)('is refused: %s', (_name, given, count, code) => {
    expect(positionsByHand(given, count)).toMatchObject({ code });
  });
});

describe('the fan of the beams', () => {
  it.each([false, true])('is found in a drawn picture, ruler and writing beside it: %s', (beside) => {
    const found = orThrow(findSector([drawnFan(beside)]));
    expect(Math.abs(found.apexPx.x - fan.apexPx.x)).toBeLessThan(2);
    expect(Math.abs(found.apexPx.y - fan.apexPx.y)).toBeLessThan(2);
    expect(Math.abs(found.halfAngleDeg - fan.halfAngleDeg)).toBeLessThan(0.7);
    expect(Math.abs(found.rMinPx - fan.rMinPx)).toBeLessThan(3);
    expect(Math.abs(found.rMaxPx - fan.rMaxPx)).toBeLessThan(3);
  });

  it('is not made up where there is none', () => {
    const box: GreyPlane = { width: 200, height: 200, grey: new Uint8Array(40_000).fill(120) };
    expect(findSector([box])).toMatchObject({ code: 'images/sector-unclear' });
    expect(findSector([{ ...box, grey: new Uint8Array(40_000) }])).toMatchObject({
      code: 'images/sector-unclear',
    });
  });

  it('goes through three points of its edges', () => {
    const sine = Math.sin((fan.halfAngleDeg * Math.PI) / 180);
    const cosine = Math.cos((fan.halfAngleDeg * Math.PI) / 180);
    const at = (side: number, range: number): { x: number; y: number } => ({
      x: fan.apexPx.x + side * range * sine,
      y: fan.apexPx.y + range * cosine,
    });
    const placed = orThrow(sectorThrough(at(-1, fan.rMinPx), at(-1, fan.rMaxPx), at(1, fan.rMaxPx)));
    expect(placed.halfAngleDeg).toBeCloseTo(fan.halfAngleDeg, 9);
    expect(placed.apexPx.y).toBeCloseTo(fan.apexPx.y, 9);
    expect(isRefusal(sectorThrough(at(1, fan.rMinPx), at(1, fan.rMaxPx), at(-1, fan.rMaxPx)))).toBe(true);
  });
});

describe('a geometry by hand', () => {
  it('is whole, says so, and scales the fan', () => {
    const geometry = orThrow(
      geometryByHand(
        pictures(6),
        { ...points, lengthMm: 100, layout: 'rotational_fan', sectorPx: fan },
        poseOf,
      ),
    );
    expect(geometry).toMatchObject({
      givenByHand: true,
      mmPerPx: { x: 0.5, y: 0.5 },
      sector: { rMinMm: 12, rMaxMm: 105 },
    });
    expect(geometry.sector.halfAngleDeg).toBeCloseTo(42, 9);
    expect(geometry.planes.map((one) => one.position)).toEqual([0, 30, 60, 90, 120, 150]);
  });

  it('takes what the file says before what a person could say', () => {
    const known = { mmPerPx: { x: 0.3, y: 0.4 } };
    const geometry = orThrow(
      geometryByHand(pictures(6, known), { layout: 'rotational_fan', sectorPx: fan }, poseOf),
    );
    expect(geometry).toMatchObject(known);
    expect(isMissing(pictures(6, known))).toEqual({ scale: false, layout: true });
  });

  it('is refused without a fan', () => {
    expect(
      geometryByHand(pictures(6), { ...points, lengthMm: 100, layout: 'rotational_fan' }, poseOf),
    ).toMatchObject({ code: 'images/sector-not-said' });
  });
});

describe('three diameters on pictures', () => {
  const along = (mm: number) => ({ plane: 0, from: { x: 0, y: 0 }, to: { x: mm / 0.5, y: 0 } });
  const all = { width: along(100), height: along(80), depth: along(70) };
  const how = { relation: 'no-void', operator: 'kl' } as const;

  it('make the volume of the chosen coefficient and keep it with the reading', () => {
    expect(diametersReading(all, { x: 0.5, y: 0.5 }, 'hand', 'A1', how)).toMatchObject({
      volumeMl: 293, // π/6 · 100 · 80 · 70 mm³
      method: 'calipers',
      widthMm: 100,
      coefficientSource: 'S-clinical-A1',
      evidence: { layout: 'three_diameters', scaleFrom: 'hand' },
    });
  });

  it('are refused while one is missing or no coefficient is chosen', () => {
    const { depth: _depth, ...two } = all;
    expect(diametersReading(two, { x: 0.5, y: 0.5 }, 'file', 'A1', how)).toMatchObject({
      code: 'images/diameter-not-measured',
    });
    expect(diametersReading(all, { x: 0.5, y: 0.5 }, 'file', '', how)).toMatchObject({
      code: 'geometry/unknown-coefficient',
    });
  });
});
