// Proves     the wall of a plane follows what its rays show, joined with neighbours and reference, with an honest spread.
// Published  none: the cases have one right answer by themselves
// Tolerance  0.3 mm, less than a step of the rays, unless said beside it
import { describe, expect, it } from 'vitest';
import { outlinePosterior, temperOdds } from './outline-posterior.ts';
import { mostRadii, radiusStepMm, rayCount, type RayField } from './ray-field.ts';
import { middleState, stateCount } from './wall-model.ts';

const field: RayField = {
  plane: 0,
  seedMm: Float64Array.of(0, 80),
  dark: new Float32Array(rayCount * mostRadii),
  level: new Float32Array(rayCount * mostRadii),
  hidden: new Uint8Array(rayCount * mostRadii),
  exit: new Int32Array(rayCount).fill(mostRadii),
  sine: new Float64Array(rayCount),
  cosine: new Float64Array(rayCount),
};
const around = (radiusMm: number): Float64Array => new Float64Array(rayCount).fill(radiusMm);
const starts = new Int32Array(rayCount).fill(Math.round(30 / radiusStepMm - 0.5) - middleState);
/** Odds with a bell of the given spread about a radius on each ray. */
const bells = (radiusMm: (ray: number) => number, spreadMm: number): Float64Array => {
  const odds = new Float64Array(rayCount * stateCount);
  for (let ray = 0; ray < rayCount; ray += 1) {
    for (let state = 0; state < stateCount; state += 1) {
      const here = ((starts[ray] as number) + state + 0.5) * radiusStepMm;
      odds[ray * stateCount + state] = -0.5 * ((here - radiusMm(ray)) / spreadMm) ** 2;
    }
    temperOdds(odds, ray * stateCount);
  }
  return odds;
};

describe('the wall of a plane by its probabilities', () => {
  it('lies where all rays show it, and is sure', () => {
    const { meanMm, sdMm } = outlinePosterior(
      bells(() => 31, 0.6),
      starts,
      field,
      around(30),
      Infinity,
    );
    for (let ray = 0; ray < rayCount; ray += 1) {
      expect(Math.abs((meanMm[ray] as number) - 31)).toBeLessThan(0.3);
      expect(sdMm[ray] as number).toBeLessThan(0.6);
    }
  });
  it('follows the reference where the rays show nothing, and is unsure', () => {
    const nothing = new Float64Array(rayCount * stateCount).fill(1);
    const { meanMm, sdMm, ownSdMm } = outlinePosterior(nothing, starts, field, around(28), 1.6);
    expect(Math.abs((meanMm[10] as number) - 28)).toBeLessThan(0.3);
    const shown = outlinePosterior(
      bells(() => 28, 0.6),
      starts,
      field,
      around(28),
      1.6,
    );
    expect(sdMm[10] as number).toBeGreaterThan(1.5 * (shown.sdMm[10] as number));
    expect(ownSdMm[10] as number).toBeGreaterThan(6);
  });
  it('goes less than a third of the way with one ray that shows a wall far from its neighbours', () => {
    const odds = bells((ray) => (ray === 40 ? 38 : 30), 1);
    const { meanMm } = outlinePosterior(odds, starts, field, around(30), Infinity);
    expect(Math.abs((meanMm[40] as number) - 30)).toBeLessThan(8 / 3);
  });
  it('takes nothing from a blind ray', () => {
    const odds = bells((ray) => (ray >= 40 && ray < 52 ? 38 : 30), 1);
    const blind = Uint8Array.from({ length: rayCount }, (_, ray) => (ray >= 40 && ray < 52 ? 1 : 0));
    const seeing = outlinePosterior(odds, starts, field, around(30), 1.6);
    const shaded = outlinePosterior(odds, starts, field, around(30), 1.6, blind);
    expect(seeing.meanMm[46] as number).toBeGreaterThan(35);
    expect(Math.abs((shaded.meanMm[46] as number) - 30)).toBeLessThan(0.5);
    expect(shaded.sdMm[46] as number).toBeGreaterThan(shaded.sdMm[10] as number);
  });
  it('is the same whichever ray is called the first', () => {
    const turned = 17;
    const shape = (ray: number): number => 30 + 4 * Math.sin((2 * Math.PI * ray) / rayCount);
    const plain = outlinePosterior(bells(shape, 1), starts, field, around(30), Infinity);
    const other = outlinePosterior(
      bells((ray) => shape(ray + turned), 1),
      starts,
      field,
      around(30),
      Infinity,
    );
    for (let ray = 0; ray < rayCount; ray += 1)
      expect(other.meanMm[ray] as number).toBeCloseTo(plain.meanMm[(ray + turned) % rayCount] as number, 3);
  });
});
