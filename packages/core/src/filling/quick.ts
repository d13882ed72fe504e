/**
 * Exponentials read off a table, with straight lines between: for what is asked a hundred thousand times an estimate and
 * only weighs persons against each other.
 *
 * Domain    `exponential` −5.12 to 5.12, held at its ends beyond; the bell and the step all of the line
 * Errors    relative 1e-6 for the exponential, 4e-5 for the bell up to 8 and exact beyond; absolute 2e-5 for the step
 */

const perOne = 400;
const half = 2048;
const exponentials = Float64Array.from({ length: 2 * half + 1 }, (_, place) =>
  Math.exp((place - half) / perOne),
);

export function exponential(power: number): number {
  const place = power * perOne + half;
  if (place <= 0) return exponentials[0] as number;
  if (place >= 2 * half) return exponentials[2 * half] as number;
  const low = place | 0;
  const from = exponentials[low] as number;
  return from + ((exponentials[low + 1] as number) - from) * (place - low);
}

/** The exponential of each of a list, in its place: a call for each would box what it gives back. */
export function exponentialsOf(powers: Float64Array): void {
  for (let one = 0; one < powers.length; one += 1) {
    const place = (powers[one] as number) * perOne + half;
    const low = place <= 0 ? 0 : place >= 2 * half - 1 ? 2 * half - 1 : place | 0;
    const rest = place <= 0 ? 0 : place >= 2 * half ? 1 : place - low;
    const from = exponentials[low] as number;
    powers[one] = from + ((exponentials[low + 1] as number) - from) * rest;
  }
}

const bellPerOne = 512;
const bellEnd = 8;
const perRootOfTwoPi = 1 / Math.sqrt(2 * Math.PI);
const bells = Float64Array.from(
  { length: bellEnd * bellPerOne + 2 },
  (_, place) => Math.exp(-0.5 * (place / bellPerOne) ** 2) * perRootOfTwoPi,
);

/** Density of a normal of this spread, so far from its middle. */
export function bell(away: number, sd: number): number {
  const z = Math.abs(away / sd);
  if (!(z < bellEnd)) return (Math.exp(-0.5 * z * z) * perRootOfTwoPi) / sd;
  const place = z * bellPerOne;
  const low = place | 0;
  const from = bells[low] as number;
  return (from + ((bells[low + 1] as number) - from) * (place - low)) / sd;
}

/** The same for each of a list, in the place of how far away it was. */
export function bellsOf(away: Float64Array, sd: Float64Array): void {
  for (let one = 0; one < away.length; one += 1) away[one] = bell(away[one] as number, sd[one] as number);
}

const risePerOne = 128;
const riseEnd = 16;
const rises = Float64Array.from(
  { length: riseEnd * risePerOne + 2 },
  (_, place) => 1 / (1 + Math.exp(-place / risePerOne)),
);

/** A step from 0 to 1 about 0, as wide as `spread`. */
export function rise(over: number, spread: number): number {
  const x = over / spread;
  const size = Math.abs(x);
  if (!(size < riseEnd)) return 1 / (1 + Math.exp(-x));
  const place = size * risePerOne;
  const low = place | 0;
  const from = rises[low] as number;
  const up = from + ((rises[low + 1] as number) - from) * (place - low);
  return x < 0 ? 1 - up : up;
}

/** The same for each of a list, in its place. */
export function risesOf(over: Float64Array, spread: number): void {
  for (let one = 0; one < over.length; one += 1) over[one] = rise(over[one] as number, spread);
}
