/**
 * The inside of the bladder as a closed shape about its own middle, drawn from a recipe.
 *
 * Frame     x to the right of the picture, y towards the head, z away from the skin; mm
 */
import type { RandomSource } from '@ebbline/core/quantity';
import { between } from './draw.ts';
import {
  difference,
  egg,
  ellipsoid,
  halfSpace,
  intersection,
  leaning,
  scaled,
  turned,
  union,
  type Field,
} from './fields.ts';
import type { PhantomFeature } from './recipe.ts';
import { boundsOf, volumeOfField, type Box } from './field-volume.ts';

export interface LumenShape {
  /** Negative inside, about the bladder's own middle. */
  readonly field: Field;
  readonly box: Box;
  /** What pushes into the base, when something does: prostate or uterus. */
  readonly indenting?: Field;
  /** Middle of the base, where a catheter enters. */
  readonly outlet: readonly [number, number, number];
}

/** Shapes are drawn at the size of about 100 mL and then scaled to the volume wanted. */
const reachMm = 70;

/** Draws a shape of about `volumeMl`. Sizes and leans are ours, after anatomy (S-phantom-anatomy). */
export function drawLumen(
  features: readonly PhantomFeature[],
  volumeMl: number,
  random: RandomSource,
): LumenShape {
  const has = (name: PhantomFeature): boolean => features.includes(name);
  const skew = between(random, -0.08, 0.08);
  const width = between(random, 27, 33);
  const length = between(random, 23, 30);
  const depth = between(random, 20, 27);
  const round = egg({
    leftMm: width * (1 - skew),
    rightMm: width * (1 + skew),
    footMm: length * between(random, 0.8, 1),
    headMm: length * between(random, 0.95, 1.25),
    frontMm: depth * between(random, 0.75, 0.95),
    backMm: depth * between(random, 0.95, 1.15),
  });
  let field = round;
  if (has('flattened')) {
    const top = between(random, 6, 11);
    const bottom = between(random, 11, 16);
    field = intersection(field, halfSpace([0, 0, -1], top), 7);
    field = intersection(field, halfSpace([0, 0, 1], bottom), 9);
  }
  if (has('triangular')) {
    const lean = (between(random, 32, 42) * Math.PI) / 180;
    const side = between(random, 12, 15);
    for (const sign of [-1, 1])
      field = intersection(field, halfSpace([sign * Math.cos(lean), 0, Math.sin(lean)], side), 6);
    field = intersection(field, halfSpace([0, 0, -1], between(random, 11, 14)), 5);
  }
  if (has('irregular')) field = uneven(field, random);
  let indenting: Field | undefined;
  if (has('indented-base')) {
    const uterus = random.next() < 0.4;
    const size = between(random, 13, 18);
    indenting = uterus
      ? ellipsoid(
          [between(random, -4, 4), between(random, 0, 12), depth + 4],
          [size * 1.5, size * 1.3, size * 0.95],
        )
      : ellipsoid([between(random, -3, 3), -length * 0.75, depth * 0.75], [size * 1.2, size * 1.05, size]);
    field = difference(field, indenting, 5);
  }
  if (has('diverticulum')) {
    const side = random.next() < 0.5 ? -1 : 1;
    const radius = between(random, 9, 14);
    const pouch = ellipsoid(
      [side * (width + radius * 0.75), between(random, -8, 6), between(random, 2, 12)],
      [radius, radius * between(random, 0.85, 1.15), radius * between(random, 0.85, 1.1)],
    );
    field = union(field, pouch, 5);
  }
  const lean = between(random, 2, 20);
  const turn = between(random, -9, 9);
  const place = (shape: Field): Field => leaning(turned(shape, turn), lean);
  field = place(field);
  const rough = volumeOfField(field, boundsOf(field, reachMm), 44);
  const factor = Math.cbrt(volumeMl / rough);
  const full = scaled(field, factor);
  return {
    field: full,
    box: boundsOf(full, reachMm * factor),
    ...(indenting ? { indenting: scaled(place(indenting), factor) } : {}),
    outlet: [0, -0.62 * length * factor, 0.62 * depth * factor],
  };
}

/** Adds shallow waves of several directions: bulges of some centimetres and the ridges of a worked muscle. */
function uneven(field: Field, random: RandomSource): Field {
  const waves = Array.from({ length: 7 }, (_, index) => {
    const lengthMm = index < 2 ? between(random, 34, 52) : between(random, 13, 20);
    const tall = index < 2 ? between(random, 1.2, 2.2) : between(random, 0.6, 1.1);
    const [a, b, c] = [random.normal(), random.normal(), random.normal()];
    const scale = (2 * Math.PI) / lengthMm / Math.hypot(a, b, c);
    return { tall, a: a * scale, b: b * scale, c: c * scale, phase: 2 * Math.PI * random.next() };
  });
  return (x, y, z) => {
    let shift = 0;
    for (const wave of waves)
      shift += wave.tall * Math.sin(wave.a * x + wave.b * y + wave.c * z + wave.phase);
    return field(x, y, z) + shift;
  };
}
