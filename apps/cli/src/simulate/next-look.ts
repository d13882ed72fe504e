/**
 * When the product would have the next look taken, from what stands in the chart: the same way that a ward log goes
 * when it is taken in (lines, entries, live entries, the instant at which the tolerance is reached).
 *
 * Units     ms; tolerance as a share
 * Source    S-wardlog-1
 */
import {
  estimateInputsOf,
  liveEntries,
  resolveEntries,
  toleranceReachedMs,
  type EstimateInputs,
} from '@ebbline/core/facts';
import { orThrow } from '@ebbline/core/quantity';
import { defaultSettings } from '@ebbline/core/record';
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

/** What the record says of one patient from these lines. */
export function inputsOfLines(known: readonly SimulatedLine[], nowMs: number): EstimateInputs {
  const lines = known.map((line, index) => ({ ...wardLineOf(line), line: index + 1 }));
  const { entries } = entriesOfWardLog(
    { lines, broken: [] },
    { organisation: 'made', ward: 'made', zone: 'UTC' },
  );
  const patient = entries[0]?.patient ?? '';
  const live = liveEntries(resolveEntries(entries), patient, nowMs);
  return estimateInputsOf(live, { settings: defaultSettings });
}

/** The first instant at which the chance of being over the limit reaches the tolerance; undefined beyond a day. */
export function toleranceInstantMs(
  inputs: EstimateInputs,
  tolerance: number,
  nowMs: number,
): number | undefined {
  return toleranceReachedMs(inputs, tolerance, nowMs);
}
