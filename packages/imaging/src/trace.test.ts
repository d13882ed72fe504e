// Proves     traceBladder finds the volume of bodies with a closed form in every layout, says when it saw only a part,
//            and claims nothing where there is nothing.
// Published  none: the bodies are ellipsoids (4/3 π abc); simulated sets of another maker are in the plane-set samples test
// Tolerance  1.5 mL or 5 %: these bodies are ideal, and the worst is 2.1 % off; a miss prints true and found
import { describe, expect, it } from 'vitest';
import { traceBladder, volumeFromOutlines, type Layout } from './index.ts';
import { bodyMl, phantom, type PhantomBody } from './testing/phantom.ts';

const bladder: PhantomBody = { centreMm: [4, -3, 75], halfMm: [42, 36, 30] };
const within = (found: number | undefined, trueMl: number): void => {
  expect(found, `true ${trueMl} mL, found ${found}`).toBeDefined();
  expect(Math.abs((found as number) - trueMl), `true ${trueMl} mL, found ${found}`).toBeLessThanOrEqual(
    Math.max(1.5, 0.05 * trueMl),
  );
};

describe('tracing a bladder', () => {
  it.each<Layout>(['rotational_fan', 'tilt_sweep', 'parallel_sweep', 'two_orthogonal_planes'])(
    'gives its volume and an interval that holds it: %s',
    (layout) => {
      const result = traceBladder(phantom([bladder], { layout, planes: 12 }));
      expect(result.answer).toBe('volume');
      within(result.volumeMl, bodyMl(bladder));
      expect(result.interval?.loMl).toBeLessThan(bodyMl(bladder));
      expect(result.interval?.hiMl).toBeGreaterThan(bodyMl(bladder));
    },
  );
  it.each([
    [15, 12, 10],
    [30, 22, 20],
    [60, 50, 42],
  ])('finds half-axes of %i, %i and %i mm', (a, b, c) => {
    const body: PhantomBody = { centreMm: [0, 0, 70], halfMm: [a, b, c] };
    within(traceBladder(phantom([body])).volumeMl, bodyMl(body));
  });
  it('finds a bladder beside the probe axis and says off-centre', () => {
    const body: PhantomBody = { centreMm: [28, 0, 75], halfMm: [32, 32, 28] };
    const result = traceBladder(phantom([body]));
    within(result.volumeMl, bodyMl(body));
    expect(result.reasons.map((one) => one.code)).toContain('off-centre');
  });
  it('gives the same volume within 5 % when the gain is almost halved', () => {
    const loud = traceBladder(phantom([bladder], { gain: 130 })).volumeMl as number;
    const quiet = traceBladder(phantom([bladder], { gain: 70 })).volumeMl as number;
    expect(Math.abs(quiet / loud - 1)).toBeLessThan(0.05);
  });
  it('reads pixels that are higher than wide', () => {
    within(traceBladder(phantom([bladder], { mmPerPx: { x: 0.5, y: 0.7 } })).volumeMl, bodyMl(bladder));
  });
});

