// Proves     the closed surface fits bodies with a closed form and bridges a hidden part; the clip keeps what is inside.
// Tolerance  stated at each check
import { describe, expect, it } from 'vitest';
import { polygonAreaMm2 } from '@ebbline/core/geometry';
import { clipToSector } from './clip.ts';
import { fitSurface, radialDistanceMm, surfaceVolumeMl } from './surface.ts';

/** Points of an ellipsoid in directions spread by the golden angle; those with y below `from` left out. */
function points(half: readonly [number, number, number], from = -Infinity) {
  const kept: number[] = [];
  for (let index = 0; index < 900; index += 1) {
    const z = -1 + (2 * (index + 0.5)) / 900;
    const flat = Math.sqrt(1 - z * z);
    const angle = index * Math.PI * (3 - Math.sqrt(5));
    const [x, y] = [flat * Math.cos(angle), flat * Math.sin(angle)];
    const radius = 1 / Math.sqrt((x / half[0]) ** 2 + (y / half[1]) ** 2 + (z / half[2]) ** 2);
    if (radius * y >= from) kept.push(radius * x + 5, radius * y - 3, radius * z + 70);
  }
  const count = kept.length / 3;
  return { pointsMm: Float64Array.from(kept), sdMm: new Float64Array(count).fill(1), count };
}

describe('closed surface', () => {
  it('of an ellipsoid has its volume within 1 %', () => {
    const surface = fitSurface(points([42, 36, 30]), [5, -3, 70], 6);
    expect(surface).toBeDefined();
    if (surface) expect(Math.abs(surfaceVolumeMl(surface) / 190.003524 - 1)).toBeLessThan(0.01);
  });
  it('bridges a hidden quarter within 5 %', () => {
    const surface = fitSurface(points([42, 36, 30], -18), [5, -3, 70], 6);
    expect(surface).toBeDefined();
    if (surface) expect(Math.abs(surfaceVolumeMl(surface) / 190.003524 - 1)).toBeLessThan(0.05);
  });
  it('is negative inside, positive outside, and not made from too few points', () => {
    const surface = fitSurface(points([40, 40, 40]), [5, -3, 70], 4);
    if (!surface) throw new Error('no surface');
    expect(radialDistanceMm(surface, 5, -3, 70)).toBeCloseTo(-40, 0);
    expect(radialDistanceMm(surface, 5, -3, 120)).toBeCloseTo(10, 0);
    expect(fitSurface({ ...points([40, 40, 40]), count: 20 }, [5, -3, 70], 4)).toBeUndefined();
  });
});

describe('clip to the sector', () => {
  it('leaves an outline inside as it is, and halves a square that the edge halves', () => {
    const sector = { halfAngleDeg: 45, rMinMm: 1, rMaxMm: 500 };
    const inside = Float64Array.of(-5, 50, 5, 50, 5, 60, -5, 60);
    expect(polygonAreaMm2(clipToSector(inside, sector))).toBeCloseTo(100, 9);
    const across = Float64Array.of(45, 45, 55, 45, 55, 55, 45, 55);
    expect(polygonAreaMm2(clipToSector(across, sector))).toBeCloseTo(50, 9);
    expect(clipToSector(Float64Array.of(80, 10, 90, 10, 90, 20), sector)).toHaveLength(0);
  });
});
