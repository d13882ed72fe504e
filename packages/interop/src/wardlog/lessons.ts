/**
 * What a ward log teaches of its own unit: each whole reading, and what stood in the chart just before it.
 *
 * Units     mL, ms
 * Not for   lines that were replaced: what was charted first may be the slip
 */
import type { PriorLesson } from '@ebbline/core/filling';
import { knownBefore } from './observations.ts';
import type { WardLog } from './read.ts';

export function lessonsOf(log: WardLog): readonly PriorLesson[] {
  const replaced = new Set(log.lines.flatMap(({ replaces }) => (replaces === undefined ? [] : [replaces])));
  return log.lines.flatMap((line) => {
    if (line.kind !== 'reading' || line.bound !== 'exact' || replaced.has(line.id)) return [];
    const { observations, prior, clockAheadMs, limitMl } = knownBefore(log, line);
    return [
      {
        observations,
        prior,
        limitMl,
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
