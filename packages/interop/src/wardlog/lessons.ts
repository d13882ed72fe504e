/**
 * What a ward log teaches of its own unit: each whole reading, and what stood in the chart just before it.
 *
 * Units     mL, ms
 * Not for   lines that were replaced: what was charted first may be the slip
 */
import type { PriorLesson } from '@ebbline/core/filling';
import { knownThen, watchOf } from './observations.ts';
import { knownAt, type WardLog } from './read.ts';

const unusedLimitMl = 500;

export function lessonsOf(log: WardLog): readonly PriorLesson[] {
  const replaced = new Set(log.lines.flatMap(({ replaces }) => (replaces === undefined ? [] : [replaces])));
  return log.lines.flatMap((line) => {
    if (line.kind !== 'reading' || line.bound !== 'exact' || replaced.has(line.id)) return [];
    // Of what was charted at that very instant, only the lines before it were known.
    const notYet = log.lines.filter((one) => one.recordedAtMs === line.recordedAtMs && one.line >= line.line);
    const { observations, prior, clockAheadMs } = knownThen(log, line.recordedAtMs, line.patient, notYet);
    const watch = watchOf(knownAt(log, line.recordedAtMs, line.patient));
    return [
      {
        observations,
        prior,
        limitMl: watch?.limitMl ?? unusedLimitMl,
        clockAheadMs,
        seen: {
          kind: 'reading' as const,
          atMs: line.atMs,
          volumeMl: line.volumeMl,
          bound: 'exact' as const,
          doubts: line.doubts,
        },
      },
    ];
  });
}
