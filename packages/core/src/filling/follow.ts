/**
 * Follows one bladder through its observations, keeping two stories: the *charted* one (everything that left was
 * written down) and the *unseen* one (urine was passed and nobody charted it, so content is somewhere in the usual
 * spread). As information ages, weight moves from the first to the second, faster the fuller the bladder would be;
 * whatever is seen next weighs the two against each other and they become one again.
 *
 * Units     mL, mL/h; instants in ms
 * Errors    the unseen story is a normal with the usual spread's moments when it is weighed, a sliced log-normal
 *           when it is shown. The chance of an unseen void is stepped at 10 minutes from the last observation.
 * Source    model ADR 0004; constants in prior.ts
 */
import { hourMs } from '../quantity/index.ts';
import type { WeightedState } from './mixture.ts';
import type { BagObservation } from './observation.ts';
import type { FillingPrior } from './prior.ts';
import { advance, advanceBy, resetContent, stepOf, type FillingNoise, type FillingState } from './state.ts';

export type CatheterState = 'none' | 'in' | 'blocked';

/** Where the follower stands after an observation. Immutable; `pass` reads it at any later instant. */
export interface Followed {
  readonly atMs: number;
  readonly charted: FillingState;
  /** Weight of the unseen story, 0 to 1. */
  readonly unseen: number;
  readonly catheter: CatheterState;
  readonly cannotPass: boolean;
  /** When the bladder was drained "and the catheter out" although one was charted as in. */
  readonly drainedWhileInMs: number | undefined;
  /** Since when a reading made a blocked catheter likely; nobody charted one. */
  readonly suspectedBlockedMs: number | undefined;
  readonly lastBag: BagObservation | undefined;
  readonly littleUrine: boolean;
  readonly notValid: string | undefined;
  readonly diuretics: readonly {
    readonly fromMs: number;
    readonly untilMs: number;
    readonly extraMlPerH: number;
  }[];
  readonly informativeEntries: number;
}

export interface FollowSettings {
  readonly prior: FillingPrior;
  /** `none`: everything that leaves is charted, and nothing is assumed of how well a void emptied; for warnings that must not count on luck. */
  readonly unseenVoids?: 'likely' | 'none';
}

const stepMs = 10 * 60_000;

const levelAt = (now: Followed, atMs: number, prior: FillingPrior): number => {
  let level = now.littleUrine ? prior.littleUrineMlPerH : prior.rateLaterMlPerH;
  for (const diuretic of now.diuretics)
    if (atMs >= diuretic.fromMs && atMs < diuretic.untilMs) level += diuretic.extraMlPerH;
  return level;
};

const noiseAt = (now: Followed, atMs: number, prior: FillingPrior): FillingNoise => {
  const sd = now.littleUrine ? prior.littleUrineSdMlPerH : prior.rateSdMlPerH;
  const boosted = now.diuretics.some((diuretic) => atMs >= diuretic.fromMs && atMs < diuretic.untilMs);
  const pull = boosted ? 3 : prior.ratePullPerH;
  return {
    contentVariancePerH: prior.contentSdMlPerRootH ** 2,
    rateVariancePerH: 2 * pull * sd * sd,
    pullPerH: pull,
    levelMlPerH: levelAt(now, atMs, prior),
  };
};

/** The follower at the start of a watch. */
export function startFollowing(prior: FillingPrior, atMs: number): Followed {
  return {
    atMs,
    charted: {
      contentMl: prior.startMeanMl,
      rateMlPerH: prior.rateMeanMlPerH,
      contentVariance: prior.startSdMl ** 2,
      covariance: 0,
      rateVariance: prior.rateSdMlPerH ** 2,
    },
    unseen: 0,
    catheter: 'none',
    cannotPass: false,
    drainedWhileInMs: undefined,
    suspectedBlockedMs: undefined,
    lastBag: undefined,
    littleUrine: false,
    notValid: undefined,
    diuretics: [],
    informativeEntries: 0,
  };
}

