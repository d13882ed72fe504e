// Proves     volumeFromOutlines gives the volume of bodies with a closed form from their true outlines.
// Published  closed forms of testing/closed-bodies.ts, checked here against a fine sum over 1 mm cells
// Tolerance  ball and ellipsoid 0.1 % from 6 planes on; bilobed, indented and off-axis bodies 0.5 % with 12 planes
import { describe, expect, it } from 'vitest';
import { volumeFromOutlines } from './index.ts';
import { closedBodies, closedBodyOutlines, type ClosedBody } from './testing/closed-bodies.ts';
import { geometryOf } from './testing/ellipsoid-outlines.ts';

const offPerCent = (body: ClosedBody, planes: number): number => {
  const geometry = geometryOf('rotational_fan', planes);
  const found = volumeFromOutlines(geometry, closedBodyOutlines(geometry, body));
  expect(found.answer, `${body.name} in ${planes} planes`).toBe('volume');
  return 100 * Math.abs((found.volumeMl ?? Number.NaN) / body.volumeMl - 1);
};

describe('volume of a body with a closed form', () => {
  it('is that of a fine sum over the body', () => {
    for (const body of [...closedBodies.smooth, ...closedBodies.uneven]) {
      let cells = 0;
      // Half a cell of softness at the wall takes the steps of a plain count away.
      for (let z = 25; z < 140; z += 1)
        for (let y = -60; y < 60; y += 1)
          for (let x = -60; x < 60; x += 1)
            cells += Math.max(0, Math.min(1, 0.5 + body.insideMm(x + 0.5, y + 0.5, z + 0.5)));
      expect(Math.abs(cells / 1000 / body.volumeMl - 1), body.name).toBeLessThan(0.003);
    }
  });
  it('is met within 0.1 % for a ball and an ellipsoid, from 6 planes on', () => {
    for (const body of closedBodies.smooth)
      for (const planes of [6, 8, 12]) expect(offPerCent(body, planes), body.name).toBeLessThan(0.1);
  });
  it('is met within 0.5 % for bilobed, indented and off-axis bodies in 12 planes', () => {
    for (const body of closedBodies.uneven) expect(offPerCent(body, 12), body.name).toBeLessThan(0.5);
  });
});
