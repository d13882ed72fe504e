// Proves     the tables stay within the errors they state
// Published  the engine's own exponential
// Tolerance  as stated in quick.ts
import { describe, expect, it } from 'vitest';
import { bell, exponential, rise } from './quick.ts';

const places = Array.from({ length: 20_001 }, (_, place) => (place - 10_000) / 1000);

describe('exponentials by table', () => {
  it('are within a millionth of the exponential, and held at their ends', () => {
    const within = places.filter((x) => Math.abs(x) <= 5.12);
    expect(Math.max(...within.map((x) => Math.abs(exponential(x) / Math.exp(x) - 1)))).toBeLessThan(1e-6);
    expect(exponential(9)).toBe(exponential(5.12));
    expect(exponential(-9)).toBe(exponential(-5.12));
  });

  it('give a bell within 4 in 100,000 of the normal density, far out as well', () => {
    const density = (z: number): number => Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
    expect(Math.max(...places.map((z) => Math.abs((bell(7 * z, 7) * 7) / density(z) - 1)))).toBeLessThan(
      4e-5,
    );
    expect(bell(300, 10) * 10).toBe(density(30));
  });

  it('give a step within 2 in 100,000 of the logistic curve, symmetric and rising', () => {
    const logistic = (x: number): number => 1 / (1 + Math.exp(-x));
    expect(Math.max(...places.map((x) => Math.abs(rise(20 * x * 2, 20) - logistic(x * 2))))).toBeLessThan(
      2e-5,
    );
    for (let place = 1; place < places.length; place += 1)
      expect(rise(places[place] as number, 1)).toBeGreaterThanOrEqual(rise(places[place - 1] as number, 1));
    expect(rise(3.3, 2) + rise(-3.3, 2)).toBeCloseTo(1, 15);
  });
});
