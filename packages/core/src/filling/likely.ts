/**
 * What a reading, a void or a drained volume says of a content that is known as a normal: how likely it is, and what the
 * normal becomes.
 *
 *     seen exactly, variance R     gain g = s²/(s² + R)     m ← m + g (y − m)     s² ← (1 − g) s²
 *     at least y                   α = (y − m)/S   λ = φ(α)/Φ(−α)   m ← m + s² λ/S   s² ← s² − (s²/S)² λ (λ − α)
 *
 * Units     mL; out: a density in 1/mL or a probability
 * Errors    exact for the normal; a content is then no less than 0
 * Source    Kalman's update S-kalman-joseph, moments of the cut normal S-truncated-normal; how a reading goes wrong
 *           outright (cut below, other fluid read as urine) S-job-4.2; shares S-made-person-settings
 */
import type { ReadingObservation } from './observation.ts';
import type { FillingPrior } from './prior.ts';
import { readingStandardDeviationMl } from './reading-error.ts';
import type { Chance } from './chance.ts';
import { personCount, setContent, type Cloud } from './cloud.ts';
import { bell, bellsOf, rise, risesOf } from './quick.ts';

/** A normal's share below, by the logistic curve nearest to it: within 0.01. */
const logisticWidth = 1 / 1.702;
const shareBelow = (z: number): number => rise(z, logisticWidth);

/** How likely a volume seen with an error is, for one person. */
export function likelihoodOf(cloud: Cloud, person: number, volumeMl: number, variance: number): number {
  const spread = Math.sqrt((cloud.contentVariance[person] as number) + variance);
  return bell(volumeMl - (cloud.contentMl[person] as number), spread);
}

/** What one person holds, once it was seen to be at least so much. */
export function seeAtLeast(cloud: Cloud, person: number, boundMl: number, variance: number): void {
  const contentMl = cloud.contentMl[person] as number;
  const own = cloud.contentVariance[person] as number;
  const spread = Math.sqrt(own + variance);
  const alpha = (boundMl - contentMl) / spread;
  // Far below the bound the hazard of the normal runs along alpha.
  const hazard = alpha > 5 ? alpha + 1 / alpha : bell(alpha, 1) / shareBelow(-alpha);
  const gain = own / spread;
  const shrink = Math.min(1, Math.max(0, hazard * (hazard - alpha)));
  setContent(cloud, person, contentMl + gain * hazard, own - gain * gain * shrink);
}

/** Range of volumes a reading could show at all; spreads what is wrong in no particular way. */
const anyMl = 1500;
// How a reading that is wrong outright shows itself. S-job-4.2
const cutFrom = 0.2;
const cutTo = 0.9;
const otherFluidFromMl = 50;
const otherFluidToMl = 600;
const offTargetToMl = 120;

/** How often a reading is wrong outright, by what was wrong with it. */
export interface WrongShares {
  /** Cut off from below, with nobody having said so. */
  readonly cut: number;
  /** Other fluid read as urine: at first, and where it was before. */
  readonly otherFluid: number;
  readonly otherFluidAgain: number;
  /** Beside the bladder: next to nothing is shown, whatever is in. */
  readonly offTarget: number;
  readonly anyhow: number;
}

/** What whoever measured doubted makes that fault likelier. */
export function wrongShares(prior: FillingPrior, doubts: readonly string[]): WrongShares {
  const when = (doubt: string, usual: number, doubted: number): number =>
    doubts.includes(doubt) ? Math.max(usual, doubted) : usual;
  const otherFluid = when('second-fluid', prior.otherFluidShare, prior.otherFluidDoubtedShare);
  return {
    cut: when('cut-below', prior.cutShare, prior.cutDoubtedShare),
    otherFluid,
    otherFluidAgain: Math.max(otherFluid, prior.otherFluidAgainShare),
    offTarget: when('unsure-aim', prior.offTargetShare, prior.offTargetDoubtedShare),
    anyhow: prior.anyhowWrongShare,
  };
}

/** How likely each kind of wrong reading shows so much, by content. Densities in 1/mL. */
export function cutReading(volumeMl: number, contentMl: number): number {
  const share = volumeMl / Math.max(1, contentMl);
  return share > cutFrom && share < cutTo ? 1 / ((cutTo - cutFrom) * Math.max(60, contentMl)) : 0;
}
export function otherFluidReading(volumeMl: number, contentMl: number): number {
  const over = volumeMl - contentMl;
  return over > otherFluidFromMl && over < otherFluidToMl ? 1 / (otherFluidToMl - otherFluidFromMl) : 0;
}
export const offTargetReading = (volumeMl: number): number =>
  volumeMl <= offTargetToMl ? 1 / offTargetToMl : 0;

// Rooms to work in. Each loop is short and calls nothing that gives back a fraction: such a call would box it.
const right = new Float64Array(personCount);
const other = new Float64Array(personCount);
const wrong = new Float64Array(personCount);
const spreads = new Float64Array(personCount);
const variances = new Float64Array(personCount);
const believes = new Uint8Array(personCount);

/**
 * Takes a reading in: weighs each person by it, and lets each hold it for right, for other fluid, or for wrong outright.
 * `bound` says that the content is at least so much.
 */
