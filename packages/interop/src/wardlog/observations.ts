/**
 * What a ward log says of one patient to the filling room, as it stood at an instant. The log is taken in as entries
 * and goes the way of every other entry, so that the command line and the bedside can't differ.
 *
 * Units     mL; instants in ms
 * Source    S-wardlog-1; the mapping itself is core/facts
 */
import {
  entriesByPatient,
  estimateInputsOf,
  liveEntries,
  observationsOf,
  priorOf,
  resolveEntries,
} from '@ebbline/core/facts';
import type { FillingObservation, FillingPrior, UnitFactors } from '@ebbline/core/filling';
import { instantMs } from '@ebbline/core/quantity';
import { defaultSettings, type Entry, type UnitSettings } from '@ebbline/core/record';
import { entriesOfWardLog, entryIdOf, prefixed } from './entries.ts';
import type { WardLine, WatchLine } from './line.ts';
import { knownAt, type WardLog } from './read.ts';

/** Stands in for the ward's own name, which a log does not carry. */
const wardName = 'log';
const origin = { organisation: 'log', ward: wardName, zone: 'UTC' };

const taken = new WeakMap<WardLog, ReadonlyMap<string, readonly Entry[]>>();

function entriesOf(log: WardLog, patient: string): readonly Entry[] {
  let groups = taken.get(log);
  if (!groups) {
    groups = entriesByPatient(entriesOfWardLog(log, origin).entries);
    taken.set(log, groups);
  }
  return groups.get(prefixed(wardName, patient)) ?? [];
}

/** A log states its limits; the unit that reads it bounds none of them. */
const unbounded: UnitSettings = { ...defaultSettings, ownLimitLowestMl: 0, ownLimitHighestMl: 5000 };

export interface KnownThen {
  readonly observations: readonly FillingObservation[];
  readonly prior: FillingPrior;
  /** How far the ward's clock was ahead of UTC, as its entries are written. */
  readonly clockAheadMs: number;
}

/**
 * What was recorded of a patient by an instant, in the state that it had then. Lines that were charted at that very
 * instant but later may be left out.
 */
export function knownThen(
  log: WardLog,
  atMs: number,
  patient: string,
  leftOut: readonly WardLine[] = [],
  ownFigures?: UnitFactors,
): KnownThen {
  const out = new Set(leftOut.map((line) => entryIdOf(origin, line.id, line.kind)));
  const known = entriesOf(log, patient).filter(
    (one) => instantMs(one.recordedAt) <= atMs && !out.has(one.id),
  );
  const live = liveEntries(resolveEntries(known), prefixed(wardName, patient), atMs);
  const inputs = estimateInputsOf(live, { settings: { ...unbounded, ownFigures } });
  return {
    observations: observationsOf(live, atMs),
    prior: priorOf(inputs),
    clockAheadMs: inputs.clockAheadMs,
  };
}

/** Where no watch was opened, a limit to work with; nothing that depends on it is then shown. */
export const unusedLimitMl = 500;

/** What was known just before a line was charted: of the lines of that very instant, only those before it. */
export function knownBefore(
  log: WardLog,
  line: WardLine,
  ownFigures?: UnitFactors,
): KnownThen & { readonly lines: readonly WardLine[]; readonly limitMl: number } {
  const { recordedAtMs, patient } = line;
  const notYet = log.lines.filter((one) => one.recordedAtMs === recordedAtMs && one.line >= line.line);
  const out = new Set(notYet.map(({ id }) => id));
  const lines = knownAt(log, recordedAtMs, patient).filter(({ id }) => !out.has(id));
  return {
    ...knownThen(log, recordedAtMs, patient, notYet, ownFigures),
    lines,
    limitMl: watchOf(lines)?.limitMl ?? unusedLimitMl,
  };
}

/** The watch that opened, when it is among the lines. */
export function watchOf(lines: readonly WardLine[]): WatchLine | undefined {
  return lines.findLast((line): line is WatchLine => line.kind === 'watch');
}
