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
import { setContent, type Cloud } from './cloud.ts';
import { bell, rise } from './quick.ts';

/** A normal's share below, by the logistic curve nearest to it: within 0.01. */
const shareBelow = (z: number): number => rise(z, 1 / 1.702);

/** How likely a volume seen with an error is, for one person. */
export function likelihoodOf(cloud: Cloud, person: number, volumeMl: number, variance: number): number {
  const spread = Math.sqrt((cloud.contentVariance[person] as number) + variance);
  return bell(volumeMl - (cloud.contentMl[person] as number), spread);
}

/** What one person holds, once a volume was seen with an error. */
export function seeContent(cloud: Cloud, person: number, volumeMl: number, variance: number): void {
  const contentMl = cloud.contentMl[person] as number;
  const own = cloud.contentVariance[person] as number;
  const gain = own / (own + variance);
  setContent(cloud, person, Math.max(0, contentMl + gain * (volumeMl - contentMl)), (1 - gain) * own);
}

/** How likely a content of at least so much is, for one person. */
export function likelihoodAtLeast(cloud: Cloud, person: number, boundMl: number, variance: number): number {
  const spread = Math.sqrt((cloud.contentVariance[person] as number) + variance);
  return shareBelow(((cloud.contentMl[person] as number) - boundMl) / spread);
}

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
const anyShare = 0.2;
const cutShare = 0.5;
const otherFluidShare = 0.3;
const cutFrom = 0.2;
const cutTo = 0.9;
const otherFluidFromMl = 50;
const otherFluidToMl = 600;

/** How likely a reading that is wrong outright shows so much, by content. */
export function wrongReading(volumeMl: number, contentMl: number): number {
  const share = volumeMl / Math.max(1, contentMl);
  const over = volumeMl - contentMl;
  return (
    (share > cutFrom && share < cutTo ? cutShare / ((cutTo - cutFrom) * Math.max(60, contentMl)) : 0) +
    (over > otherFluidFromMl && over < otherFluidToMl
      ? otherFluidShare / (otherFluidToMl - otherFluidFromMl)
      : 0) +
    anyShare / anyMl
  );
}

/** A bound that the content does not reach is wrong this often. */
export const boundWrongShare = 0.02;
/** So is a drained volume: a slip, or a catheter that did not drain all. */
export const drainSlipShare = 0.03;
export const anyVolumePerMl = 1 / anyMl;

/** Variance of a reading by content; what doesn't depend on the content is worked out once. */
export function readingVariance(
  reading: ReadingObservation,
  prior: FillingPrior,
): (contentMl: number) => number {
  const { standardDeviationMl: told, doubts } = reading;
  if (told !== undefined) return () => told * told;
  const widened = readingStandardDeviationMl(0, doubts, prior) / readingStandardDeviationMl(0, [], prior);
  const fixed = (widened * prior.readingSdMl) ** 2;
  const growing = (widened * prior.readingShare) ** 2;
  return (contentMl) => fixed + growing * contentMl * contentMl;
}

/** How often a void ends before the person is as empty as they get. */
export const brokenOffShare = 0.15;

/** A void broken off: any part of what was in. */
export const brokenVoid = (passedMl: number, contentMl: number): number =>
  passedMl < contentMl + 20 ? 1 / Math.max(80, contentMl) : 1e-7;

/** A void that was not measured, between two bounds that are themselves guesses. */
export function boundedVoidLikelihood(
  lowMl: number,
  highMl: number,
  contentMl: number,
  keepsShare: number,
): number {
  const passedMl = (1 - keepsShare) * contentMl;
  return 0.05 + rise(passedMl - lowMl, 25) * rise(highMl - passedMl, 60);
}