export function takeReading(
  cloud: Cloud,
  reading: ReadingObservation,
  bound: boolean,
  prior: FillingPrior,
  chance: Chance,
): void {
  const { volumeMl } = reading;
  const shares = wrongShares(prior, reading.doubts);
  spreadsAbout(cloud, volumeMl, readingErrors(reading, prior));
  if (bound) {
    for (let person = 0; person < personCount; person += 1)
      right[person] = -(right[person] as number) / (spreads[person] as number);
    risesOf(right, logisticWidth);
    otherwiseAtLeast(cloud, volumeMl, shares);
  } else {
    bellsOf(right, spreads);
    otherwise(cloud, volumeMl, shares);
  }
  believe(cloud, chance);
  if (bound) {
    for (let person = 0; person < personCount; person += 1)
      if (believes[person] === 1) seeAtLeast(cloud, person, volumeMl, variances[person] as number);
  } else seeWhoBelieves(cloud, volumeMl);
}

/** How far each content lies from what was read, and how far it may: to `right`, `spreads` and `variances`. */
function spreadsAbout(
  { contentMl, contentVariance }: Cloud,
  volumeMl: number,
  { fixed, growing }: { readonly fixed: number; readonly growing: number },
): void {
  for (let person = 0; person < personCount; person += 1) {
    const held = contentMl[person] as number;
    const variance = fixed + growing * held * held;
    variances[person] = variance;
    spreads[person] = Math.sqrt((contentVariance[person] as number) + variance);
    right[person] = volumeMl - held;
  }
}

/** Weighs `right`, and what else may have been read instead: to `other` and `wrong`. */
function otherwise({ contentMl, otherFluid }: Cloud, volumeMl: number, shares: WrongShares): void {
  const stray = shares.anyhow / anyMl + shares.offTarget * offTargetReading(volumeMl);
  const sound = 1 - shares.cut - shares.offTarget - shares.anyhow;
  const cut = shares.cut / (cutTo - cutFrom);
  const fluid = 1 / (otherFluidToMl - otherFluidFromMl);
  for (let person = 0; person < personCount; person += 1) {
    const held = contentMl[person] as number;
    const otherShare = otherFluid[person] === 0 ? shares.otherFluid : shares.otherFluidAgain;
    const over = volumeMl - held;
    other[person] = over > otherFluidFromMl && over < otherFluidToMl ? otherShare * fluid : 0;
    wrong[person] =
      stray + (volumeMl > cutFrom * held && volumeMl < cutTo * held ? cut / Math.max(60, held) : 0);
    right[person] = Math.max(0, sound - otherShare) * (right[person] as number);
  }
}

/** The same of a bound: it is right, or other fluid reached it. */
function otherwiseAtLeast({ contentMl, otherFluid }: Cloud, volumeMl: number, shares: WrongShares): void {
  for (let person = 0; person < personCount; person += 1) {
    const otherShare = (otherFluid[person] === 0 ? shares.otherFluid : shares.otherFluidAgain) / 2;
    const over = volumeMl - (contentMl[person] as number);
    other[person] = over > otherFluidFromMl && over < otherFluidToMl ? otherShare : 0;
    wrong[person] = boundWrongShare;
    right[person] = Math.max(0, 1 - boundWrongShare - otherShare) * (right[person] as number);
  }
}

/**
 * Weighs each person by all of it, and lets each hold the reading for one thing: as many for each as are expected to, give
 * or take one.
 */
function believe({ weight, otherFluid }: Cloud, chance: Chance): void {
  let otherDue = chance.share();
  let wrongDue = chance.share();
  for (let person = 0; person < personCount; person += 1) {
    const fluid = other[person] as number;
    const stray = wrong[person] as number;
    const all = (right[person] as number) + fluid + stray;
    weight[person] = (weight[person] as number) * all;
    otherDue += all > 0 ? fluid / all : 0;
    wrongDue += all > 0 ? stray / all : 0;
    believes[person] = 1;
    if (otherDue >= 1) {
      otherDue -= 1;
      believes[person] = 0;
      otherFluid[person] = 1;
    } else if (wrongDue >= 1) {
      wrongDue -= 1;
      believes[person] = 0;
    }
  }
}

function seeWhoBelieves({ contentMl, contentVariance }: Cloud, volumeMl: number): void {
  for (let person = 0; person < personCount; person += 1) {
    if (believes[person] === 0) continue;
    const own = contentVariance[person] as number;
    const gain = own / (own + (variances[person] as number));
    const held = contentMl[person] as number;
    contentMl[person] = Math.max(0, held + gain * (volumeMl - held));
    contentVariance[person] = (1 - gain) * own;
  }
}

/** A bound that the content does not reach is wrong this often. */
export const boundWrongShare = 0.01;
/** So is a drained volume: a slip, or a catheter that did not drain all. */
export const drainSlipShare = 0.03;
export const anyVolumePerMl = 1 / anyMl;

/** Variance of a reading: a part that stands, and one that grows with the square of the content. */
function readingErrors(
  { standardDeviationMl: told, doubts }: ReadingObservation,
  prior: FillingPrior,
): { readonly fixed: number; readonly growing: number } {
  if (told !== undefined) return { fixed: told * told, growing: 0 };
  const widened = readingStandardDeviationMl(0, doubts, prior) / readingStandardDeviationMl(0, [], prior);
  return { fixed: (widened * prior.readingSdMl) ** 2, growing: (widened * prior.readingShare) ** 2 };
}

/** The same, by content. */
export function readingVariance(
  reading: ReadingObservation,
  prior: FillingPrior,
): (contentMl: number) => number {
  const { fixed, growing } = readingErrors(reading, prior);
  return (contentMl) => fixed + growing * contentMl * contentMl;
}
