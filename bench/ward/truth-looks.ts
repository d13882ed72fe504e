/**
 * Looks by somebody who knows the first generator by heart: its true model, asked as ours is, when so many in a hundred
 * are over the limit as long as nothing more is charted.
 */
import { measuresOf } from '@ebbline/simulate';
import type { PatientResult } from '../../apps/cli/src/simulate/measure.ts';
import { staffOf, type Strategy } from '../../apps/cli/src/simulate/strategies.ts';
import { hourMs, instantMs, minuteMs } from '../../packages/core/src/quantity/index.ts';
import { gridMin, placeOf, watchedPatient, type StaffView } from '../../packages/simulate/src/index.ts';
import { wardBeginsMs } from '../../packages/simulate/src/ward/testing/questions.ts';
import { followTruth } from '../../packages/simulate/src/ward/true-model/filter.ts';
import { forecastTruth } from '../../packages/simulate/src/ward/true-model/forecast.ts';

const particles = 600;
/** The bounds of every compared way. S-made-look-bounds */
const shortestGapMs = 30 * minuteMs;
const longestGapMs = 8 * hourMs;
const stepMs = gridMin * minuteMs;

function lookAtMs(view: StaffView, lastLookMs: number, share: number): number {
  const { chance, fromStep } = forecastTruth(
    followTruth({
      lines: view.known,
      opensAtMs: view.opensAtMs,
      nowMs: view.nowMs + stepMs / 2,
      lookAtMs: view.known.filter((one) => one.kind === 'reading').map((one) => instantMs(one.at)),
      particles,
      seed: view.known.length,
    }),
    longestGapMs / stepMs + 1,
  );
  const endMs = lastLookMs + longestGapMs;
  for (let atMs = Math.max(view.nowMs, lastLookMs + shortestGapMs); atMs < endMs; atMs += 3 * stepMs) {
    const step = Math.max(0, Math.round((atMs - view.opensAtMs) / stepMs) - fromStep);
    if ((chance[step] ?? 0) >= share) return atMs;
  }
  return endMs;
}

export const truthStrategies: readonly Strategy[] = [3, 8, 20, 40].map((percent) => ({
  name: `by-heart-${percent}`,
  family: 'by heart',
  says: `the true model, when ${percent} in 100 are over the limit`,
  tolerancePercent: percent,
  nextLookMs: (view, lastLookMs) => lookAtMs(view, lastLookMs, percent / 100),
}));

export const truthResults = (
  job: { readonly seed: number; readonly hours: number },
  patients: number,
): readonly PatientResult[] =>
  Array.from({ length: patients }, (_, index) => {
    const place = placeOf(job.seed, index, wardBeginsMs);
    return {
      index,
      patient: place.patient,
      measures: truthStrategies.map((strategy) =>
        measuresOf(
          watchedPatient({
            seed: job.seed,
            ...place,
            hours: job.hours,
            staff: staffOf(strategy),
            looksChartedAtOnce: true,
          }).truth,
        ),
      ),
    };
  });
