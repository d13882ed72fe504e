// Proves     volumeFromOutlines follows a person's edit, keeps the interval and the reasons up to date, and refuses what
//            can't be summed.
// Tolerance  closed forms 0.5 %, since outlines are polygons of 96 points and 12 planes
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { volumeFromOutlines, type PlaneOutline, type PlaneSetGeometry, type VertexClass } from './index.ts';
import { moveVertex } from './testing/move-vertex.ts';
import { posesOf } from './testing/phantom.ts';

const geometry: PlaneSetGeometry = {
  layout: 'rotational_fan',
  mmPerPx: { x: 0.5, y: 0.5 },
  apexPx: { x: 200, y: 0 },
  sector: { halfAngleDeg: 60, rMinMm: 5, rMaxMm: 160 },
  planes: posesOf('rotational_fan', 12),
};

const sphere = (radiusMm: number, seenAs: VertexClass = 'seen', sdMm = 1): PlaneOutline[] =>
  geometry.planes.map((_, plane) => ({
    plane,
    vertices: Array.from({ length: 96 }, (_none, ray) => ({
      sMm: radiusMm * Math.cos((ray * Math.PI) / 48),
      dMm: 80 + radiusMm * Math.sin((ray * Math.PI) / 48),
      sdMm,
      seenAs,
    })),
  }));
const codes = (result: { reasons: readonly { code: string }[] }): string[] =>
  result.reasons.map((one) => one.code);

describe('volume from outlines', () => {
  it('says when the diameters that stand with the images give quite another volume', () => {
    const calipered = (depth: number): PlaneSetGeometry => ({
      ...geometry,
      calipersMm: { width: 80, length: 80, depth },
    });
    expect(codes(volumeFromOutlines(calipered(78), sphere(40)))).not.toContain('calipers-disagree');
    expect(codes(volumeFromOutlines(calipered(50), sphere(40)))).toContain('calipers-disagree');
  });
  it('of a sphere with radius 40 mm is 268 mL, by the integral, nothing assumed of the shape', () => {
    const result = volumeFromOutlines(geometry, sphere(40));
    expect(result).toMatchObject({ answer: 'volume', method: 'rotational-fan', coefficient: 1, reasons: [] });
    expect(Math.abs((result.volumeMl as number) / 268.083 - 1)).toBeLessThan(0.005);
    expect(result.planesDisagreeMm).toBeLessThan(0.1);
  });
  it('grows by the cube of the size', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 15, max: 30, noNaN: true }),
        fc.double({ min: 1.01, max: 1.6, noNaN: true }),
        (radius, grow) => {
          const once = volumeFromOutlines(geometry, sphere(radius)).volumeMl as number;
          const more = volumeFromOutlines(geometry, sphere(radius * grow)).volumeMl as number;
          expect(Math.abs(more / once / grow ** 3 - 1)).toBeLessThan(1e-9);
        },
      ),
      { seed: 21, numRuns: 25 },
    );
  });
  it('has a wider interval when the wall is less sure', () => {
    const width = (result: { interval?: { loMl: number; hiMl: number } }): number =>
      (result.interval?.hiMl ?? 0) - (result.interval?.loMl ?? 0);
    expect(width(volumeFromOutlines(geometry, sphere(40, 'shadow', 5)))).toBeGreaterThan(
      1.3 * width(volumeFromOutlines(geometry, sphere(40))),
    );
  });
  it('follows a vertex that a person drags, and marks it as placed by hand', () => {
    const outlines = sphere(40);
    const before = volumeFromOutlines(geometry, outlines).volumeMl as number;
    const edited = outlines.map((one) => (one.plane === 3 ? moveVertex(one, 0, 48, 80) : one));
    const after = volumeFromOutlines(geometry, edited);
    expect(after.volumeMl).toBeGreaterThan(before);
    expect(after.planes[3]?.vertices[0]).toMatchObject({ sMm: 48, byHand: true, seenAs: 'seen' });
    expect(outlines[3]?.vertices[0]).toMatchObject({ sMm: 40 });
  });
  it('says which wall is hidden or faint, near-empty, small', () => {
    const lower = sphere(40).map((one) => ({
      ...one,
      vertices: one.vertices.map((vertex) => {
        const pose = geometry.planes[one.plane];
        return pose && vertex.sMm * pose.lateral[1] < -15
          ? { ...vertex, seenAs: 'shadow' as const, sdMm: 5 }
          : vertex;
      }),
    }));
    expect(codes(volumeFromOutlines(geometry, lower))).toEqual(['lower-wall-shadow']);
    expect(codes(volumeFromOutlines(geometry, sphere(40, 'weak', 3)))).toContain('faint-wall');
    expect(codes(volumeFromOutlines(geometry, sphere(12)))).toEqual(['near-empty']);
    expect(codes(volumeFromOutlines(geometry, sphere(20)))).toEqual(['small']);
  });
  it('always says when scale or layout were given by hand [given-by-hand-said]', () => {
    expect(codes(volumeFromOutlines({ ...geometry, givenByHand: true }, sphere(40)))).toEqual([
      'layout-by-hand',
    ]);
    expect(codes(volumeFromOutlines({ ...geometry, givenByHand: true }, []))).toContain('layout-by-hand');
  });
  it('refuses an outline that crosses itself, and sees none without outlines', () => {
    const crossed = sphere(40).map((one) =>
      one.plane === 0 ? moveVertex(moveVertex(one, 10, 0, 40), 58, 0, 120) : one,
    );
    expect(volumeFromOutlines(geometry, crossed).refusal?.code).toBe('geometry/outline-crosses-itself');
    expect(volumeFromOutlines(geometry, []).answer).toBe('none-seen');
  });
});
