// For tests: compares with a stated tolerance and prints input, got, expected, difference and tolerance on a miss.
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { expect } from 'vitest';
import type { Tables } from './tables.d.ts';

/** A table of conformance/data/statistics. */
export function referenceTable<Name extends keyof Tables>(name: Name): Tables[Name] {
  const file = new URL(`../../../../../conformance/data/statistics/${name}.json`, import.meta.url);
  return JSON.parse(readFileSync(file, 'utf8')) as Tables[Name];
}

export function expectWithin(
  got: number | undefined,
  expected: number,
  relative: number,
  what: string,
): void {
  const difference = Math.abs((got ?? Number.NaN) - expected);
  const allowed = relative * Math.max(Math.abs(expected), 1e-6);
  expect(
    difference <= allowed,
    `${what}: got ${String(got)}, expected ${expected}, Δ ${difference}, tolerance ${allowed}`,
  ).toBe(true);
}

/** Rows of a data file in the samples folder, quotes removed; undefined when the folder is not named. */
export async function sampleRows(name: string): Promise<readonly (readonly string[])[] | undefined> {
  const folder = process.env['EBBLINE_SAMPLES'];
  if (!folder) return undefined;
  const text = readFileSync(`${folder}/statistics/${name}`, 'utf8');
  return text
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => line.split(',').map((cell) => cell.replaceAll('"', '')));
}

/** A number evenly between two others. (Doubles as such come mostly next to zero, where nothing is tested.) */
export const evenly = (low: number, high: number): fc.Arbitrary<number> =>
  fc.integer({ min: 0, max: 1_000_000 }).map((part) => low + ((high - low) * part) / 1_000_000);
