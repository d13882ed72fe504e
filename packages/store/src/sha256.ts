/**
 * SHA-256 of a text (UTF-8), in hex, in the same moment: a browser's own digest is asynchronous and would end
 * an IndexedDB transaction. Node adapters use the platform's instead.
 *
 * Source    FIPS 180-4 sections 4.1.2, 5.1.1, 6.2 (S-store-fips-180-4); the constants are the first 32 bits of the
 *           fractional parts of the cube and square roots of the first primes, worked out below
 */
const encoder = new TextEncoder();

const primes: number[] = [];
for (let candidate = 2; primes.length < 64; candidate += 1) {
  if (primes.every((prime) => candidate % prime !== 0)) primes.push(candidate);
}

/** First 32 bits of the fractional part of the root: floor(2^32 · prime^(1/degree)) mod 2^32, in whole numbers. */
function fractionBits(prime: number, degree: 2 | 3): number {
  const scaled = BigInt(prime) << BigInt(32 * degree);
  let low = 0n;
  let high = BigInt(prime) << 32n;
  while (low < high) {
    const middle = (low + high + 1n) >> 1n;
    if (middle ** BigInt(degree) <= scaled) low = middle;
    else high = middle - 1n;
  }
  return Number(low & 0xffffffffn);
}

const roundConstants = Uint32Array.from(primes, (prime) => fractionBits(prime, 3));
const startState = Uint32Array.from(primes.slice(0, 8), (prime) => fractionBits(prime, 2));

const turn = (word: number, by: number): number => (word >>> by) | (word << (32 - by));

export function sha256Hex(text: string): string {
  const message = encoder.encode(text);
  const padded = new Uint8Array((((message.length + 8) >> 6) + 1) << 6);
  padded.set(message);
  padded[message.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 8, Math.floor(message.length / 0x20000000));
  view.setUint32(padded.length - 4, (message.length << 3) >>> 0);
  const state = startState.slice();
  const schedule = new Uint32Array(64);
  const at = (list: Uint32Array, index: number): number => list[index] as number;
  for (let block = 0; block < padded.length; block += 64) {
    for (let index = 0; index < 16; index += 1) schedule[index] = view.getUint32(block + index * 4);
    for (let index = 16; index < 64; index += 1) {
      const early = at(schedule, index - 15);
      const late = at(schedule, index - 2);
      const small0 = turn(early, 7) ^ turn(early, 18) ^ (early >>> 3);
      const small1 = turn(late, 17) ^ turn(late, 19) ^ (late >>> 10);
      schedule[index] = at(schedule, index - 16) + small0 + at(schedule, index - 7) + small1;
    }
    let [a, b, c, d, e, f, g, h] = state as unknown as [
      number,
      number,
      number,
      number,
      number,
      number,
      number,
      number,
    ];
    for (let index = 0; index < 64; index += 1) {
      const big1 = turn(e, 6) ^ turn(e, 11) ^ turn(e, 25);
      const first = (h + big1 + ((e & f) ^ (~e & g)) + at(roundConstants, index) + at(schedule, index)) >>> 0;
      const big0 = turn(a, 2) ^ turn(a, 13) ^ turn(a, 22);
      const second = (big0 + ((a & b) ^ (a & c) ^ (b & c))) >>> 0;
      h = g;
      g = f;
      f = e;
      e = (d + first) >>> 0;
      d = c;
      c = b;
      b = a;
      a = (first + second) >>> 0;
    }
    for (const [index, word] of [a, b, c, d, e, f, g, h].entries()) state[index] = at(state, index) + word;
  }
  return Array.from(state, (word) => word.toString(16).padStart(8, '0')).join('');
}
