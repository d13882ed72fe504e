/**
 * What the filling room is told: things that happened to one bladder, in milliliters and milliseconds.
 * It knows nothing of entries, charts or people; `facts` turns a record into these.
 *
 * Units     instants in ms since the epoch, volumes in mL, durations in minutes
 * Domain    volumes 0 to 5000 mL; see `checkObservations`
 */
import { refuse, type Refusal } from '../quantity/index.ts';

/** A bladder ultrasound reading. */
export interface ReadingObservation {
  readonly kind: 'reading';
  readonly atMs: number;
  readonly volumeMl: number;
  /** `at-least`: the truth is this or more. */
  readonly bound: 'exact' | 'at-least';
  /** Words for what spoils it; known ones widen its error. */
  readonly doubts: readonly string[];
  /** Its own error, when the measurement gave one. */
  readonly standardDeviationMl?: number;
}

/** Urine passed and measured. */
export interface MeasuredVoidObservation {
  readonly kind: 'void';
  readonly atMs: number;
  readonly measured: true;
  readonly volumeMl: number;
  /** Error as a share of the volume. */
  readonly relativeSd?: number;
}

/** Urine passed, not measured: between two bounds. */
export interface UnmeasuredVoidObservation {
  readonly kind: 'void';
  readonly atMs: number;
  readonly measured: false;
  readonly lowMl: number;
  readonly highMl: number;
  /** It ran out into a pad, at once or little by little; nobody set out to pass it. */
  readonly intoPad?: boolean;
}

/** Emptied through a catheter: says what was in just before, and that little is left. */
export interface DrainedObservation {
  readonly kind: 'drained';
  readonly atMs: number;
  readonly volumeMl?: number;
  readonly thenIn: 'out' | 'left-in';
}

/** An indwelling catheter's state from here on. */
export interface CatheterObservation {
  readonly kind: 'catheter';
  readonly atMs: number;
  readonly state: 'in' | 'out' | 'blocked' | 'flushed';
}

/** What a bag gathered between two instants. */
export interface BagObservation {
  readonly kind: 'bag';
  readonly fromMs: number;
  readonly atMs: number;
  readonly volumeMl: number;
}

/** Fluid given, oral or into a vein. */
export interface IntakeObservation {
  readonly kind: 'intake';
  readonly atMs: number;
  readonly volumeMl: number;
  readonly overMin: number;
  readonly route: 'oral' | 'iv';
}

/** Something known to move filling or the ability to pass urine. */
export interface CovariateObservation {
  readonly kind: 'covariate';
  readonly atMs: number;
  readonly name:
    | 'loop-diuretic'
    | 'little-or-no-urine'
    | 'regional-block'
    | 'opioid'
    | 'cannot-pass'
    /** The watch opens: inflow is taken as the setting's, whatever was told of before. */
    | 'watch-opens'
    | 'irrigation'
    | 'neobladder'
    | 'urostomy';
  readonly state: string;
}

export type FillingObservation =
  | ReadingObservation
  | MeasuredVoidObservation
  | UnmeasuredVoidObservation
  | DrainedObservation
  | CatheterObservation
  | BagObservation
  | IntakeObservation
  | CovariateObservation;

/** Largest volume taken as a bladder's: a keying slip above it is refused, not filtered. S-made-volume-ceiling */
export const largestVolumeMl = 5000;

const badNumber = (value: number, unit: string, where: string): Refusal =>
  refuse('filling/not-a-volume', {
    asked: 'Estimate',
    found: `${String(value)} ${unit}`,
    allowed: `0 to ${largestVolumeMl} mL`,
    todo: 'Correct this entry, then ask again.',
    where,
  });

const volumeOf = (observation: FillingObservation): readonly number[] => {
  switch (observation.kind) {
    case 'void':
      return observation.measured ? [observation.volumeMl] : [observation.lowMl, observation.highMl];
    case 'drained':
      return observation.volumeMl === undefined ? [] : [observation.volumeMl];
    case 'reading':
    case 'bag':
      return [observation.volumeMl];
    default:
      return [];
  }
};

/** The observations in order of time, or the first reason why they cannot be used. */
export function checkObservations(
  observations: readonly FillingObservation[],
): readonly FillingObservation[] | Refusal {
  for (const [index, observation] of observations.entries()) {
    const where = `observation ${index + 1}, ${observation.kind}`;
    if (!Number.isFinite(observation.atMs)) {
      return refuse('filling/no-time', {
        asked: 'Estimate',
        found: 'an entry without a time',
        allowed: 'a time for every entry',
        todo: 'Give the time, then ask again.',
        where,
      });
    }
    for (const volumeMl of volumeOf(observation)) {
      if (!Number.isFinite(volumeMl) || volumeMl < 0 || volumeMl > largestVolumeMl)
        return badNumber(volumeMl, 'mL', where);
    }
    if (observation.kind === 'void' && !observation.measured && observation.highMl < observation.lowMl) {
      return badNumber(observation.highMl, 'mL as the most, below the least', where);
    }
    const spread =
      observation.kind === 'reading'
        ? observation.standardDeviationMl
        : observation.kind === 'void' && observation.measured
          ? observation.relativeSd
          : undefined;
    if (spread !== undefined && !(spread > 0 && Number.isFinite(spread)))
      return badNumber(spread, 'as a standard deviation', where);
  }
  return [...observations].sort(inOrder);
}

/** Rank at one instant: what says what is in comes before what takes it out, so that same-time entries have one order. */
const rank: Readonly<Record<FillingObservation['kind'], number>> = {
  covariate: 0,
  intake: 1,
  reading: 2,
  bag: 3,
  void: 4,
  drained: 5,
  catheter: 6,
};

const inOrder = (a: FillingObservation, b: FillingObservation): number =>
  a.atMs - b.atMs || rank[a.kind] - rank[b.kind] || (volumeOf(a)[0] ?? 0) - (volumeOf(b)[0] ?? 0);
