/**
 * A seeded source of randomness, for simulation and tests: mulberry32, 32-bit state, period 2^32.
 * Same seed, same sequence, on every machine. Not for secrets.
 *
 * Source    public-domain generator by its author's description (S-from-memory); checked by moments in random.test.ts
 */
export interface RandomSource {
  /** Uniform in [0, 1). */
  next(): number;
  /** Integer in [0, below). */
  below(below: number): number;
  /** Standard normal (Box–Muller). */
  normal(): number;
  /** One of a list. */
  pick<Item>(items: readonly Item[]): Item;
}

export function seededRandom(seed: number): RandomSource {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
  return {
    next,
    below: (below) => Math.floor(next() * below),
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    pick: (items) => {
      if (items.length === 0) throw new Error('pick needs at least one item');
      return items[Math.floor(next() * items.length)] as never;
    },
  };
}