export const emptied = (state: FillingState, prior: FillingPrior): FillingState =>
  resetContent(state, prior.leftAfterDrainingMl, prior.leftAfterDrainingSdMl ** 2);

/** The follower at a later instant with nothing seen in between. */
export function pass(from: Followed, toMs: number, settings: FollowSettings): Followed {
  const { prior } = settings;
  let now = from;
  while (now.atMs < toMs) {
    const edges = now.diuretics
      .flatMap((diuretic) => [diuretic.fromMs, diuretic.untilMs])
      .filter((edge) => edge > now.atMs);
    const untilMs = Math.min(toMs, now.atMs + stepMs, ...edges);
    const hours = (untilMs - now.atMs) / hourMs;
    let charted = advance(now.charted, hours, noiseAt(now, now.atMs, prior));
    let unseen = now.unseen;
    if (now.catheter === 'in') {
      charted = emptied(charted, prior);
      unseen = 0;
    } else if (settings.unseenVoids !== 'none' && now.catheter === 'none' && !now.cannotPass) {
      const full = Math.min(1.5, Math.max(0, charted.contentMl) / prior.capacityMl);
      unseen = 1 - (1 - unseen) * Math.exp(-prior.unseenVoidPerH * full * full * hours);
    }
    now = { ...now, atMs: untilMs, charted, unseen };
  }
  return now;
}

const usualMoments = (prior: FillingPrior): { meanMl: number; variance: number } => {
  const meanMl = prior.usualMedianMl * Math.exp(prior.usualLogSd ** 2 / 2);
  return { meanMl, variance: meanMl ** 2 * Math.expm1(prior.usualLogSd ** 2) };
};

export const unseenState = (now: Followed, prior: FillingPrior): FillingState => {
  const usual = usualMoments(prior);
  return { ...now.charted, contentMl: usual.meanMl, contentVariance: usual.variance, covariance: 0 };
};

/** Middles of nine equal slices of the standard normal, z with P(Z ≤ z) = 1/18, 3/18 … 17/18 (S-arithmetic). */
export const sliceNormals: readonly number[] = [
  -1.5932188180230509, -0.9674215661017012, -0.5894557978497783, -0.2822161470625084, 0, 0.2822161470625084,
  0.5894557978497783, 0.9674215661017012, 1.5932188180230509,
];

/** What is in there, as weighted normals. */
export function stories(now: Followed, prior: FillingPrior): readonly WeightedState[] {
  if (now.unseen <= 0) return [{ weight: 1, state: now.charted }];
  const slices = sliceNormals.map((z) => {
    const middleMl = prior.usualMedianMl * Math.exp(prior.usualLogSd * z);
    return {
      weight: now.unseen / sliceNormals.length,
      state: { ...now.charted, contentMl: middleMl, contentVariance: (0.2 * middleMl) ** 2, covariance: 0 },
    };
  });
  return [{ weight: 1 - now.unseen, state: now.charted }, ...slices];
}

/** The same weighted normals at a later instant when nothing leaves: the forecast. */
export function fillOn(
  now: Followed,
  parts: readonly WeightedState[],
  fromMs: number,
  toMs: number,
  prior: FillingPrior,
): readonly WeightedState[] {
  if (now.catheter === 'in') return parts;
  let filled = parts;
  let atMs = fromMs;
  while (atMs < toMs) {
    const edges = now.diuretics
      .flatMap((diuretic) => [diuretic.fromMs, diuretic.untilMs])
      .filter((edge) => edge > atMs);
    const untilMs = Math.min(toMs, ...edges);
    const noise = noiseAt(now, atMs, prior);
    const hours = (untilMs - atMs) / hourMs;
    const step = stepOf(hours, noise);
    filled = filled.map(({ weight, state }) => ({ weight, state: advanceBy(state, step, hours, noise) }));
    atMs = untilMs;
  }
  return filled;
}
