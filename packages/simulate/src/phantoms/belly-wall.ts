/**
 * The belly wall: skin, fat with its septa, muscle, deep fat, in layers that follow the probe's face where it is pressed
 * and wave a little.
 *
 * Units     mm
 * Source    S-phantom-anatomy
 */
import type { RandomSource } from '@ebbline/core/quantity';
import { between } from './draw.ts';
import type { Field } from './fields.ts';
import type { PhantomRecipe } from './recipe.ts';
import type { TissueName } from './tissues.ts';

export interface BellyWall {
  readonly skinMm: number;
  readonly fatMm: number;
  readonly muscleMm: number;
  readonly deepFatMm: number;
}

export function drawBellyWall(recipe: PhantomRecipe, random: RandomSource): BellyWall {
  return {
    skinMm: between(random, 1.6, 2.6),
    fatMm: recipe.fatMm,
    muscleMm: between(random, 6, 12),
    deepFatMm: between(random, 2.5, 7),
  };
}

export const bellyWallMm = (wall: BellyWall): number =>
  wall.skinMm + wall.fatMm + wall.muscleMm + wall.deepFatMm;

/**
 * Depth below the skin. The skin follows the probe's face where it is pressed; deeper layers lie flatter, and all of them
 * wave a little.
 */
export function skinDepthOf(
  recipe: PhantomRecipe,
  faceRadiusMm: number,
  wallMm: number,
  random: RandomSource,
): Field {
  // Below all layers the waves make no difference.
  const knownDeepMm = wallMm + 4;
  const parallel = recipe.layout === 'parallel_sweep';
  const flatFromMm = between(random, 35, 60);
  const waveX = between(random, 13, 22);
  const waveY = between(random, 15, 25);
  const tall = between(random, 0.5, 1.6);
  const phase = 6 * random.next();
  return (x, y, z) => {
    // The depth is never less than this.
    if (z - faceRadiusMm > knownDeepMm) return z - faceRadiusMm;
    const radial = parallel ? Math.sqrt(x * x + z * z) : Math.sqrt(x * x + y * y + z * z);
    const fromFace = radial - faceRadiusMm;
    const flat = Math.min(1, fromFace / flatFromMm);
    const depth = fromFace + (z - radial) * flat;
    if (depth > knownDeepMm) return depth;
    return depth + tall * Math.min(1, depth / 10) * Math.sin(x / waveX + phase) * Math.cos(y / waveY + phase);
  };
}

export interface Layer {
  readonly tissue: TissueName;
  readonly toMm: number;
  /** How far and how its lower side waves. */
  readonly tallMm: number;
  readonly phase: number;
}

/** How far the lower side of a layer lies beyond its mean. */
export function unevenness(layer: Layer, x: number, y: number): number {
  return layer.tallMm * Math.sin(0.11 * x + layer.phase) * Math.cos(0.09 * y + 2 * layer.phase);
}

/** Skin, fat with its septa, muscle, deep fat. */
export function layersOf(wall: BellyWall, random: RandomSource): Layer[] {
  const layers: Layer[] = [];
  const lay = (tissue: TissueName, toMm: number, tallMm: number, phase = 6 * random.next()): number => {
    layers.push({ tissue, toMm, tallMm, phase });
    return phase;
  };
  lay('skin', wall.skinMm, 0.2);
  const fatEnd = wall.skinMm + wall.fatMm;
  let depth = wall.skinMm;
  for (;;) {
    const next = depth + between(random, 5, 14);
    if (next > fatEnd - 4) break;
    const tall = between(random, 0.6, 1.8);
    const thick = between(random, 0.9, 1.4);
    lay('septum', next + thick, tall, lay('fat', next, tall));
    depth = next + thick;
  }
  lay('fat', fatEnd, 0.7);
  lay('muscle', fatEnd + wall.muscleMm, between(random, 0.3, 1.2));
  lay('deepFat', fatEnd + wall.muscleMm + wall.deepFatMm, 0.6);
  return layers;
}
