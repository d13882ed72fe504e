// Proves     integrals over outlines and meshes equal closed forms; domains are refused.
// Published  clinical table rows A14 and A15 (sphere of 4 cm radius: 268.1 mL; eight discs 270.2 mL);
//            ellipsoid 42 × 36 × 30 mm half-axes, 6 and −4 mm off the axis: 190.003524 mL
// Tolerance  printed digits; closed forms as stated at each check
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { orThrow, seededRandom } from '../quantity/index.ts';
import {
  absoluteMomentMm3,
  closedMeshVolume,
  depthMomentMm3,
  discsVolume,
  planeWeights,
  polygonAreaMm2,
  sidedMomentMm4,
  sweepVolume,
  twoPlanesDiameterVolume,
  twoPlanesDiscVolume,
  widthAtDepthMm,
} from './index.ts';

/** Ellipse with half-axes a (along s), b (along d), sampled so that the polygon has the ellipse's own area. */
function ellipse(centreS: number, centreD: number, a: number, b: number, points = 720): Float64Array {
  const grow = Math.sqrt((2 * Math.PI) / points / Math.sin((2 * Math.PI) / points));
  const out = new Float64Array(points * 2);
  for (let index = 0; index < points; index += 1) {
    const angle = (2 * Math.PI * (index + 0.37)) / points;
    out[index * 2] = centreS + a * grow * Math.cos(angle);
    out[index * 2 + 1] = centreD + b * grow * Math.sin(angle);
  }
  return out;
}

/** Section of an ellipsoid (half-axes along x, y, z; centre) with the plane turned by `angle` about the z axis. */
function fanSection(
  half: readonly [number, number, number],
  centre: readonly [number, number, number],
  angle: number,
): Float64Array[] {
  const [p, q] = [Math.cos(angle), Math.sin(angle)];
  const alpha = (p / half[0]) ** 2 + (q / half[1]) ** 2;
  const beta = (p * centre[0]) / half[0] ** 2 + (q * centre[1]) / half[1] ** 2;
  const gamma = (centre[0] / half[0]) ** 2 + (centre[1] / half[1]) ** 2 - 1;
  const left = beta ** 2 / alpha - gamma;
  if (left <= 0) return [];
  return [ellipse(beta / alpha, centre[2], Math.sqrt(left / alpha), half[2] * Math.sqrt(left))];
}

const fan = (
  half: readonly [number, number, number],
  centre: readonly [number, number, number],
  count: number,
) =>
  orThrow(
    sweepVolume(
      'rotational_fan',
      Array.from({ length: count }, (_, index) => ({
        position: (180 * index) / count,
        polygons: fanSection(half, centre, (Math.PI * index) / count),
      })),
    ),
  ).volumeMl;

describe('rotational fan', () => {
  it('of a sphere with radius 4 cm is 268.1 mL (A15)', () => {
    expect(fan([40, 40, 40], [0, 0, 80], 3)).toBeCloseTo(268.083, 2);
  });
  it('of an ellipsoid off the axis is 190.003524 mL', () => {
    expect(Math.abs(fan([42, 36, 30], [6, -4, 80], 24) / 190.003524 - 1)).toBeLessThan(2e-5);
    expect(Math.abs(fan([42, 36, 30], [6, -4, 80], 4) / 190.003524 - 1)).toBeLessThan(3e-4);
  });
  it('weights uneven turns by the angle each plane stands for', () => {
    const weights = orThrow(planeWeights('rotational_fan', [0, 10, 60, 100]));
    expect([...weights].map((one) => (one * 180) / Math.PI)).toEqual(
      [45, 30, 45, 60].map((one) => expect.closeTo(one, 9)),
    );
    expect(weights.reduce((sum, one) => sum + one, 0)).toBeCloseTo(Math.PI, 12);
  });
  it('half-disc of radius 4 cm has the moment of Pappus: 25.133 cm² at 1.6977 cm', () => {
    expect(absoluteMomentMm3(ellipse(0, 50, 40, 40)) / 2 / 1000).toBeCloseTo(25.133 * 1.6977, 2);
  });
});

