/**
 * What a generator of watched patients takes and gives: who decides to look, what was written down, and the truth.
 *
 * Units     mL, minutes, ms since the epoch
 */
import type { LineFields, ReadingFields, SimulatedLine, SimulatedSetting } from './lines.ts';

/** The truth is kept on a grid of this many minutes. */
export const gridMin = 5;

export interface StaffView {
  readonly nowMs: number;
  readonly opensAtMs: number;
  /** What stands in the chart by now, in the order in which it was written. */
  readonly known: readonly SimulatedLine[];
  /** When the last look was, whether or not it is charted yet. */
  readonly lastLookMs: number | undefined;
}

/** How a ward behaves: passed in, so that ways of deciding can be compared on the same patients. */
export interface Staff {
  /** When to look next. Asked at the start, after each look, and whenever something new stands in the chart. */
  nextLookMs(view: StaffView): number;
  /** Whether to drain after what the look showed; the chart holds that look when it is charted at once. */
  drains(reading: ReadingFields, watch: Extract<LineFields, { kind: 'watch' }>, view: StaffView): boolean;
}

export interface TrueOutflow {
  readonly atMs: number;
  readonly kind: 'void' | 'leak' | 'drained';
  readonly volumeMl: number;
  readonly leftMl: number;
  readonly charting: 'measured' | 'mixed' | 'unmeasured' | 'uncharted';
}

export interface TrueReading {
  readonly atMs: number;
  readonly trueMl: number;
  readonly shownMl: number;
  readonly bound: 'exact' | 'at-least';
  /** What went badly wrong, when something did. */
  readonly gross?: 'clipped' | 'other-fluid' | 'wrong-aim';
  readonly operator: string;
  readonly device: string;
}

export type Emptying = 'good' | 'poor' | 'retention' | 'late-recovery';

export interface PatientTruth {
  readonly patient: string;
  readonly setting: SimulatedSetting;
  readonly opensAtMs: number;
  /** Content at `opensAtMs` + k grid steps; one more than there are steps. */
  readonly contentMl: readonly number[];
  /** What the kidneys gave during each step, mL. */
  readonly inflowMl: readonly number[];
  readonly outflows: readonly TrueOutflow[];
  readonly readings: readonly TrueReading[];
  readonly limitMl: number;
  readonly capacityMl: number;
  readonly sensation: 'ordinary' | 'blunted' | 'none';
  readonly emptying: Emptying;
}

export interface PatientCourse {
  /** In charting order. */
  readonly lines: readonly SimulatedLine[];
  readonly truth: PatientTruth;
}

export interface PatientRequest {
  readonly seed: number;
  /** Patients of one ward share its scanners, operators and habits. */
  readonly ward: string;
  readonly patient: string;
  readonly opensAtMs: number;
  readonly hours: number;
  readonly staff: Staff;
  /** Looks stand in the chart at once, as when the reading is entered at the bedside; else as late as everything. */
  readonly looksChartedAtOnce?: boolean;
}

export type PatientGenerator = (request: PatientRequest) => PatientCourse;
