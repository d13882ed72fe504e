// Proves     the score of outlines: volume error against closed forms, what lies past the picture's edge counts for nobody,
//            and planes left out or outlined in vain are named.
// Published  an ellipsoid scaled by k holds k³ of its volume, closed form
// Tolerance  0.5 % of the volume, 0.05 mm of a distance (128 points an outline)
import { describe, expect, it } from 'vitest';
import { isRefusal } from '@ebbline/core/quantity';
import type { PlaneOutline } from './outline.ts';
import { scoreOutlines, type OutlineScore } from './outline-score.ts';
import type { PlaneSetGeometry, Vector } from './plane-set.ts';
import { ellipsoidOutlines, geometryOf } from './testing/ellipsoid-outlines.ts';

const ball: Vector = [40, 40, 40];
const centre: Vector = [0, 0, 70];
const ballMl = ((4 / 3) * Math.PI * 40 ** 3) / 1000;

const flat = (outline: PlaneOutline): Float64Array =>
  Float64Array.from(outline.vertices.flatMap(({ sMm, dMm }) => [sMm, dMm]));
const truthOf = (geometry: PlaneSetGeometry, outlines: readonly PlaneOutline[]): Float64Array[][] =>
  geometry.planes.map((_, plane) => outlines.filter((one) => one.plane === plane).map(flat));
function score(
  geometry: PlaneSetGeometry,
  drawn: readonly PlaneOutline[],
  truth: Float64Array[][],
): OutlineScore {
  const found = scoreOutlines(geometry, drawn, truth);
  if (isRefusal(found)) throw new Error(found.code);
  return found;
}
const fan = geometryOf('rotational_fan', 8);
const truth = truthOf(fan, ellipsoidOutlines(fan, centre, ball));

describe('the score of outlines', () => {
  it('is nothing off for the true outlines', () => {
    const found = score(fan, ellipsoidOutlines(fan, centre, ball), truth);
    expect(Math.abs(found.trueMl / ballMl - 1)).toBeLessThan(0.005);
    expect(found.errorMl).toBe(0);
    expect(found.errorShare).toBe(0);
    expect(found.offMm).toBeLessThan(1e-9);
  });
  it('of outlines a tenth too large is a volume 1.1³ as large and 4 mm off everywhere', () => {
    const found = score(fan, ellipsoidOutlines(fan, centre, [44, 44, 44]), truth);
    expect(Math.abs((found.errorShare ?? 0) - (1.1 ** 3 - 1))).toBeLessThan(0.005);
    expect(Math.abs((found.offMm ?? 0) - 4)).toBeLessThan(0.05);
    for (const { comparison } of found.planes) expect(comparison?.biasMm).toBeCloseTo(4, 1);
  });
  it('says which planes were missed and which outlined in vain', () => {
    const drawn = ellipsoidOutlines(fan, centre, ball).filter((one) => one.plane !== 3);
    const without = truth.map((polygons, plane) => (plane === 5 ? [] : polygons));
    const found = score(fan, drawn, without);
    expect(found.planes.map((one) => one.state)).toEqual([
      'compared',
      'compared',
      'compared',
      'missed',
      'compared',
      'too-many',
      'compared',
      'compared',
    ]);
    const noBladder = score(
      fan,
      drawn,
      truth.map(() => []),
    );
    expect(noBladder.trueMl).toBe(0);
    expect(noBladder.errorShare).toBeUndefined();
    expect(noBladder.offMm).toBeUndefined();
    expect(score(fan, [], truth).errorShare).toBe(-1);
  });
  it('does not count what lies past the edge of the picture', () => {
    const narrow: PlaneSetGeometry = { ...fan, sector: { halfAngleDeg: 25, rMinMm: 5, rMaxMm: 200 } };
    const cut = score(narrow, ellipsoidOutlines(narrow, centre, ball), truth);
    expect(cut.errorMl).toBe(0);
    expect(cut.trueMl).toBeLessThan(0.9 * ballMl);
    // Drawn along the edge instead of past it: the same part of the picture.
    const along = ellipsoidOutlines(narrow, centre, ball).map((outline) => ({
      ...outline,
      vertices: outline.vertices.map((vertex) => {
        const most = Math.tan((25.5 * Math.PI) / 180) * vertex.dMm;
        return { ...vertex, sMm: Math.max(-most, Math.min(most, vertex.sMm)) };
      }),
    }));
    expect(Math.abs(score(narrow, along, truth).errorShare ?? 1)).toBeLessThan(0.01);
  });
  it('is refused for two planes, and without the truth of every plane', () => {
    const two = geometryOf('two_orthogonal_planes', 2);
    expect(scoreOutlines(two, [], [[], []])).toMatchObject({ code: 'imaging/not-to-be-scored' });
    expect(scoreOutlines(fan, [], [[]])).toMatchObject({ found: 'truth of 1 planes' });
  });
});
