// Proves     the part in the picture and the part in no shadow equal closed forms where a plane through its middle halves
//            a sphere.
// Tolerance  1 % of the sphere
import type { PlaneSetGeometry } from '@ebbline/imaging';
import { describe, expect, it } from 'vitest';
import { ellipsoid, halfSpace, intersection } from './fields.ts';
import { assembleScene, type Body } from './scene.ts';
import { namedFeatures, trueVolumes, type TrueVolumes } from './truth.ts';

const sphereMl = ((4 / 3) * Math.PI * 30 ** 3) / 1000;

function geometryOf(
  layout: PlaneSetGeometry['layout'],
  positions: readonly number[],
  halfAngleDeg = 60,
  rMaxMm = 400,
): PlaneSetGeometry {
  return {
    layout,
    mmPerPx: { x: 0.5, y: 0.5 },
    apexPx: { x: 0, y: 0 },
    sector: { halfAngleDeg, rMinMm: 1, rMaxMm },
    planes: positions.map((position, index) => ({
      position,
      originMm: [0, 0, 0],
      lateral: index === 0 ? [1, 0, 0] : [0, 1, 0],
      axial: [0, 0, 1],
    })),
  };
}

function sphereIn(
  geometry: PlaneSetGeometry,
  centre: readonly [number, number, number],
  opaque: readonly Body[] = [],
): TrueVolumes {
  const low = [centre[0] - 33, centre[1] - 33, centre[2] - 33] as const;
  const high = [centre[0] + 33, centre[1] + 33, centre[2] + 33] as const;
  const scene = assembleScene(opaque, [], [], () => 1e9, 0, opaque, undefined);
  return trueVolumes(ellipsoid(centre, [30, 30, 30]), { low, high }, scene, geometry);
}

const share = (part: number): number => part / sphereMl;

describe('the part in the picture', () => {
  it('of a parallel sweep that ends at the middle is one half', () => {
    const found = sphereIn(geometryOf('parallel_sweep', [0, 50]), [0, 0, 100]);
    expect(share(found.volumeMl)).toBeCloseTo(1, 2);
    expect(share(found.inPictureMl)).toBeCloseTo(0.5, 2);
    expect(namedFeatures([], found, true)).toEqual(['partly-outside-sweep']);
  });

  it('of a tilt sweep that ends at the middle is one half', () => {
    expect(share(sphereIn(geometryOf('tilt_sweep', [-40, 0]), [0, 0, 100]).inPictureMl)).toBeCloseTo(0.5, 2);
  });

  it('is one half where the edge of the sector goes through the middle', () => {
    const x = 100 * Math.tan((40 * Math.PI) / 180);
    for (const layout of ['parallel_sweep', 'two_orthogonal_planes'] as const) {
      const geometry = geometryOf(layout, [-90, 90], 40);
      const found = sphereIn(geometry, [x, 0, 100]);
      expect(share(found.inPictureMl)).toBeCloseTo(0.5, 2);
      expect(namedFeatures([], found, true)).toContain('partly-outside-side');
    }
  });

  it('of a fan whose cone cuts beside the middle is the same on every side', () => {
    const geometry = geometryOf('rotational_fan', [0, 60, 120], 30);
    const away = 100 * Math.tan((30 * Math.PI) / 180);
    const one = sphereIn(geometry, [away, 0, 100]).inPictureMl;
    const other = sphereIn(geometry, [0, -away, 100]).inPictureMl;
    expect(share(one)).toBeCloseTo(share(other), 2);
    // A cone bulges towards its axis: less than one half, but not by much for a small sphere.
    expect(share(one)).toBeGreaterThan(0.38);
    expect(share(one)).toBeLessThan(0.5);
  });

  it('above the lower end of the picture is named by its depth', () => {
    const found = sphereIn(geometryOf('rotational_fan', [0, 60, 120], 60, 100), [0, 0, 100]);
    // The end bulges away from the apex at its middle: slightly less than one half lies within it.
    expect(share(found.inPictureMl)).toBeGreaterThan(0.4);
    expect(share(found.inPictureMl)).toBeLessThan(0.5);
    expect(found.belowPictureMl).toBeCloseTo(found.volumeMl - found.inPictureMl, 6);
    expect(namedFeatures(['haze'], found, true)).toEqual(['haze', 'partly-outside-depth']);
  });
});

describe('the part in no shadow', () => {
  const plate = (side: readonly [number, number, number], tissue: 'bone' | 'gas'): Body => ({
    field: intersection(
      intersection(halfSpace([0, 0, 1], 45), halfSpace([0, 0, -1], -40), 1e-6),
      halfSpace(side, 0),
      1e-6,
    ),
    tissue,
    within: { centre: [0, 0, 42], radiusMm: 120 },
  });

  it.each(['rotational_fan', 'parallel_sweep'] as const)(
    'is one half behind a plate of bone that ends at the middle: %s',
    (layout) => {
      const found = sphereIn(geometryOf(layout, [-90, 90]), [0, 0, 100], [plate([0, 1, 0], 'bone')]);
      expect(share(found.inPictureMl)).toBeCloseTo(1, 2);
      expect(Math.abs(share(found.unshadowedMl) - 0.5)).toBeLessThan(0.01);
      expect(namedFeatures([], found, true)).toEqual(['pubic-shadow']);
    },
  );

  it('tells gas from bone', () => {
    const found = sphereIn(geometryOf('rotational_fan', [0, 90]), [0, 0, 100], [plate([1, 0, 0], 'gas')]);
    expect(Math.abs(share(found.behindGasMl) - 0.5)).toBeLessThan(0.01);
    expect(found.behindBoneMl).toBe(0);
    expect(namedFeatures(['clear', 'pubic-shadow'], found, true)).toEqual(['gas-shadow']);
  });

  it('is all where the plate lies behind', () => {
    const behind = { ...plate([0, 1, 0], 'bone' as const), field: halfSpace([0, 0, -1], -140) };
    const found = sphereIn(geometryOf('rotational_fan', [0, 90]), [0, 0, 100], [behind]);
    expect(found.unshadowedMl).toBe(found.inPictureMl);
  });
});
