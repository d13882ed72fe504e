/**
 * A ward of made-up watched patients by either generator: one log in charting order, and the truth of each patient.
 *
 * Units     hours, ms
 * Domain    1 to 999 patients; hours a whole number of grid steps
 * Source    S-job-4.3 (24 to 32 beds in a ward)
 */
import { instantMs, minuteMs } from '@ebbline/core/quantity';
import {
  gridMin,
  type PatientGenerator,
  type PatientRequest,
  type PatientTruth,
  type Staff,
} from './course.ts';
import type { SimulatedLine } from './lines.ts';
import { streamFor } from './streams.ts';

/** Beds in a made-up ward. S-job-4.3 */
export const bedsInWard = 24;

/** Watches open over this many hours, so that nights fall at different times of a watch. S-made-ward-mix */
const openingSpreadH = 12;

export interface WardRequest {
  readonly seed: number;
  readonly ward: string;
  readonly patients: number;
  readonly hours: number;
  readonly beginsMs: number;
  readonly staff: () => Staff;
  readonly looksChartedAtOnce?: boolean;
}

export interface SimulatedWard {
  readonly ward: string;
  readonly lines: readonly SimulatedLine[];
  readonly patients: readonly PatientTruth[];
}

/** The n-th patient of a run of wards, counted from 0: which ward, which name, when the watch opens. */
export function placeOf(
  seed: number,
  index: number,
  beginsMs: number,
): Pick<PatientRequest, 'ward' | 'patient' | 'opensAtMs'> {
  const ward = `w${Math.floor(index / bedsInWard) + 1}`;
  const patient = `${ward}-P${String((index % bedsInWard) + 1).padStart(2, '0')}`;
  const steps = (openingSpreadH * 60) / gridMin;
  return {
    ward,
    patient,
    opensAtMs: beginsMs + streamFor(seed, patient, 'opening').below(steps) * gridMin * minuteMs,
  };
}

export function simulateWard(generate: PatientGenerator, request: WardRequest): SimulatedWard {
  const courses = Array.from({ length: request.patients }, (_, index) => {
    const patient = `${request.ward}-P${String(index + 1).padStart(2, '0')}`;
    return generate({
      seed: request.seed,
      ward: request.ward,
      patient,
      opensAtMs: placeOf(request.seed, index, request.beginsMs).opensAtMs,
      hours: request.hours,
      staff: request.staff(),
      ...(request.looksChartedAtOnce === undefined ? {} : { looksChartedAtOnce: request.looksChartedAtOnce }),
    });
  });
  const lines = courses
    .flatMap((course) => course.lines)
    .sort((a, b) => instantMs(a.recordedAt) - instantMs(b.recordedAt))
    .map((line, index) => ({ ...line, id: `${request.ward}-e${String(index + 1).padStart(5, '0')}` }));
  return { ward: request.ward, lines, patients: courses.map((course) => course.truth) };
}
