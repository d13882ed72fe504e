/**
 * How likely the first generator's scanner is to show so much of a known content, and its jug of a known void: the
 * densities behind `takeLook` and `chartVoid`.
 *
 * Units     mL in; out a density in 1/mL, or a probability for a bound and for nothing shown
 * Source    S-job-4.2 by way of looking.ts, reading-error.ts and charting.ts, whose figures these are
 */
import type { ReadingFields, VoidFields } from '../lines.ts';

const root = Math.sqrt(2 * Math.PI);
const bell = (away: number, sd: number): number => Math.exp(-0.5 * (away / sd) ** 2) / (sd * root);
/** A normal's share below, by the logistic curve nearest to it: within 0.01. */
const shareBelow = (z: number): number => 1 / (1 + Math.exp(-1.702 * z));

const clippedShare = 0.03;
const otherFluidShare = 0.021;
const wrongAimShare = 0.009;
const rightShare = 1 - clippedShare - otherFluidShare - wrongAimShare;
const lowEdgeShare = 0.03;
const rangeEndsMl = 999;

export function readingLikelihood(reading: ReadingFields, contentMl: number, bias: number): number {
  const shownMl = reading.volumeMl;
  const middleMl = contentMl * (1 + bias);
  const sd = 0.08 * contentMl + 15;
  const clipped = (): number => {
    // The middle times a share between 0.3 and 0.8, its edges blurred by the error of the moment.
    const width = Math.max(1, 0.5 * middleMl);
    return (
      (shareBelow((shownMl - 0.3 * middleMl) / (0.3 * sd)) -
        shareBelow((shownMl - 0.8 * middleMl) / (0.8 * sd))) /
      width
    );
  };
  const otherFluid = (): number =>
    (shareBelow((shownMl - middleMl - 150) / sd) - shareBelow((shownMl - middleMl - 600) / sd)) / 450;
  if (reading.bound === 'at-least') {
    if (reading.doubts.includes('cut-below'))
      return (
        clippedShare * 0.5 * clipped() +
        (rightShare * lowEdgeShare * bell(shownMl / 0.85 - middleMl, sd)) / 0.85
      );
    return (
      rightShare * shareBelow((middleMl - rangeEndsMl) / sd) +
      otherFluidShare * shareBelow((middleMl - 620) / 150)
    );
  }
  if (reading.doubts.includes('second-fluid')) return otherFluidShare * 0.3 * otherFluid();
  if (reading.doubts.includes('unsure-aim')) return wrongAimShare * 0.3;
  if (shownMl === 0)
    return (
      wrongAimShare * 0.7 +
      rightShare *
        (1 - lowEdgeShare) *
        (contentMl < 25 ? 0.5 + 0.5 * shareBelow(-middleMl / sd) : shareBelow(-middleMl / sd))
    );
  return (
    rightShare * (1 - lowEdgeShare) * (contentMl < 25 ? 0.5 : 1) * bell(shownMl - middleMl, sd) +
    clippedShare * 0.5 * clipped() +
    otherFluidShare * 0.7 * otherFluid()
  );
}

const sizeOf = (passedMl: number): 'small' | 'medium' | 'large' =>
  passedMl < 150 ? 'small' : passedMl < 350 ? 'medium' : 'large';

/** How likely a void of so much is written down like this, given that it is. */
export function voidLikelihood(fields: VoidFields, passedMl: number, goesAlone: boolean): number {
  if (!fields.measured) {
    const place = goesAlone
      ? ({ toilet: 0.85, shower: 0.15 }[fields.class as string] ?? 0)
      : ({ toilet: 0.7, bed: 0.3 }[fields.class as string] ?? 0);
    return place * (fields.size === undefined ? 0.4 : fields.size === sizeOf(passedMl) ? 0.6 : 0);
  }
  const shownMl = fields.volumeMl ?? 0;
  // Rounding to tens adds a little to the error of the jug.
  if (fields.class === 'jug') return 0.95 * bell(shownMl - passedMl, Math.hypot(0.05 * passedMl, 2));
  const sd = 0.05 * passedMl * 1.4 + 1;
  return (
    (0.05 * (shareBelow((shownMl - 1.2 * passedMl) / sd) - shareBelow((shownMl - 1.6 * passedMl) / sd))) /
    Math.max(1, 0.4 * passedMl)
  );
}

/** How likely a drained volume of so much is shown: the bag is read to 2 %, in whole millilitres. */
export const drainedLikelihood = (shownMl: number, cameMl: number): number =>
  bell(shownMl - cameMl, Math.hypot(0.02 * cameMl, 1));

/** A weighed pad beside what leaked, roughly. */
export const padLikelihood = (fields: VoidFields, leakedMl: number): number =>
  1e-4 +
  (fields.padG === undefined
    ? fields.size === sizeOf(leakedMl)
      ? 1
      : 0
    : Math.exp(-0.5 * ((fields.padG - leakedMl) / 30) ** 2));