describe('what it does not claim', () => {
  it('sees no bladder in plain tissue', () => {
    for (const seed of [1, 2, 3]) expect(traceBladder(phantom([], { seed })).answer).toBe('none-seen');
  });
  it('says at least, with a bound below the whole, when the bladder runs out of the picture [cut-is-at-least]', () => {
    const body: PhantomBody = { centreMm: [0, 0, 70], halfMm: [62, 40, 35] };
    const result = traceBladder(phantom([body], { halfAngleDeg: 34 }));
    expect(result.answer).toBe('at-least');
    expect(result.reasons.map((one) => one.code)).toContain('outside-picture');
    expect(result.boundMl).toBeLessThan(bodyMl(body));
    expect(result.boundMl).toBeLessThan(result.volumeMl as number);
    expect(result.interval?.loMl).toBe(result.boundMl);
  });
  it('says that there is more than one fluid region', () => {
    const beside: PhantomBody = { centreMm: [-62, 40, 90], halfMm: [20, 20, 20] };
    const result = traceBladder(phantom([bladder, beside], { planes: 20 }));
    within(result.volumeMl, bodyMl(bladder));
    expect(result.reasons.map((one) => one.code)).toContain('more-than-one-region');
  });
  it('refuses to choose when a smaller region lies in front of a larger one [two-candidates-refused]', () => {
    const cyst: PhantomBody = { centreMm: [0, 16, 85], halfMm: [26, 26, 24] };
    const small: PhantomBody = { centreMm: [0, -14, 44], halfMm: [16, 15, 8] };
    const set = phantom([cyst, small], { planes: 12 });
    const unsure = traceBladder(set);
    expect(unsure.answer).toBe('refused');
    expect(unsure.refusal?.code).toBe('imaging/two-candidates');
    const pointed = traceBladder(set, { seed: { plane: 6, sMm: -14, dMm: 44 } });
    within(pointed.volumeMl, bodyMl(small));
    expect(traceBladder(set, { seed: { plane: 6, sMm: 50, dMm: 100 } }).refusal?.code).toBe(
      'imaging/no-fluid-there',
    );
  });
  it('refuses fluid that lies mostly towards the head of the middle of a fan [headward-fluid-refused]', () => {
    const fluid: PhantomBody = { centreMm: [2, 30, 85], halfMm: [34, 30, 26] };
    const set = phantom([fluid], { planes: 12 });
    const unsure = traceBladder(set);
    expect(unsure.answer).toBe('refused');
    expect(unsure.refusal?.code).toBe('imaging/perhaps-free-fluid');
    expect(unsure.reasons.map((one) => one.code)).toContain('perhaps-free-fluid');
    const pointed = traceBladder(set, { seed: { plane: 6, sMm: 28, dMm: 85 } });
    within(pointed.volumeMl, bodyMl(fluid));
  });
  it('refuses a scatter of fluid that makes no one body [irregular-is-refused]', () => {
    const set = phantom([bladder], { planes: 10 });
    const result = traceBladder(set);
    const torn = result.planes.map((outline, index) => ({
      ...outline,
      vertices: outline.vertices.map((one) => ({ ...one, sMm: one.sMm + (index % 2 === 0 ? 22 : -22) })),
    }));
    expect(volumeFromOutlines(set.geometry, torn).refusal?.code).toBe('imaging/not-like-a-bladder');
  });
  it('refuses pictures that are missing or cut short', () => {
    const set = phantom([bladder]);
    expect(traceBladder({ ...set, planes: set.planes.slice(1) }).refusal?.code).toBe(
      'imaging/planes-missing',
    );
    const short = set.planes.map((one, index) =>
      index === 2 ? { ...one, grey: one.grey.subarray(5) } : one,
    );
    expect(traceBladder({ ...set, planes: short }).refusal?.code).toBe('imaging/picture-size');
  });
  it('does not fail on black, white or noisy pictures', () => {
    const set = phantom([bladder], { planes: 4 });
    for (const level of [0, 255]) {
      const flat = set.planes.map((one) => ({ ...one, grey: new Uint8Array(one.grey.length).fill(level) }));
      expect(['none-seen', 'refused']).toContain(traceBladder({ ...set, planes: flat }).answer);
    }
  });
});

describe('for a worker', () => {
  it('takes and gives plain values that can be cloned, and changes no input', () => {
    const set = phantom([bladder], { planes: 6 });
    const before = set.planes.map((one) => one.grey.slice());
    const shares: number[] = [];
    const result = traceBladder(structuredClone(set), { onProgress: (share) => shares.push(share) });
    expect(structuredClone(result)).toEqual(result);
    expect(set.planes.map((one) => one.grey)).toEqual(before);
    expect(shares.length).toBeGreaterThan(1);
  });
});
