/**
 * What is believed before anything is seen, one set per setting. Data, not code: a unit replaces a set by its own.
 *
 * Units     mL, mL/h, per hour, hours; the unit stands in each name
 * Source    each field's own id in `sources`. Published ranges give the order of size; the exact figures inside
 *           them are ours (S-made-filling-settings) and were looked at against simulated wards, never against patients.
 */
export interface FillingPrior {
  readonly setting: string;
  /** Content at the start of the watch. */
  readonly startMeanMl: number;
  readonly startSdMl: number;
  /** Inflow at the start, and the level it is drawn to over the hours. */
  readonly rateMeanMlPerH: number;
  readonly rateLaterMlPerH: number;
  readonly rateSdMlPerH: number;
  /** How fast the inflow forgets what it was, per hour. */
  readonly ratePullPerH: number;
  /** Content noise that the inflow does not explain, mL per square root of an hour. */
  readonly contentSdMlPerRootH: number;
  /** Error of a reading: a fixed part and a share of the volume, added in squares. */
  readonly readingSdMl: number;
  readonly readingShare: number;
  /** Share of readings that are wrong outright, and the error taken for them. */
  readonly grossShare: number;
  readonly grossSdMl: number;
  /** Error of a measured void, as a share, and the least. */
  readonly voidShare: number;
  readonly voidSdMl: number;
  /** Error of a drained volume, and what is left behind afterwards. */
  readonly drainedShare: number;
  readonly drainedSdMl: number;
  readonly leftAfterDrainingMl: number;
  readonly leftAfterDrainingSdMl: number;
  /** What is left after someone passes urine by themselves and empties well. */
  readonly leftAfterVoidMl: number;
  readonly leftAfterVoidSdMl: number;
  /** Share who empty so; the others keep something in this wide range. 0: nothing is assumed after a void. */
  readonly emptiesShare: number;
  readonly poorlyEmptiedMl: number;
  readonly poorlyEmptiedSdMl: number;
  /** The usual spread of content at a random moment, log-normal: median and log standard deviation. */
  readonly usualMedianMl: number;
  readonly usualLogSd: number;
  /** Chance per hour that urine is passed and nobody charts it, when the bladder is at `capacityMl`. */
  readonly unseenVoidPerH: number;
  /** Content at which passing urine is likely; the chance grows with the square of content over this. */
  readonly capacityMl: number;
  /** Share of that capacity at or above which an urge that cannot be answered is felt. */
  readonly urgeShare: number;
  /** Share of catheters found blocked when someone looks. */
  readonly blockedShare: number;
  /** Extra inflow after a loop diuretic: into a vein, by mouth; and for how long. */
  readonly diureticIvMlPerH: number;
  readonly diureticIvH: number;
  readonly diureticOralMlPerH: number;
  readonly diureticOralH: number;
  /** Inflow when dialysis has left little or no urine. */
  readonly littleUrineMlPerH: number;
  readonly littleUrineSdMlPerH: number;
  /** Share of an infusion that comes through as extra inflow while it runs and for an hour after. */
  readonly infusionShare: number;
  readonly sources: Readonly<Record<string, string>>;
}

const sources: Readonly<Record<string, string>> = {
  startMeanMl: 'S-clinical2-R9',
  startSdMl: 'S-clinical2-R9',
  rateMeanMlPerH: 'S-clinical-E10',
  rateLaterMlPerH: 'S-clinical-H1',
  rateSdMlPerH: 'S-clinical2-R1',
  ratePullPerH: 'S-made-filling-settings',
  contentSdMlPerRootH: 'S-made-filling-settings',
  readingSdMl: 'S-made-filling-settings',
  readingShare: 'S-clinical2-R20',
  grossShare: 'S-made-filling-settings',
  grossSdMl: 'S-made-filling-settings',
  voidShare: 'S-clinical2-R16',
  voidSdMl: 'S-made-filling-settings',
  drainedShare: 'S-made-filling-settings',
  drainedSdMl: 'S-made-filling-settings',
  leftAfterDrainingMl: 'S-made-filling-settings',
  leftAfterDrainingSdMl: 'S-made-filling-settings',
  leftAfterVoidMl: 'S-clinical2-R10',
  leftAfterVoidSdMl: 'S-clinical2-R11',
  emptiesShare: 'S-clinical2-R11',
  poorlyEmptiedMl: 'S-made-filling-settings',
  poorlyEmptiedSdMl: 'S-made-filling-settings',
  usualMedianMl: 'S-made-usual-spread',
  usualLogSd: 'S-made-usual-spread',
  unseenVoidPerH: 'S-clinical2-R12',
  capacityMl: 'S-clinical2-R4',
  urgeShare: 'S-made-filling-settings',
  blockedShare: 'S-made-filling-settings',
  diureticIvMlPerH: 'S-clinical-O1',
  diureticIvH: 'S-clinical2-O5',
  diureticOralMlPerH: 'S-made-filling-settings',
  diureticOralH: 'S-clinical2-O5',
  littleUrineMlPerH: 'S-clinical-H4',
  littleUrineSdMlPerH: 'S-clinical-H3',
  infusionShare: 'S-made-filling-settings',
};

