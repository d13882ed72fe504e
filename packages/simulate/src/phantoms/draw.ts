import type { RandomSource } from '@ebbline/core/quantity';

/** A uniform number between two. */
export const between = (random: RandomSource, low: number, high: number): number =>
  low + (high - low) * random.next();
