/**
 * Questions about made-up watched patients whose answer is known: what is in at an instant at random, for somebody who
 * knows what stood in the chart by then.
 *
 * Units     mL, ms
 */
import { hourMs, instantMs, minuteMs } from '@ebbline/core/quantity';
import {
  gridMin,
  placeOf,
  streamFor,
  type PatientCourse,
  type PatientGenerator,
  type SimulatedLine,
  type Staff,
} from '../index.ts';

export const wardBeginsMs = Date.UTC(2026, 4, 12, 6);

/** Looks every so many hours, and drains at the limit. */
export const looksEvery = (hours: number): Staff => ({
  nextLookMs: ({ lastLookMs, opensAtMs }) =>
    lastLookMs === undefined ? opensAtMs : lastLookMs + hours * hourMs,
  drains: (reading, watch) => reading.volumeMl >= watch.limitMl,
});

export interface AskedAt {
  readonly course: PatientCourse;
  readonly nowMs: number;
  /** What stood in the chart by then, in charting order. */
  readonly known: readonly SimulatedLine[];
  readonly trueMl: number;
  readonly limitMl: number;
}

export interface Asking {
  readonly generate: PatientGenerator;
  readonly seed: number;
  readonly patients: number;
  readonly hours: number;
  readonly perPatient: number;
  readonly staff: Staff;
  readonly looksChartedAtOnce: boolean;
}

/** No question is asked before a watch has been open so long, min. */
const openAtLeastMin = 30;

/** Each falls between two steps of the grid, so that what happens at a step is either over or has not begun. */
export function* questionsOf(asking: Asking): Generator<AskedAt> {
  for (let index = 0; index < asking.patients; index += 1) {
    const place = placeOf(asking.seed, index, wardBeginsMs);
    const course = asking.generate({
      seed: asking.seed,
      ...place,
      hours: asking.hours,
      staff: asking.staff,
      looksChartedAtOnce: asking.looksChartedAtOnce,
    });
    const { truth } = course;
    const random = streamFor(asking.seed, place.patient, 'asked');
    const first = openAtLeastMin / gridMin;
    for (let asked = 0; asked < asking.perPatient; asked += 1) {
      const step = first + random.below(truth.inflowMl.length - first);
      const nowMs = truth.opensAtMs + (step + 0.5) * gridMin * minuteMs;
      yield {
        course,
        nowMs,
        known: course.lines.filter((line) => instantMs(line.recordedAt) <= nowMs),
        trueMl: (truth.contentMl[step + 1] as number) - 0.5 * (truth.inflowMl[step] as number),
        limitMl: truth.limitMl,
      };
    }
  }
}
