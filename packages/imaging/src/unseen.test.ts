// Proves     what a set did not show is kept out of the bound and named: beams in shadow, and what lies past a sweep.
// Published  none: ellipsoids (4/3 π abc), cut by hand
// Tolerance  said beside each
import { describe, expect, it } from 'vitest';
import { traceBladder, volumeFromOutlines, type PlaneSet } from './index.ts';
import { ellipsoidOutlines, geometryOf } from './testing/ellipsoid-outlines.ts';
import { bodyMl, phantom, type PhantomBody } from './testing/phantom.ts';

const bladder: PhantomBody = { centreMm: [0, 0, 75], halfMm: [42, 36, 30] };

/** The set with every beam beyond an angle dark from a depth on, as behind bone. */
function shaded(set: PlaneSet, fromDeg: number, fromMm: number): PlaneSet {
  const { apexPx, mmPerPx } = set.geometry;
  return {
    ...set,
    planes: set.planes.map((plane) => ({
      ...plane,
      grey: plane.grey.map((value, place) => {
        const s = ((place % plane.width) - apexPx.x) * mmPerPx.x;
        const d = (Math.floor(place / plane.width) - apexPx.y) * mmPerPx.y;
        const angleDeg = (Math.atan2(s, d) * 180) / Math.PI;
        return angleDeg > fromDeg && Math.hypot(s, d) > fromMm ? 2 : value;
      }),
    })),
  };
}

describe('what a set did not show', () => {
  it('is at least when a side lies in shadow, with a bound below what is left', () => {
    const set = phantom([bladder], { planes: 12 });
    const whole = traceBladder(set);
    expect(whole.answer).toBe('volume');
    expect(whole.findings.shadows).toEqual([]);
    const result = traceBladder(shaded(set, 14, 35));
    expect(result.answer).toBe('at-least');
    expect(result.reasons.map((one) => one.code)).toEqual(
      expect.arrayContaining([expect.stringMatching(/wall-shadow$/)]),
    );
    expect(result.findings.shadows?.length).toBeGreaterThan(6);
    for (const shadow of result.findings.shadows ?? [])
      expect((shadow.fromRad * 180) / Math.PI).toBeGreaterThan(9);
    expect(result.boundMl).toBeLessThan(0.97 * bodyMl(bladder));
    expect(result.boundMl).toBeGreaterThan(0.5 * bodyMl(bladder));
  });
  it.each(['parallel_sweep', 'tilt_sweep'] as const)(
    'is at least when a %s ends inside the body, and is completed within 8 %%',
    (layout) => {
      const geometry = geometryOf(layout, 15);
      const outlines = ellipsoidOutlines(geometry, bladder.centreMm, bladder.halfMm);
      const cut = { ...geometry, planes: geometry.planes.slice(0, 10) };
      const kept = outlines.filter((outline) => outline.plane < 10);
      const whole = volumeFromOutlines(geometry, outlines);
      expect(whole.answer).toBe('volume');
      const result = volumeFromOutlines(cut, kept);
      expect(result.answer).toBe('at-least');
      expect(result.boundMl).toBeLessThan(bodyMl(bladder));
      expect(Math.abs((result.volumeMl as number) / bodyMl(bladder) - 1)).toBeLessThan(0.08);
    },
  );
});
