/**
 * What is believed of a patient before anything is seen, one set per setting. Data, not code: a unit replaces a set by
 * its own.
 *
 * Units     mL, mL/h, per hour, hours, minutes; the unit stands in each name. Shares are 0 to 1
 * Source    each field's own id in `sources`. Published ranges give the order of size; the exact figures inside
 *           them are ours (S-made-person-settings) and were chosen on simulated wards, never on patients.
 */
export interface FillingPrior {
  readonly setting: string;
  /** The largest amount this person holds, when it is known. */
  readonly ownCapacityMl?: number;

  /** Content when nothing is known yet, log-normal. */
  readonly startMedianMl: number;
  readonly startLogSd: number;
  /** Share of persons who come with anything up to one and a half times what they hold. */
  readonly startFullShare: number;
  /** Holding room of persons, and how far a known one may be off, as a log. */
  readonly capacityMeanMl: number;
  readonly capacitySdMl: number;
  readonly ownCapacityLogSd: number;

  /** Usual inflow, the part above it when the watch opens, and how soon that fades. */
  readonly inflowMlPerH: number;
  readonly earlyExtraMlPerH: number;
  readonly earlyExtraFadesH: number;
  readonly nightInflowShare: number;
  /** How far persons differ, and one person from hour to hour, as logs; how soon the hour is forgotten. */
  readonly personLogSd: number;
  readonly inflowLogSd: number;
  readonly inflowForgetsH: number;
  /** Share of an infusion, and of a drink, that comes through; a drink most after so long. */
  readonly infusionShare: number;
  readonly drinkShare: number;
  readonly drinkPeakH: number;
  /** Extra inflow after a loop diuretic: into a vein, by mouth; and until when. */
  readonly diureticIvMlPerH: number;
  readonly diureticIvH: number;
  readonly diureticOralMlPerH: number;
  readonly diureticOralH: number;
  /** Inflow when dialysis has left little or no urine: less than the 400 mL a day of S-clinical-H3. */
  readonly littleUrineMlPerH: number;
  /** After so much was drained at once, this share run off what was held: so many times the usual, fading. */
  readonly reliefFromMl: number;
  readonly reliefShare: number;
  readonly reliefFactor: number;
  readonly reliefFadesH: number;

  /** Shares who empty in part, hardly, and hardly yet; the last begin to empty after so long on average. */
  readonly poorlyEmptiesShare: number;
  readonly hardlyEmptiesShare: number;
  readonly notYetEmptiesShare: number;
  readonly emptiesAgainH: number;
  /** Voids an hour with little in, how many more with much, and at what share of capacity the urge comes. */
  readonly voidsLowPerH: number;
  readonly voidsHighPerH: number;
  readonly urgeShare: number;
  readonly urgeSpread: number;
  /** Of those voids: for the setting as a whole, who empties in part, hardly, at night, under a regional block. */
  readonly voidsShare: number;
  readonly poorlyVoidsShare: number;
  readonly hardlyVoidsShare: number;
  readonly nightVoidsShare: number;
  readonly blockVoidsShare: number;
  readonly blockLastsH: number;
  /** Shares of persons who feel the urge only at one and a half times that share, and never. */
  readonly bluntedShare: number;
  readonly numbShare: number;
  /** Leaks an hour of who can't empty, from two fifths of capacity on. */
  readonly leaksPerH: number;
  /** Share of capacity at which an urge that can't be answered is felt by half. */
  readonly urgeFeltShare: number;

  /** Voids that nobody ever charts; of the others, the share charted soon and late, and how long that takes. */
  readonly voidsNeverChartedShare: number;
  readonly voidsChartedSoonShare: number;
  readonly voidsChartedSoonMin: number;
  readonly voidsChartedLateShare: number;
  readonly voidsChartedLateH: number;
  /** Drains an hour after a look at or over the limit, by routine once so long has passed, and otherwise. */
  readonly limitDrainsPerH: number;
  readonly routineDrainsPerH: number;
  readonly routineDrainAfterH: number;
  readonly otherDrainsPerH: number;
  readonly drainsNeverChartedShare: number;
  readonly drainsChartedMin: number;

