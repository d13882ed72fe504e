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
import { controlIsOn, hourMs } from '../quantity/index.ts';
import { normalQuantile } from '../statistics/distributions.ts';
import { contentAtLeast, type CutState } from './at-least.ts';
import { matchMoments, type WeightedState } from './mixture.ts';
import type { CovariateObservation, FillingObservation } from './observation.ts';
import type { FillingPrior } from './prior.ts';
import { readingStandardDeviationMl } from './reading-error.ts';
import {
  advance,
  resetContent,
  seeContent,
  seeRate,
  takeOut,
  type FillingNoise,
  type FillingState,
} from './state.ts';

export type CatheterState = 'none' | 'in' | 'blocked';

/** Where the follower stands after an observation. Immutable; `look` reads it at any later instant. */
export interface Followed {
  readonly atMs: number;
  readonly charted: FillingState;
  /** Weight of the unseen story, 0 to 1. */
  readonly unseen: number;
  readonly catheter: CatheterState;
  readonly cannotPass: boolean;
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
    littleUrine: false,
    notValid: undefined,
    diuretics: [],
    informativeEntries: 0,
  };
}

const emptied = (state: FillingState, prior: FillingPrior): FillingState =>
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

const unseenState = (now: Followed, prior: FillingPrior): FillingState => {
  const usual = usualMoments(prior);
  return { ...now.charted, contentMl: usual.meanMl, contentVariance: usual.variance, covariance: 0 };
};

const sliceNormals = Array.from({ length: 9 }, (_, index) => normalQuantile((index + 0.5) / 9));

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
  let filled = parts;
  let atMs = fromMs;
  while (atMs < toMs) {
    const edges = now.diuretics
      .flatMap((diuretic) => [diuretic.fromMs, diuretic.untilMs])
      .filter((edge) => edge > atMs);
    const untilMs = Math.min(toMs, ...edges);
    const noise = noiseAt(now, atMs, prior);
    const hours = (untilMs - atMs) / hourMs;
    filled = filled.map(({ weight, state }) => ({
      weight,
      state: now.catheter === 'in' ? state : advance(state, hours, noise),
    }));
    atMs = untilMs;
  }
  return filled;
}

interface WeighedUpdate {
  readonly logWeight: number;
  readonly state: FillingState;
}

/** Sees content in both stories (and, for a reading, as a gross error), weighs them, and makes them one. */
function weigh(
  now: Followed,
  prior: FillingPrior,
  update: (state: FillingState) => readonly WeighedUpdate[],
): FillingState {
  const parts: { logWeight: number; state: FillingState }[] = [];
  for (const part of update(now.charted))
    parts.push({ logWeight: part.logWeight + Math.log(Math.max(1e-300, 1 - now.unseen)), state: part.state });
  if (now.unseen > 1e-12) {
    for (const part of update(unseenState(now, prior)))
      parts.push({ logWeight: part.logWeight + Math.log(now.unseen), state: part.state });
  }
  const top = Math.max(...parts.map((part) => part.logWeight));
  return matchMoments(parts.map((part) => ({ weight: Math.exp(part.logWeight - top), state: part.state })));
}

const notNegative = (state: FillingState): FillingState =>
  state.contentMl > 6 * Math.sqrt(state.contentVariance) ? state : contentAtLeast(state, 0).state;

const notValidFor: Readonly<Record<string, string>> = {
  irrigation: 'fluid is being run through the bladder',
  neobladder: 'the bladder is made of bowel',
  urostomy: 'urine does not gather in a bladder',
};

function covariate(now: Followed, observation: CovariateObservation, prior: FillingPrior): Followed {
  const gone =
    observation.state === 'worn-off' || observation.state === 'ended' || observation.state === 'absent';
  switch (observation.name) {
    case 'loop-diuretic': {
      const oral = observation.state === 'oral';
      return {
        ...now,
        diuretics: [
          ...now.diuretics,
          {
            fromMs: observation.atMs + (oral ? hourMs : 0),
            untilMs: observation.atMs + (oral ? prior.diureticOralH : prior.diureticIvH) * hourMs,
            extraMlPerH: oral ? prior.diureticOralMlPerH : prior.diureticIvMlPerH,
          },
        ],
      };
    }
    case 'little-or-no-urine':
      return gone
        ? { ...now, littleUrine: false }
        : {
            ...now,
            littleUrine: true,
            charted: {
              ...now.charted,
              rateMlPerH: prior.littleUrineMlPerH,
              rateVariance: prior.littleUrineSdMlPerH ** 2,
              covariance: 0,
            },
          };
    case 'regional-block':
      return { ...now, cannotPass: !gone };
    case 'cannot-pass': {
      if (gone || now.catheter === 'in') return { ...now, cannotPass: false };
      const bound = prior.urgeShare * prior.capacityMl;
      const charted = weigh(now, prior, (state) => {
        const cut = contentAtLeast(state, bound, (0.4 * bound) ** 2);
        return [{ logWeight: cut.logProbability, state: cut.state }];
      });
      return { ...now, charted, unseen: 0, cannotPass: true };
    }
    case 'irrigation':
    case 'neobladder':
    case 'urostomy':
      return { ...now, notValid: gone ? undefined : notValidFor[observation.name] };
    case 'watch-opens':
      return {
        ...now,
        charted: {
          ...now.charted,
          rateMlPerH: prior.rateMeanMlPerH,
          rateVariance: prior.rateSdMlPerH ** 2,
          covariance: 0,
        },
      };
    case 'opioid':
      return now;
  }
}

