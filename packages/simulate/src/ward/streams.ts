import { seededRandom, type RandomSource } from '@ebbline/core/quantity';

/**
 * A random source of its own for each purpose, named by words and numbers. What one purpose uses up never shifts
 * another, so that the same seed gives the same body, inflow, urges and errors whatever the staff does.
 *
 * Method    FNV-1a over the words, then a 32-bit finaliser, as the seed of `seededRandom` (S-from-memory)
 * @example  streamFor(7, 'w1-P03', 'reading', 12)
 */
export function streamFor(seed: number, ...words: readonly (string | number)[]): RandomSource {
  let hash = 0x811c9dc5 ^ (seed >>> 0);
  for (const character of words.join('/')) {
    hash = Math.imul(hash ^ (character.codePointAt(0) ?? 0), 0x01000193);
  }
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
  return seededRandom((hash ^ (hash >>> 16)) >>> 0);
}
