// Proves     the learnt model finds an ideal wall, in every direction, and allows none outside the picture.
// Published  none: the wall of the made field is known by itself
// Tolerance  2.5 mm: real walls are blurred and lie behind haze, the model has learnt those, and this one is neither
import { describe, expect, it } from 'vitest';
import { mostRadii, radiusStepMm, rayCount, type RayField } from './ray-field.ts';
import { learntWall, middleState, stateCount, wallOdds, wallView } from './wall-model.ts';
import { wallWeights } from './wall-weights.ts';

/** Fluid out to `wallMm` from a seed 80 mm deep, tissue beyond, with a ramp of 1 mm. */
function ideal(wallMm: number, exitMm = 100): RayField {
  const level = new Float32Array(rayCount * mostRadii);
  for (let ray = 0; ray < rayCount; ray += 1)
    for (let radius = 0; radius < mostRadii; radius += 1) {
      const beyondMm = (radius + 0.5) * radiusStepMm - wallMm;
      level[ray * mostRadii + radius] = 0.05 + Math.max(0, Math.min(1, beyondMm + 0.5));
    }
  const turn = (ray: number): number => (2 * Math.PI * ray) / rayCount;
  return {
    plane: 0,
    seedMm: Float64Array.of(0, 80),
    dark: new Float32Array(rayCount * mostRadii),
    level,
    hidden: new Uint8Array(rayCount * mostRadii),
    exit: new Int32Array(rayCount).fill(Math.round(exitMm / radiusStepMm)),
    sine: Float64Array.from({ length: rayCount }, (_, ray) => Math.sin(turn(ray))),
    cosine: Float64Array.from({ length: rayCount }, (_, ray) => Math.cos(turn(ray))),
  };
}
const oddsOf = (field: RayField, ray: number, aroundMm: number): { odds: Float64Array; start: number } => {
  const start = Math.round(aroundMm / radiusStepMm - 0.5) - middleState;
  const odds = new Float64Array(stateCount);
  wallOdds(learntWall(), field, wallView(field), ray, start, odds, 0);
  return { odds, start };
};

describe('the learnt model of the wall', () => {
  it.each([15, 25, 40])('finds a wall at %i mm in every direction', (wallMm) => {
    const field = ideal(wallMm);
    for (let ray = 0; ray < rayCount; ray += 8) {
      const { odds, start } = oddsOf(field, ray, wallMm + 2);
      const best = odds.indexOf(Math.max(...odds));
      const foundMm = (start + best + 0.5) * radiusStepMm;
      expect(Math.abs(foundMm - wallMm), `ray ${ray}: found ${foundMm}, true ${wallMm}`).toBeLessThan(2.5);
    }
  });
  it('allows no wall past the edge of the picture, and one at the edge', () => {
    const { odds, start } = oddsOf(ideal(40, 35), 20, 35);
    const exit = Math.round(35 / radiusStepMm);
    for (let state = 0; state < stateCount; state += 1)
      expect(Number.isFinite(odds[state])).toBe(start + state <= exit);
  });
  it('has units in fours, and a number for every feature', () => {
    const features = new Set(wallWeights.units.map((unit) => unit.length));
    expect(wallWeights.units.length % 4).toBe(0);
    expect([wallWeights.bias.length, wallWeights.out.length]).toEqual([
      wallWeights.units.length,
      wallWeights.units.length,
    ]);
    expect([...features]).toEqual([learntWall().weights.length / wallWeights.units.length]);
  });
});