/** The follower after one observation. */
export function observe(from: Followed, observation: FillingObservation, settings: FollowSettings): Followed {
  const { prior } = settings;
  const now = pass(from, observation.atMs, settings);
  switch (observation.kind) {
    case 'reading': {
      if (now.catheter === 'in') return { ...now, informativeEntries: now.informativeEntries + 1 };
      const { volumeMl } = observation;
      // A bound already says that the lower part was cut off; it is not a second reason for doubt.
      const doubts =
        observation.bound === 'at-least'
          ? observation.doubts.filter((doubt) => doubt !== 'cut-below')
          : observation.doubts;
      const sd = (stateMl: number): number =>
        observation.standardDeviationMl ??
        readingStandardDeviationMl(Math.max(volumeMl, stateMl), doubts, prior);
      const charted = weigh(now, prior, (state) => {
        const variance = sd(Math.max(0, state.contentMl)) ** 2;
        if (observation.bound === 'at-least' && controlIsOn('at-least-is-a-bound')) {
          const cut = contentAtLeast(state, volumeMl, variance);
          return [{ logWeight: cut.logProbability, state: cut.state }];
        }
        const fine = seeContent(state, volumeMl, variance);
        if (prior.grossShare <= 0) return [{ logWeight: fine.logDensity, state: fine.state }];
        const gross = seeContent(state, volumeMl, variance + prior.grossSdMl ** 2);
        return [
          { logWeight: fine.logDensity + Math.log(1 - prior.grossShare), state: fine.state },
          { logWeight: gross.logDensity + Math.log(prior.grossShare), state: gross.state },
        ];
      });
      return {
        ...now,
        charted: notNegative(charted),
        unseen: 0,
        informativeEntries: now.informativeEntries + 1,
      };
    }
    case 'void': {
      const { leftAfterVoidMl, leftAfterVoidSdMl, emptiesShare, poorlyEmptiedMl, poorlyEmptiedSdMl } = prior;
      // Two endings: emptied well, or not; the urine passed says which only together with what was there before.
      const left = (cut: CutState, volumeMl: number, variance: number): readonly WeighedUpdate[] => {
        const after = notNegative(takeOut(cut.state, volumeMl, variance));
        if (emptiesShare <= 0 || settings.unseenVoids === 'none')
          return [{ logWeight: cut.logProbability, state: after }];
        const well = seeContent(after, leftAfterVoidMl, leftAfterVoidSdMl ** 2);
        const poorly = seeContent(after, poorlyEmptiedMl, poorlyEmptiedSdMl ** 2);
        return [
          { logWeight: cut.logProbability + Math.log(emptiesShare) + well.logDensity, state: well.state },
          {
            logWeight: cut.logProbability + Math.log(1 - emptiesShare) + poorly.logDensity,
            state: poorly.state,
          },
        ];
      };
      if (observation.measured) {
        const sd = Math.hypot(
          prior.voidSdMl,
          (observation.relativeSd ?? prior.voidShare) * observation.volumeMl,
        );
        const charted = weigh(now, prior, (state) => {
          const cut = contentAtLeast(state, observation.volumeMl, sd * sd);
          return left(cut, observation.volumeMl, sd * sd);
        });
        return {
          ...now,
          charted,
          unseen: 0,
          cannotPass: false,
          informativeEntries: now.informativeEntries + 1,
        };
      }
      const { lowMl, highMl } = observation;
      const charted = weigh(now, prior, (state) => {
        const middle = Math.min((lowMl + highMl) / 2, Math.max(lowMl, 0.75 * state.contentMl));
        const half = Math.max(highMl - middle, middle - lowMl);
        const cut = contentAtLeast(state, lowMl, prior.voidSdMl ** 2);
        return left(cut, middle, (half * half) / 3);
      });
      return { ...now, charted, unseen: 0, cannotPass: false };
    }
    case 'drained': {
      let charted = now.charted;
      const { volumeMl } = observation;
      if (volumeMl !== undefined && now.catheter !== 'in') {
        const sd = Math.hypot(prior.drainedSdMl, prior.drainedShare * volumeMl);
        charted = weigh(now, prior, (state) => {
          const seen = seeContent(state, volumeMl + prior.leftAfterDrainingMl, sd * sd);
          return [{ logWeight: seen.logDensity, state: seen.state }];
        });
      }
      return {
        ...now,
        charted: emptied(charted, prior),
        unseen: 0,
        catheter:
          observation.thenIn === 'left-in'
            ? 'in'
            : now.catheter === 'in' && volumeMl === undefined
              ? 'in'
              : 'none',
        informativeEntries: now.informativeEntries + 1,
      };
    }
    case 'catheter': {
      if (observation.state === 'blocked') return { ...now, catheter: 'blocked' };
      const charted = emptied(now.charted, prior);
      return {
        ...now,
        charted,
        unseen: 0,
        catheter: observation.state === 'out' ? 'none' : 'in',
        informativeEntries: now.informativeEntries + 1,
      };
    }
    case 'bag': {
      const hours = (observation.atMs - observation.fromMs) / hourMs;
      if (now.catheter !== 'in' || hours < 0.4) return now;
      const seen = seeRate(now.charted, observation.volumeMl / hours, (25 + 20 / hours) ** 2);
      return { ...now, charted: seen.state };
    }
    case 'intake':
      return now;
    case 'covariate':
      return covariate(now, observation, prior);
  }
}

/** Follows ordered observations from the first on. */
export function follow(
  observations: readonly FillingObservation[],
  settings: FollowSettings,
  untilMs: number,
): Followed {
  const first = observations[0];
  let now = startFollowing(settings.prior, first && first.atMs <= untilMs ? first.atMs : untilMs);
  for (const observation of observations) {
    if (observation.atMs > untilMs) break;
    now = observe(now, observation, settings);
  }
  return now;
}