describe('sweeps', () => {
  const centres = Array.from({ length: 8 }, (_, index) => -35 + 10 * index);
  it('eight discs of a sphere with radius 4 cm are 270.2 mL (A14)', () => {
    const areas = centres.map((y) => Math.PI * (1600 - y * y));
    expect(orThrow(discsVolume(areas, 10)).volumeMl).toBeCloseTo(270.18, 2);
    const planes = centres.map((y) => ({
      position: y,
      polygons: [ellipse(0, 80, Math.sqrt(1600 - y * y), Math.sqrt(1600 - y * y))],
    }));
    expect(orThrow(sweepVolume('parallel_sweep', planes)).volumeMl).toBeCloseTo(270.18, 2);
  });
  it('tilt sweep of a sphere 80 mm deep converges to 268.08 mL', () => {
    const planes = Array.from({ length: 61 }, (_, index) => {
      const tilt = -30 + index;
      const distance = 80 * Math.sin((tilt * Math.PI) / 180);
      const radius = Math.sqrt(Math.max(0, 1600 - distance * distance));
      return {
        position: tilt,
        polygons: radius > 0.01 ? [ellipse(0, 80 * Math.cos((tilt * Math.PI) / 180), radius, radius)] : [],
      };
    });
    expect(Math.abs(orThrow(sweepVolume('tilt_sweep', planes)).volumeMl / 268.0826 - 1)).toBeLessThan(5e-4);
  });
  it('refuses planes out of order, too few, crossing outlines and points behind the apex', () => {
    const one = (position: number, polygon: ArrayLike<number> = ellipse(0, 50, 20, 20, 12)) => ({
      position,
      polygons: [polygon],
    });
    expect(sweepVolume('tilt_sweep', [one(0), one(2), one(1)])).toMatchObject({
      code: 'geometry/planes-not-in-order',
    });
    expect(sweepVolume('rotational_fan', [one(0), one(90), one(180)])).toMatchObject({
      code: 'geometry/planes-not-in-order',
    });
    expect(sweepVolume('parallel_sweep', [one(0), one(2)])).toMatchObject({
      code: 'geometry/too-few-planes',
    });
    expect(sweepVolume('parallel_sweep', [one(0), one(Number.NaN), one(2)])).toMatchObject({
      code: 'geometry/planes-not-in-order',
    });
    expect(
      sweepVolume('parallel_sweep', [one(0), one(1), one(2, [0, 0, 10, 10, 10, 0, 0, 10])]),
    ).toMatchObject({ code: 'geometry/outline-crosses-itself' });
    expect(
      sweepVolume('parallel_sweep', [one(0), one(1), one(2, [0, 0, 10, Number.NaN, 10, 0])]),
    ).toMatchObject({ code: 'geometry/outline-not-finite' });
    expect(sweepVolume('parallel_sweep', [one(0), one(1), one(2, [0, 0, 1, 1])])).toMatchObject({
      code: 'geometry/outline-too-short',
    });
    expect(sweepVolume('tilt_sweep', [one(0), one(1), one(2, ellipse(0, 0, 5, 5, 12))])).toMatchObject({
      code: 'geometry/outline-behind-apex',
    });
    expect(discsVolume([1, Number.NaN], 10)).toMatchObject({ code: 'geometry/slices-out-of-range' });
  });
});

describe('two orthogonal planes', () => {
  it('give an ellipsoid exactly, by diameters and by discs', () => {
    const exact = ((4 / 3) * Math.PI * 42 * 36 * 30) / 1000;
    const [across, along] = [ellipse(0, 80, 42, 30, 2000), ellipse(0, 80, 36, 30, 2000)];
    expect(Math.abs(orThrow(twoPlanesDiameterVolume(across, along)).volumeMl / exact - 1)).toBeLessThan(1e-4);
    expect(Math.abs(orThrow(twoPlanesDiscVolume(across, along)).volumeMl / exact - 1)).toBeLessThan(1e-4);
  });
  it('by discs take the mean height of two outlines that differ, whichever is the higher', () => {
    const low = [-30, 50, 30, 50, 30, 90, -30, 90];
    const high = [-30, 50, 30, 50, 30, 110, -30, 110];
    const mean = (Math.PI / 4) * 60 * 60 * 50 * 1e-3;
    expect(orThrow(twoPlanesDiscVolume(low, high)).volumeMl).toBeCloseTo(mean, 6);
    expect(orThrow(twoPlanesDiscVolume(high, low)).volumeMl).toBeCloseTo(mean, 6);
  });
  it('by discs give an elliptical cylinder that the diameters miss by a third', () => {
    const box = [-30, 50, 30, 50, 30, 90, -30, 90];
    expect(orThrow(twoPlanesDiscVolume(box, box)).volumeMl).toBeCloseTo(
      (Math.PI / 4) * 60 * 60 * 40 * 1e-3,
      6,
    );
    expect(orThrow(twoPlanesDiameterVolume(box, box)).volumeMl).toBeCloseTo(
      (Math.PI / 6) * 60 * 60 * 40 * 1e-3,
      6,
    );
  });
});