  /** Error of a reading: a fixed part and a share of the volume, added in squares. */
  readonly readingSdMl: number;
  readonly readingShare: number;
  /** Shares of readings wrong outright, each as it usually is and where whoever measured doubted just that. */
  readonly cutShare: number;
  readonly cutDoubtedShare: number;
  readonly otherFluidShare: number;
  readonly otherFluidDoubtedShare: number;
  readonly offTargetShare: number;
  readonly offTargetDoubtedShare: number;
  readonly anyhowWrongShare: number;
  /** Share of other fluid where a caution tells of it, and at the next reading once it was read. */
  readonly otherFluidNearShare: number;
  readonly otherFluidAgainShare: number;
  /** Share of looks before which what is believed of the content is wrong as a whole. */
  readonly mistakenShare: number;
  /** Error of a measured void, as a share, and the least. */
  readonly voidShare: number;
  readonly voidSdMl: number;
  /** Error of a drained volume, and what is left behind afterwards. */
  readonly drainedShare: number;
  readonly drainedSdMl: number;
  readonly leftAfterDrainingMl: number;
  readonly leftAfterDrainingSdMl: number;
  /** Share of catheters found blocked when someone looks, and what a bladder beside one may hold. */
  readonly blockedShare: number;
  readonly blockedContentMl: number;
  readonly blockedContentSdMl: number;

  readonly sources: Readonly<Record<string, string>>;
}

const made = 'S-made-person-settings';

const sources: Readonly<Record<string, string>> = {
  startMedianMl: made,
  startLogSd: made,
  startFullShare: 'S-clinical2-R9',
  capacityMeanMl: 'S-clinical2-R4',
  capacitySdMl: 'S-job-4.2',
  ownCapacityLogSd: made,
  inflowMlPerH: 'S-clinical-H1',
  earlyExtraMlPerH: 'S-clinical-E10',
  earlyExtraFadesH: made,
  nightInflowShare: 'S-job-4.2',
  personLogSd: 'S-clinical2-R1',
  inflowLogSd: made,
  inflowForgetsH: made,
  infusionShare: made,
  drinkShare: made,
  drinkPeakH: made,
  diureticIvMlPerH: 'S-job-4.2',
  diureticIvH: 'S-clinical2-O5',
  diureticOralMlPerH: made,
  diureticOralH: 'S-clinical2-O5',
  littleUrineMlPerH: 'S-clinical-H4',
  reliefFromMl: made,
  reliefShare: made,
  reliefFactor: made,
  reliefFadesH: made,
  poorlyEmptiesShare: 'S-clinical2-R11',
  hardlyEmptiesShare: 'S-job-4.2',
  notYetEmptiesShare: made,
  emptiesAgainH: made,
  voidsLowPerH: made,
  voidsHighPerH: made,
  urgeShare: 'S-clinical2-R2',
  urgeSpread: made,
  voidsShare: made,
  poorlyVoidsShare: made,
  hardlyVoidsShare: made,
  nightVoidsShare: made,
  blockVoidsShare: made,
  blockLastsH: made,
  bluntedShare: 'S-job-4.2',
  numbShare: 'S-job-4.2',
  leaksPerH: made,
  urgeFeltShare: made,
  voidsNeverChartedShare: 'S-clinical2-R12',
  voidsChartedSoonShare: 'S-job-4.2',
  voidsChartedSoonMin: 'S-job-4.2',
  voidsChartedLateShare: 'S-job-4.2',
  voidsChartedLateH: 'S-job-4.2',
  limitDrainsPerH: made,
  routineDrainsPerH: made,
  routineDrainAfterH: made,
  otherDrainsPerH: made,
  drainsNeverChartedShare: made,
  drainsChartedMin: made,
  readingSdMl: made,
  readingShare: 'S-clinical2-R20',
  cutShare: 'S-job-4.2',
  cutDoubtedShare: made,
  otherFluidShare: 'S-job-4.2',
  otherFluidDoubtedShare: made,
  offTargetShare: 'S-job-4.2',
  offTargetDoubtedShare: made,
  anyhowWrongShare: made,
  otherFluidNearShare: made,
  otherFluidAgainShare: made,
  mistakenShare: made,
  voidShare: 'S-clinical2-R16',
  voidSdMl: made,
  drainedShare: made,
  drainedSdMl: made,
  leftAfterDrainingMl: made,
  leftAfterDrainingSdMl: made,
  blockedShare: made,
  blockedContentMl: made,
  blockedContentSdMl: made,
};

