/**
 * A unit's own starting figures, fitted to what its finished watches showed: other made-up patients of the same
 * generator, from another seed, so that nothing is learnt from those who are compared.
 *
 * Units     mL; ms
 */
import { observationsOf, priorOf } from '@ebbline/core/facts';
import { fitUnit, type PriorLesson, type UnitFit } from '@ebbline/core/filling';
import { hourMs, instantMs, orThrow } from '@ebbline/core/quantity';
import { placeOf, type PatientGenerator, type Staff } from '@ebbline/simulate';
import { inputsOfLines } from './next-look.ts';

/** Looks every so many hours, and drains at the limit: an ordinary round. */
const roundsH = 4;
const rounds: Staff = {
  nextLookMs: ({ lastLookMs, opensAtMs }) =>
    lastLookMs === undefined ? opensAtMs : lastLookMs + roundsH * hourMs,
  drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
};

/** What was known just before each whole reading of such a patient, and the reading. */
function lessonsOf(
  generate: PatientGenerator,
  place: {
    readonly seed: number;
    readonly ward: string;
    readonly patient: string;
    readonly opensAtMs: number;
  },
): readonly PriorLesson[] {
  const { lines } = generate({ ...place, hours: 24, staff: rounds, looksChartedAtOnce: true });
  return lines.flatMap((line, index) => {
    if (line.kind !== 'reading' || line.bound !== 'exact') return [];
    const nowMs = instantMs(line.recordedAt);
    const inputs = inputsOfLines(lines.slice(0, index), nowMs);
    return [
      {
        observations: observationsOf(inputs.live, nowMs),
        prior: priorOf(inputs),
        limitMl: inputs.limitMl,
        clockAheadMs: inputs.clockAheadMs,
        seen: {
          kind: 'reading' as const,
          atMs: instantMs(line.at),
          volumeMl: line.volumeMl,
          bound: 'exact' as const,
          doubts: line.doubts,
        },
      },
    ];
  });
}

/** Figures fitted to so many finished watches of 24 hours. */
export function fitHistory(
  generate: PatientGenerator,
  history: { readonly seed: number; readonly patients: number; readonly beginsMs: number },
): UnitFit {
  const lessons = Array.from({ length: history.patients }, (_, index) =>
    lessonsOf(generate, { seed: history.seed, ...placeOf(history.seed, index, history.beginsMs) }),
  ).flat();
  return orThrow(fitUnit(lessons));
}
