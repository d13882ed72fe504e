/**
 * A unit's own starting figures, fitted to what its finished watches showed: other made-up patients of the same
 * generator, from another seed, so that nothing is learnt from those who are compared.
 *
 * Units     mL; ms
 */
import { fitUnit, type UnitFit } from '@ebbline/core/filling';
import { hourMs, orThrow } from '@ebbline/core/quantity';
import { lessonsOf } from '@ebbline/interop/wardlog';
import { logOfMadeLines } from '@ebbline/replay';
import { placeOf, type PatientGenerator, type Staff } from '@ebbline/simulate';

/** Looks every so many hours, and drains at the limit: an ordinary round. */
const roundsH = 4;
const rounds: Staff = {
  nextLookMs: ({ lastLookMs, opensAtMs }) =>
    lastLookMs === undefined ? opensAtMs : lastLookMs + roundsH * hourMs,
  drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
};

/** Figures fitted to so many finished watches of 24 hours. */
export function fitHistory(
  generate: PatientGenerator,
  history: { readonly seed: number; readonly patients: number; readonly beginsMs: number },
): UnitFit {
  const lessons = Array.from({ length: history.patients }, (_, index) =>
    lessonsOf(
      logOfMadeLines(
        generate({
          seed: history.seed,
          ...placeOf(history.seed, index, history.beginsMs),
          hours: 24,
          staff: rounds,
          looksChartedAtOnce: true,
        }).lines,
      ),
    ),
  ).flat();
  return orThrow(fitUnit(lessons));
}