const resting: FillingPrior = {
  setting: 'resting',
  startMeanMl: 180,
  startSdMl: 140,
  rateMeanMlPerH: 70,
  rateLaterMlPerH: 70,
  rateSdMlPerH: 35,
  ratePullPerH: 0.5,
  contentSdMlPerRootH: 65,
  readingSdMl: 20,
  readingShare: 0.14,
  grossShare: 0.04,
  grossSdMl: 200,
  voidShare: 0.107,
  voidSdMl: 12,
  drainedShare: 0.04,
  drainedSdMl: 15,
  leftAfterDrainingMl: 15,
  leftAfterDrainingSdMl: 15,
  leftAfterVoidMl: 25,
  leftAfterVoidSdMl: 45,
  emptiesShare: 0.8,
  poorlyEmptiedMl: 200,
  poorlyEmptiedSdMl: 180,
  usualMedianMl: 170,
  usualLogSd: 0.8,
  unseenVoidPerH: 0.5,
  capacityMl: 400,
  urgeShare: 0.6,
  blockedShare: 0.05,
  diureticIvMlPerH: 230,
  diureticIvH: 2,
  diureticOralMlPerH: 100,
  diureticOralH: 5,
  littleUrineMlPerH: 5,
  littleUrineSdMlPerH: 8,
  infusionShare: 0,
  sources: {
    ...sources,
    startMeanMl: 'S-made-filling-settings',
    startSdMl: 'S-made-filling-settings',
    rateMeanMlPerH: 'S-clinical-H1',
    rateSdMlPerH: 'S-clinical2-R2',
  },
};

/** Starting sets by setting. An example for a unit to replace, not approved by anyone. */
export const startingPriors: Readonly<Record<string, FillingPrior>> = {
  resting,
  'after-surgery': {
    ...resting,
    setting: 'after-surgery',
    startMeanMl: 300,
    startSdMl: 180,
    rateMeanMlPerH: 150,
    rateLaterMlPerH: 80,
    rateSdMlPerH: 40,
    ratePullPerH: 0.3,
    contentSdMlPerRootH: 50,
    sources,
  },
  'catheter-removed': { ...resting, setting: 'catheter-removed', startMeanMl: 60, startSdMl: 80 },
  'after-birth': {
    ...resting,
    setting: 'after-birth',
    rateMeanMlPerH: 90,
    rateLaterMlPerH: 80,
    rateSdMlPerH: 45,
  },
  stroke: { ...resting, setting: 'stroke' },
  'spinal-cord': { ...resting, setting: 'spinal-cord', unseenVoidPerH: 0.2, usualMedianMl: 220 },
};

/** The starting set of a setting; one that is not known gets the resting set. Weight scales resting inflow (1 mL/kg/h, S-clinical-H1). */
export function priorFor(
  setting: string,
  patient: { readonly weightKg?: number; readonly capacityMl?: number } = {},
): FillingPrior {
  const base = Object.hasOwn(startingPriors, setting) ? (startingPriors[setting] as FillingPrior) : resting;
  const scale =
    patient.weightKg !== undefined && patient.weightKg > 0 && base.setting !== 'after-surgery'
      ? patient.weightKg / 70
      : 1;
  return {
    ...base,
    rateMeanMlPerH: base.rateMeanMlPerH * scale,
    rateLaterMlPerH: base.rateLaterMlPerH * scale,
    rateSdMlPerH: base.rateSdMlPerH * scale,
    ...(patient.capacityMl !== undefined && patient.capacityMl > 0 ? { capacityMl: patient.capacityMl } : {}),
  };
}