const resting: FillingPrior = {
  setting: 'resting',
  startMedianMl: 120,
  startLogSd: 0.7,
  startFullShare: 0.15,
  capacityMeanMl: 600,
  capacitySdMl: 200,
  ownCapacityLogSd: 0.15,
  inflowMlPerH: 54,
  earlyExtraMlPerH: 0,
  earlyExtraFadesH: 6,
  nightInflowShare: 0.7,
  personLogSd: 0.25,
  inflowLogSd: 0.42,
  inflowForgetsH: 2,
  infusionShare: 0.05,
  drinkShare: 0.63,
  drinkPeakH: 0.75,
  diureticIvMlPerH: 300,
  diureticIvH: 2.5,
  diureticOralMlPerH: 60,
  diureticOralH: 5,
  littleUrineMlPerH: 5,
  reliefFromMl: 700,
  reliefShare: 0.25,
  reliefFactor: 2.2,
  reliefFadesH: 10,
  poorlyEmptiesShare: 0.2,
  hardlyEmptiesShare: 0.14,
  notYetEmptiesShare: 0.1,
  emptiesAgainH: 6.5,
  voidsLowPerH: 0.1,
  voidsHighPerH: 1.6,
  urgeShare: 0.42,
  urgeSpread: 0.1,
  voidsShare: 1,
  poorlyVoidsShare: 1,
  hardlyVoidsShare: 0.2,
  nightVoidsShare: 0.6,
  blockVoidsShare: 0.15,
  blockLastsH: 4.3,
  bluntedShare: 0.2,
  numbShare: 0.1,
  leaksPerH: 0.22,
  urgeFeltShare: 0.45,
  voidsNeverChartedShare: 0.1,
  voidsChartedSoonShare: 0.38,
  voidsChartedSoonMin: 30,
  voidsChartedLateShare: 0.22,
  voidsChartedLateH: 4,
  limitDrainsPerH: 0.8,
  routineDrainsPerH: 0.01,
  routineDrainAfterH: 2.9,
  otherDrainsPerH: 0.01,
  drainsNeverChartedShare: 0.03,
  drainsChartedMin: 75,
  readingSdMl: 20,
  readingShare: 0.14,
  cutShare: 0.03,
  cutDoubtedShare: 0.6,
  otherFluidShare: 0.02,
  otherFluidDoubtedShare: 0.5,
  offTargetShare: 0.012,
  offTargetDoubtedShare: 0.35,
  anyhowWrongShare: 0.006,
  otherFluidNearShare: 0.4,
  otherFluidAgainShare: 0.5,
  mistakenShare: 0.01,
  voidShare: 0.08,
  voidSdMl: 15,
  drainedShare: 0.06,
  drainedSdMl: 20,
  leftAfterDrainingMl: 12,
  leftAfterDrainingSdMl: 15,
  blockedShare: 0.05,
  blockedContentMl: 200,
  blockedContentSdMl: 180,
  sources,
};

/** Starting sets by setting. An example for a unit to replace, not approved by anyone. */
export const startingPriors: Readonly<Record<string, FillingPrior>> = {
  resting,
  'after-surgery': {
    ...resting,
    setting: 'after-surgery',
    inflowMlPerH: 62,
    earlyExtraMlPerH: 56,
    poorlyEmptiesShare: 0.25,
    hardlyEmptiesShare: 0.18,
    notYetEmptiesShare: 0.17,
  },
  'catheter-removed': {
    ...resting,
    setting: 'catheter-removed',
    inflowMlPerH: 60,
    poorlyEmptiesShare: 0.14,
    hardlyEmptiesShare: 0.36,
    notYetEmptiesShare: 0.34,
  },
  'after-birth': {
    ...resting,
    setting: 'after-birth',
    inflowMlPerH: 48,
    poorlyEmptiesShare: 0.14,
    hardlyEmptiesShare: 0.05,
    notYetEmptiesShare: 0.07,
  },
  stroke: {
    ...resting,
    setting: 'stroke',
    inflowMlPerH: 60,
    poorlyEmptiesShare: 0.36,
    hardlyEmptiesShare: 0.12,
    notYetEmptiesShare: 0.08,
  },
  'spinal-cord': {
    ...resting,
    setting: 'spinal-cord',
    inflowMlPerH: 62,
    poorlyEmptiesShare: 0.65,
    hardlyEmptiesShare: 0.28,
    notYetEmptiesShare: 0.02,
    voidsShare: 0.02,
    routineDrainsPerH: 0.18,
    otherDrainsPerH: 0.03,
  },
};

/** Inflow grows with the root of weight about this one: a starting figure, S-made-person-settings. */
const usualWeightKg = 75;

/** The starting set of a setting; one that is not known gets the resting set. */
export function priorFor(
  setting: string,
  patient: {
    readonly weightKg?: number;
    readonly capacityMl?: number;
    /** Fluid that is not urine, or a womb, lies beside the bladder. */
    readonly otherFluidNear?: boolean;
  } = {},
): FillingPrior {
  const base = Object.hasOwn(startingPriors, setting) ? (startingPriors[setting] as FillingPrior) : resting;
  const { weightKg, capacityMl, otherFluidNear = false } = patient;
  return {
    ...base,
    ...(weightKg !== undefined && weightKg > 0
      ? { inflowMlPerH: base.inflowMlPerH * Math.sqrt(weightKg / usualWeightKg) }
      : {}),
    ...(capacityMl !== undefined && capacityMl > 0 ? { ownCapacityMl: capacityMl } : {}),
    ...(otherFluidNear ? { otherFluidShare: base.otherFluidNearShare } : {}),
  };
}
