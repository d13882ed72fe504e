/**
 * Chance that is fixed in space: every cell of the body has always the same number, however often and from wherever it is
 * looked at.
 */
import { seededRandom } from '@ebbline/core/quantity';

const tableBits = 15;
const tableSize = 1 << tableBits;

/** How far to shift a cell's number for a place in the tables of normal numbers. */
export const tableShift = 32 - tableBits;
/** Two tables of normal numbers of variance one half, so that a pair has the power 1. */
export const normalReal = new Float32Array(tableSize);
export const normalImaginary = new Float32Array(tableSize);
{
  const random = seededRandom(0x5eed);
  for (let index = 0; index < tableSize; index += 1) {
    normalReal[index] = random.normal() * Math.SQRT1_2;
    normalImaginary[index] = random.normal() * Math.SQRT1_2;
  }
}

/** A well-mixed 32-bit number of a cell of the body. */
export function cellHash(x: number, y: number, z: number, seed: number): number {
  let mixed = Math.imul(x, 0x27d4eb2f) ^ Math.imul(y, 0x165667b1) ^ Math.imul(z, 0x9e3779b1) ^ seed;
  mixed = Math.imul(mixed ^ (mixed >>> 15), 0x2c1b3c6d);
  mixed = Math.imul(mixed ^ (mixed >>> 12), 0x297a2d39);
  return (mixed ^ (mixed >>> 15)) >>> 0;
}

const smooth = (t: number): number => t * t * (3 - 2 * t);
const cellAt = (i: number, j: number, k: number, seed: number): number =>
  cellHash(i, j, k, seed) / 2_147_483_648 - 1;

/** Smooth noise between −1 and 1 with crests about `sizeMm` from its troughs, a little flatter than wide. */
export function patchNoise(x: number, y: number, z: number, sizeMm: number, seed: number): number {
  // Moved to positive numbers, so that cutting off the fraction rounds down.
  const u = x / sizeMm + 512;
  const v = y / sizeMm + 512;
  const w = (1.35 * z) / sizeMm + 512;
  const i = u | 0;
  const j = v | 0;
  const k = w | 0;
  const a = smooth(u - i);
  const b = smooth(v - j);
  const c = smooth(w - k);
  const pair = (up: number, deep: number): number => {
    const left = cellAt(i, j + up, k + deep, seed);
    return left + a * (cellAt(i + 1, j + up, k + deep, seed) - left);
  };
  const near = pair(0, 0) + b * (pair(1, 0) - pair(0, 0));
  const far = pair(0, 1) + b * (pair(1, 1) - pair(0, 1));
  return near + c * (far - near);
}
