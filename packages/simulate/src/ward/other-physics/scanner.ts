import { hourMs, type RandomSource } from '@ebbline/core/quantity';
import type { TrueReading } from '../course.ts';
import type { ReadingFields } from '../lines.ts';
import { streamFor } from '../streams.ts';

/** Hours for which an operator's drift is taken as standing still. */
const driftH = 3;

/** An operator's error wanders over the days and is the same for every patient meanwhile; as a log ratio. */
function driftOf(seed: number, ward: string, operator: number, atMs: number): number {
  const now = Math.floor(atMs / (driftH * hourMs));
  let drift = 0;
  for (let back = 0; back < 8; back += 1)
    drift += 0.8 ** back * 0.06 * streamFor(seed, ward, 'drift', operator, now - back).normal();
  return drift;
}

/** Student's t with 3 degrees of freedom: far out more often than a normal. */
function heavyTailed(random: RandomSource): number {
  const [top, a, b, c] = [random.normal(), random.normal(), random.normal(), random.normal()];
  return top / Math.sqrt((a * a + b * b + c * c) / 3);
}

/**
 * A reading whose error multiplies, has heavy tails, follows its operator's drift, and comes in tens.
 *
 * Units     mL
 * Domain    0 to 800 mL shown; beyond, "at least 800"
 * Source    S-made-other-physics
 */
export function otherReading(
  request: { readonly seed: number; readonly ward: string; readonly patient: string },
  atMs: number,
  trueMl: number,
  random: RandomSource,
  name: string,
): { readonly truth: TrueReading; readonly fields: ReadingFields } {
  const operator = random.below(5);
  const accident = random.next();
  const tail = heavyTailed(random);
  let ratio = Math.exp(driftOf(request.seed, request.ward, operator, atMs) + 0.09 * tail);
  const gross =
    accident < 0.025
      ? ('clipped' as const)
      : accident < 0.04
        ? ('other-fluid' as const)
        : accident < 0.055
          ? ('wrong-aim' as const)
          : undefined;
  if (gross === 'clipped') ratio *= 0.35 + 0.4 * random.next();
  if (gross === 'wrong-aim') ratio = 0;
  const rawMl = Math.round((trueMl * ratio + (gross === 'other-fluid' ? 250 : 0)) / 10) * 10;
  const bound = rawMl >= 800 || (gross === 'clipped' && random.next() < 0.4) ? 'at-least' : 'exact';
  const shownMl = Math.min(800, rawMl);
  const names = { device: 'T1', operator: `M${operator + 1}` };
  return {
    truth: {
      atMs,
      trueMl,
      shownMl,
      bound,
      ...(gross === undefined ? {} : { gross }),
      ...names,
    },
    fields: {
      kind: 'reading',
      volumeMl: shownMl,
      bound,
      doubts: bound === 'at-least' && rawMl < 800 ? ['cut-below'] : [],
      afterVoid: false,
      look: name,
      ...names,
    },
  };
}
