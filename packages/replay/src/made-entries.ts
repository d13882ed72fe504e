/**
 * A made-up chart as the record would hold it: the same way that a ward log goes when it is taken in.
 *
 * Source    S-wardlog-1
 */
import { orThrow } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { entriesOfWardLog, readWardLine, type WardLine, type WardLog } from '@ebbline/interop/wardlog';
import type { SimulatedLine } from '@ebbline/simulate';

const read = new WeakMap<SimulatedLine, WardLine>();

/** A line of the made-up chart as the reader of ward logs sees it. */
function wardLineOf(line: SimulatedLine): WardLine {
  const before = read.get(line);
  if (before !== undefined) return before;
  const now = orThrow(readWardLine(JSON.stringify(line), 1));
  read.set(line, now);
  return now;
}

/** Made-up wards keep this clock. */
export const madeZone = 'UTC';

/** A made-up chart as the ward log that it would be read as. */
export const logOfMadeLines = (known: readonly SimulatedLine[]): WardLog => ({
  lines: known.map((line, index) => ({ ...wardLineOf(line), line: index + 1 })),
  broken: [],
});

/** In the order of the lines. */
export function entriesOfMadeLines(known: readonly SimulatedLine[]): readonly Entry[] {
  return entriesOfWardLog(logOfMadeLines(known), { organisation: 'made', ward: 'made', zone: madeZone })
    .entries;
}