describe('polygon integrals', () => {
  it('split an edge at the axis: a square across it is the sum of its two halves', () => {
    expect(absoluteMomentMm3([-3, 0, 5, 0, 5, 2, -3, 2])).toBeCloseTo((9 + 25) * 1, 12);
    expect(sidedMomentMm4([-3, 0, 5, 0, 5, 2, -3, 2])).toBeCloseTo((2 * (125 - 27)) / 3, 12);
    expect(sidedMomentMm4([-3, 2, 5, 2, 5, 0, -3, 0])).toBeCloseTo((2 * (125 - 27)) / 3, 12);
    expect(depthMomentMm3([-3, 1, 5, 1, 5, 3, -3, 3])).toBeCloseTo(8 * 2 * 2, 12);
    expect(widthAtDepthMm([[-3, 1, 5, 1, 5, 3, -3, 3]], 2)).toBeCloseTo(8, 12);
  });
  it('do not depend on the start, the direction, or the turn of the outline', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 1, max: 20 }), (seed, start) => {
        const random = seededRandom(seed);
        const points = Array.from({ length: 24 }, (_, index) => {
          const radius = 10 + 15 * random.next();
          return [
            5 + radius * Math.cos((index * Math.PI) / 12),
            60 + radius * Math.sin((index * Math.PI) / 12),
          ] as const;
        });
        const flat = points.flat();
        const moved = [...points.slice(start), ...points.slice(0, start)].reverse().flat();
        for (const integral of [absoluteMomentMm3, depthMomentMm3, polygonAreaMm2]) {
          expect(Math.abs(integral(moved) / integral(flat) - 1)).toBeLessThan(1e-10);
        }
        const turned = points
          .map(([s, d]) => [s * Math.cos(1) - d * Math.sin(1), s * Math.sin(1) + d * Math.cos(1)])
          .flat();
        expect(Math.abs(polygonAreaMm2(turned) / polygonAreaMm2(flat) - 1)).toBeLessThan(1e-10);
      }),
      { seed: 12, numRuns: 60 },
    );
  });
});

describe('closed mesh', () => {
  const cube = [0, 0, 0, 10, 0, 0, 10, 10, 0, 0, 10, 0, 0, 0, 10, 10, 0, 10, 10, 10, 10, 0, 10, 10];
  const faces = [
    0, 2, 1, 0, 3, 2, 4, 5, 6, 4, 6, 7, 0, 1, 5, 0, 5, 4, 1, 2, 6, 1, 6, 5, 2, 3, 7, 2, 7, 6, 3, 0, 4, 3, 4,
    7,
  ];
  it('of a cube with 10 mm edges is 1 mL wherever it stands', () => {
    expect(orThrow(closedMeshVolume(cube, faces)).volumeMl).toBeCloseTo(1, 12);
    expect(
      orThrow(
        closedMeshVolume(
          cube.map((one, index) => one + 100 * (index % 3)),
          faces,
        ),
      ).volumeMl,
    ).toBeCloseTo(1, 9);
  });
  it('with a face missing is refused [mesh-closed]', () => {
    expect(closedMeshVolume(cube, faces.slice(3))).toMatchObject({ code: 'geometry/mesh-not-closed' });
  });
  it('with a face turned over, or a corner that is not a number, is refused', () => {
    expect(closedMeshVolume(cube, [0, 1, 2, ...faces.slice(3)])).toMatchObject({
      code: 'geometry/mesh-not-closed',
    });
    expect(closedMeshVolume([Number.NaN, ...cube.slice(1)], faces)).toMatchObject({
      code: 'geometry/mesh-not-finite',
    });
  });
});
