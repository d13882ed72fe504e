/**
 * What one observation does to where the follower stands. Whatever is not linear is a weighted sum of normals that is
 * put back into one: a bound, a gross error, a void that emptied well or not, a catheter that drains or not.
 *
 * Units     mL, mL/h; instants in ms
 * Domain    observations that `checkObservations` has passed, in its order
 * Source    ADR 0004; constants in prior.ts
 */
import { controlIsOn, hourMs } from '../quantity/index.ts';
import { contentAtLeast, type CutState } from './at-least.ts';
import { emptied, pass, startFollowing, unseenState, type Followed, type FollowSettings } from './follow.ts';
import { matchMoments } from './mixture.ts';
import type {
  BagObservation,
  CovariateObservation,
  FillingObservation,
  ReadingObservation,
} from './observation.ts';
import type { FillingPrior } from './prior.ts';
import { readingStandardDeviationMl } from './reading-error.ts';
import { resetContent, seeContent, seeRate, takeOut, type FillingState } from './state.ts';

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

/**
 * A reading while a catheter should be draining: a content that draining does not explain means that the catheter is
 * blocked or kinked until shown otherwise (S-clinical-L10), so from here on the bladder is taken to fill.
 */
function readThroughCatheter(now: Followed, reading: ReadingObservation, prior: FillingPrior): Followed {
  const variance =
    (reading.standardDeviationMl ?? readingStandardDeviationMl(reading.volumeMl, reading.doubts, prior)) ** 2;
  const draining = emptied(now.charted, prior);
  const filled = resetContent(now.charted, prior.poorlyEmptiedMl, prior.poorlyEmptiedSdMl ** 2);
  const seen = (state: FillingState): WeighedUpdate => {
    if (reading.bound === 'at-least' && controlIsOn('at-least-is-a-bound')) {
      const cut = contentAtLeast(state, reading.volumeMl, variance);
      return { logWeight: cut.logProbability, state: cut.state };
    }
    const exact = seeContent(state, reading.volumeMl, variance);
    return { logWeight: exact.logDensity, state: exact.state };
  };
  const [ifDraining, ifBlocked] = [seen(draining), seen(filled)];
  const blocked =
    ifBlocked.logWeight + Math.log(prior.blockedShare) >
    ifDraining.logWeight + Math.log(1 - prior.blockedShare);
  const informativeEntries = now.informativeEntries + 1;
  return blocked && controlIsOn('filled-despite-catheter')
    ? {
        ...now,
        charted: notNegative(ifBlocked.state),
        unseen: 0,
        catheter: 'blocked',
        suspectedBlockedMs: reading.atMs,
        informativeEntries,
      }
    : { ...now, informativeEntries };
}

/** Inflow into the bag, mL/h, above which a catheter drains. S-made-filling-settings */
const drainsFromMlPerH = 30;

/** A bag observes the inflow, and shows that a catheter drains which a reading or a drain had put in doubt. */
function gathered(now: Followed, bag: BagObservation, prior: FillingPrior): Followed {
  const before = now.lastBag;
  const same = before !== undefined && before.fromMs === bag.fromMs && before.volumeMl <= bag.volumeMl;
  const [sinceMs, volumeMl] = same
    ? [before.atMs, bag.volumeMl - before.volumeMl]
    : [Math.max(bag.fromMs, before?.atMs ?? bag.fromMs), bag.volumeMl];
  const flows = bag.atMs > sinceMs && volumeMl / ((bag.atMs - sinceMs) / hourMs) >= drainsFromMlPerH;
  const doubtedMs =
    now.catheter === 'blocked'
      ? now.suspectedBlockedMs
      : now.catheter === 'none'
        ? now.drainedWhileInMs
        : undefined;
  const kept = { ...now, lastBag: bag };
  if (doubtedMs !== undefined && flows && bag.atMs >= doubtedMs + hourMs / 2) {
    return {
      ...kept,
      charted: emptied(now.charted, prior),
      unseen: 0,
      catheter: 'in',
      drainedWhileInMs: undefined,
      suspectedBlockedMs: undefined,
    };
  }
  const hours = (bag.atMs - bag.fromMs) / hourMs;
  if (now.catheter !== 'in' || hours < 0.4) return kept;
  return { ...kept, charted: seeRate(now.charted, bag.volumeMl / hours, (25 + 20 / hours) ** 2).state };
}

/** The follower after one observation. */
export function observe(from: Followed, observation: FillingObservation, settings: FollowSettings): Followed {
  const { prior } = settings;
  const now = pass(from, observation.atMs, settings);
  switch (observation.kind) {
    case 'reading': {
      if (now.catheter === 'in') return readThroughCatheter(now, observation, prior);
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
      const staysIn = observation.thenIn === 'left-in' || (now.catheter === 'in' && volumeMl === undefined);
      return {
        ...now,
        charted: emptied(charted, prior),
        unseen: 0,
        catheter: staysIn ? 'in' : 'none',
        drainedWhileInMs: now.catheter === 'in' && !staysIn ? observation.atMs : undefined,
        informativeEntries: now.informativeEntries + 1,
      };
    }
    case 'catheter': {
      if (observation.state === 'blocked')
        return { ...now, catheter: 'blocked', suspectedBlockedMs: undefined };
      const charted = emptied(now.charted, prior);
      return {
        ...now,
        charted,
        unseen: 0,
        catheter: observation.state === 'out' ? 'none' : 'in',
        drainedWhileInMs: undefined,
        suspectedBlockedMs: undefined,
        informativeEntries: now.informativeEntries + 1,
      };
    }
    case 'bag':
      return gathered(now, observation, prior);
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
