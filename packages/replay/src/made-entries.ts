/**
 * A made-up chart as the record would hold it: the same way that a ward log goes when it is taken in.
 *
 * Source    S-wardlog-1
 */
import { orThrow } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { entriesOfWardLog, readWardLine, type WardLine } from '@ebbline/interop/wardlog';
import type { SimulatedLine } from '@ebbline/simulate';

const read = new WeakMap<SimulatedLine, WardLine>();

/** A line of the made-up chart as the reader of ward logs sees it. */
export function wardLineOf(line: SimulatedLine): WardLine {
  const before = read.get(line);
  if (before !== undefined) return before;
  const now = orThrow(readWardLine(JSON.stringify(line), 1));
  read.set(line, now);
  return now;
}

/** Made-up wards keep this clock. */
export const madeZone = 'UTC';

/** In the order of the lines. */
export function entriesOfMadeLines(known: readonly SimulatedLine[]): readonly Entry[] {
  const lines = known.map((line, index) => ({ ...wardLineOf(line), line: index + 1 }));
  return entriesOfWardLog({ lines, broken: [] }, { organisation: 'made', ward: 'made', zone: madeZone })
    .entries;
}
