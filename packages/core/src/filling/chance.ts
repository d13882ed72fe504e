/**
 * Chance for the cloud: quick draws that are the same on every machine, set anew for each step so that what is drawn
 * for a step does not depend on how many steps came before it.
 *
 * Domain    shares in [0, 1); normals from a table of 4096 even quantiles in shuffled order (mean 0, spread 1)
 * Not for   secrets
 * Source    xorshift, 32 bits, from memory (S-from-memory)
 */
import { normalQuantile } from '../statistics/distributions.ts';

/** The normal, and the share from 0 to 1, that belong to a word of 32 bits. */
const normalOf = (word: number): number => normals[word >>> (32 - tableBits)] as number;
const shareOf = (word: number): number => word / 4_294_967_296;

export interface Chance {
  /** Starts the sequence that belongs to a pair of whole numbers. */
  readonly setFor: (first: number, second: number) => void;
  readonly share: () => number;
  readonly normal: () => number;
}

const tableBits = 12;
const tableSize = 1 << tableBits;

const normals = (() => {
  const table = Float64Array.from({ length: tableSize }, (_, place) =>
    normalQuantile((place + 0.5) / tableSize),
  );
  let spread = 0;
  for (const one of table) spread += (one * one) / tableSize;
  const scale = 1 / Math.sqrt(spread);
  return table.map((one) => one * scale);
})();

/**
 * Evenly strewn normals, one for each place and base: places of one base fill the line evenly, and different prime bases
 * go together like independent draws. Less chance in what is drawn only once.
 *
 * Source    van der Corput and Halton sequences, from memory (S-from-memory)
 */
export function strewnNormal(place: number, base: number): number {
  let share = 0;
  let part = 1;
  for (let rest = place + 1; rest > 0; rest = Math.floor(rest / base)) {
    part /= base;
    share += part * (rest % base);
  }
  return normalQuantile(share);
}

/** @param run another number, another chance */
export function openChance(run = 0): Chance {
  const own = Math.imul(run, 0xc2b2ae35);
  // In an array of its own kind, the state is never boxed.
  const state = Int32Array.of(1);
  const next = (): number => {
    let here = state[0] as number;
    here ^= here << 13;
    here ^= here >>> 17;
    here ^= here << 5;
    state[0] = here;
    return here >>> 0;
  };
  return {
    setFor: (first, second) => {
      state[0] = Math.imul(first + 1, 0x9e3779b1) ^ Math.imul(second + 7, 0x85ebca77) ^ own || 1;
      // The first draws of like seeds are alike.
      for (let skipped = 0; skipped < 4; skipped += 1) next();
    },
    share: () => shareOf(next()),
    normal: () => normalOf(next()),
  };
}
