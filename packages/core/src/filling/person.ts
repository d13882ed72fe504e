/**
 * One patient followed through what was charted: a cloud of persons who might be them, and where the catheter stands.
 *
 * In → out  observations that `checkObservations` has passed, in its order → the cloud at any later instant
 * Units     mL, mL/h; instants in ms
 * Errors    384 persons: a quantile is good to a few mL between runs with other chances; the same entries give the same
 *           cloud, since chance is set by the number of the observation and of the step
 * Source    model ADR 0013; constants in prior.ts
 */
import { controlIsOn, hourMs, minuteMs } from '../quantity/index.ts';
import { openChance } from './chance.ts';
import {
  drawCloud,
  emptyAll,
  empties,
  emptiesAnew,
  evenOut,
  inflowFactor,
  passTime,
  personCount,
  resample,
  startAfresh,
  totalOf,
  hazardsOf,
  type Cloud,
  type CloudSettings,
  type Surroundings,
} from './cloud.ts';
import { nothingGiven, expectedInflowMlPerH, type Given } from './inflow.ts';
import { anyVolumePerMl, drainSlipShare, likelihoodOf, readingVariance, takeReading } from './likely.ts';
import type {
  BagObservation,
  CovariateObservation,
  FillingObservation,
  ReadingObservation,
} from './observation.ts';
import { takeMeasuredVoid, takeUnmeasuredVoid } from './passed.ts';
import type { FillingPrior } from './prior.ts';
import { bell, rise } from './quick.ts';
import { readingStandardDeviationMl } from './reading-error.ts';

/**
 * The whole minute an instant lies in. Clocks of two machines differ by seconds, and what draws chance must not differ
 * with them.
 */
export const wholeMinute = (atMs: number): number => Math.floor(atMs / minuteMs) * minuteMs;

export type CatheterState = 'none' | 'in' | 'blocked';

export interface PersonQuestion {
  readonly prior: FillingPrior;
  readonly limitMl: number;
  /** The instant the question is asked at. */
  readonly nowMs: number;
  readonly clockAheadMs: number;
  /** Which of several clouds with other chances, each with a trace to look back along. Absent for the one that answers. */
  readonly run?: number;
}

/** Where one patient stands; what it holds changes as `passTo` and `see` are called. */
export interface Person {
  readonly atMs: () => number;
  readonly cloud: Cloud;
  readonly settings: CloudSettings;
  readonly around: () => Surroundings;
  readonly catheter: () => CatheterState;
  readonly notValid: () => string | undefined;
  readonly informativeEntries: () => number;
  /** Lets time pass up to an instant; an earlier one changes nothing. */
  readonly passTo: (atMs: number) => void;
  /** Takes in one observation. */
  readonly see: (observation: FillingObservation) => void;
  /** What is expected of anybody now, mL/h. */
  readonly expectedInflowMlPerH: () => number;
}

const notValidFor: Readonly<Record<string, string>> = {
  irrigation: 'fluid is being run through the bladder',
  neobladder: 'the bladder is made of bowel',
  urostomy: 'urine does not gather in a bladder',
};

/** How long after a look at or over the limit a drain is likely to follow. S-made-person-settings */
const drainFollowsMs = 90 * minuteMs;
/** After so long without a word a bladder has forgotten what was said of it. S-made-person-settings */
const longestPassMs = 24 * hourMs;
/** How near the limit such a look may be. S-made-person-settings */
const atLimitShare = 0.97;
/** Inflow into the bag, mL/h, above which a catheter drains. S-made-filling-settings */
const drainsFromMlPerH = 30;
// How a bag errs against the inflow at its end: mL/h, a share, mL in all, and a slip. S-made-person-settings
const leastBagH = 0.4;
const bagSdMlPerH = 15;
const bagShare = 0.35;
const bagMl = 20;
const bagSlipPerMlPerH = 1e-5;
/** Someone who can empty well says less often that they can't. S-made-person-settings */
const cannotPassIfWell = 0.15;

export function openPerson(question: PersonQuestion, fromMs: number): Person {
  const startMs = wholeMinute(fromMs);
  const { prior, limitMl, clockAheadMs } = question;
  const nowMs = wholeMinute(question.nowMs);
  const { run } = question;
  const chance = openChance(run);
  const settings: CloudSettings = {
    prior,
    nowMs,
    clockAheadMs,
    chance,
    ...(run === undefined ? {} : { run }),
  };
  const cloud = drawCloud(settings);
  const hazards = hazardsOf(prior);
  let atMs = startMs;
  let event = 0;
  let steps = 0;
  let given: Given = nothingGiven(startMs);
  let catheter: CatheterState = 'none';
  let blockUntilMs = -Infinity;
  let drainLikelyUntilMs = -Infinity;
  let lastDrainedMs = startMs;
  let drainedWhileInMs: number | undefined;
  let suspectedBlockedMs: number | undefined;
  let lastBag: BagObservation | undefined;
  let notValid: string | undefined;
  let informativeEntries = 0;
  let passedBefore = false;

  const around = (): Surroundings => ({
    given,
    draining: catheter === 'in',
    catheterIn: catheter !== 'none',
    blockUntilMs,
    drainLikelyUntilMs,
    lastDrainedMs,
  });

  const weigh = (likelihood: (contentMl: number, person: number) => number): void => {
    for (let person = 0; person < personCount; person += 1)
      cloud.weight[person] =
        (cloud.weight[person] as number) * likelihood(cloud.contentMl[person] as number, person);
  };
  const settle = (nothingOfInflow = false): void => {
    evenOut(cloud);
    resample(cloud, event, settings, nothingOfInflow);
  };
  const expected = (): number => expectedInflowMlPerH(prior, given, atMs, clockAheadMs);

  /**
   * A content that draining does not explain means that the catheter is blocked or kinked until shown otherwise
   * (S-clinical-L10), so from here on the bladder is taken to fill.
   */
  const readThroughCatheter = (reading: ReadingObservation): void => {
    const sd =
      reading.standardDeviationMl ?? readingStandardDeviationMl(reading.volumeMl, reading.doubts, prior);
    const seen = (middleMl: number, spreadMl: number): number =>
      reading.bound === 'at-least' && controlIsOn('at-least-is-a-bound')
        ? rise(middleMl - reading.volumeMl, Math.hypot(sd, spreadMl) / 1.7)
        : bell(reading.volumeMl - middleMl, Math.hypot(sd, spreadMl));
    const ifDraining = seen(prior.leftAfterDrainingMl, prior.leftAfterDrainingSdMl);
    const ifBlocked = seen(prior.blockedContentMl, prior.blockedContentSdMl);
    const blocked = ifBlocked * prior.blockedShare > ifDraining * (1 - prior.blockedShare);
    if (!blocked || !controlIsOn('filled-despite-catheter')) return;
    catheter = 'blocked';
    suspectedBlockedMs = reading.atMs;
    for (let person = 0; person < personCount; person += 1)
      startAfresh(cloud, person, reading.volumeMl, sd * sd);
  };

  /**
   * What is believed may be wrong as a whole: an event that nobody told of, another patient's chart. So a few persons
   * are replaced by ones that hold what was read, with the weight of a content that could have been anything.
   */
  const trustAnew = (reading: ReadingObservation, total: number): void => {
    const variance = readingVariance(reading, prior)(reading.volumeMl);
    const anew = personCount / anewEvery;
    for (let person = 0; person < personCount; person += 1)
      cloud.weight[person] = (cloud.weight[person] as number) * (1 - prior.mistakenShare);
    for (let person = 0; person < personCount; person += anewEvery) {
      startAfresh(cloud, person, reading.volumeMl, variance);
      cloud.weight[person] = (total * prior.mistakenShare) / anew / anyContentMl;
    }
  };

  const read = (reading: ReadingObservation): void => {
    informativeEntries += 1;
    if (catheter === 'in') {
      readThroughCatheter(reading);
      return;
    }
    // A bound already says that the lower part was cut off; it is not a second reason for doubt.
    const atLeast = reading.bound === 'at-least' && controlIsOn('at-least-is-a-bound');
    const taken: ReadingObservation = atLeast
      ? { ...reading, doubts: reading.doubts.filter((doubt) => doubt !== 'cut-below') }
      : { ...reading, bound: 'exact' };
    const total = totalOf(cloud.weight);
    chance.setFor(event, seenStep);
    takeReading(cloud, taken, atLeast, prior, chance);
    if (!atLeast) trustAnew(taken, total);
    cloud.drained.fill(0);
    drainLikelyUntilMs =
      reading.volumeMl >= atLimitShare * limitMl ? reading.atMs + drainFollowsMs : -Infinity;
    settle(informativeEntries === 1 && lastBag === undefined);
  };

  const voided = (observation: Extract<FillingObservation, { kind: 'void' }>): void => {
    if (observation.measured) informativeEntries += 1;
    if (catheter === 'in') return;
    passedBefore = true;
    chance.setFor(event, seenStep);
    if (observation.measured) takeMeasuredVoid(cloud, observation, prior, hazards, chance);
    else takeUnmeasuredVoid(cloud, observation, hazards, chance);
    settle();
  };

  const drained = (observation: Extract<FillingObservation, { kind: 'drained' }>): void => {
    informativeEntries += 1;
    const { volumeMl } = observation;
    if (volumeMl !== undefined && catheter !== 'in') {
      weigh(
        (contentMl, person) =>
          (1 - drainSlipShare) *
            likelihoodOf(
              cloud,
              person,
              volumeMl + prior.leftAfterDrainingMl,
              prior.drainedSdMl ** 2 + (prior.drainedShare * contentMl) ** 2,
            ) +
          drainSlipShare * anyVolumePerMl,
      );
      settle();
      chance.setFor(event, reliefStep);
      if (volumeMl >= prior.reliefFromMl) {
        for (let person = 0; person < personCount; person += 1)
          if (chance.share() < prior.reliefShare) cloud.relief[person] = prior.reliefFactor - 1;
      }
    }
    emptyAll(cloud);
    cloud.drained.fill(0);
    drainLikelyUntilMs = -Infinity;
    lastDrainedMs = observation.atMs;
    const wasIn = catheter === 'in';
    const staysIn = observation.thenIn === 'left-in' || (wasIn && volumeMl === undefined);
    catheter = staysIn ? 'in' : 'none';
    drainedWhileInMs = wasIn && !staysIn ? observation.atMs : undefined;
  };

  /** A bag observes the inflow, and shows that a catheter drains which a reading or a drain had put in doubt. */
  const gathered = (bag: BagObservation): void => {
    const before = lastBag;
    lastBag = bag;
    const same = before !== undefined && before.fromMs === bag.fromMs && before.volumeMl <= bag.volumeMl;
    const sinceMs = same ? before.atMs : Math.max(bag.fromMs, before?.atMs ?? bag.fromMs);
    const volumeMl = same ? bag.volumeMl - before.volumeMl : bag.volumeMl;
    const hours = (bag.atMs - sinceMs) / hourMs;
    const flows = hours > 0 && volumeMl / hours >= drainsFromMlPerH;
    const doubtedMs =
      catheter === 'blocked' ? suspectedBlockedMs : catheter === 'none' ? drainedWhileInMs : undefined;
    if (doubtedMs !== undefined && flows && bag.atMs >= doubtedMs + hourMs / 2) {
      emptyAll(cloud);
      catheter = 'in';
      drainedWhileInMs = undefined;
      suspectedBlockedMs = undefined;
      return;
    }
    const gatheredH = (bag.atMs - bag.fromMs) / hourMs;
    if (catheter !== 'in' || gatheredH < leastBagH) return;
    const usual = expected();
    const perH = bag.volumeMl / gatheredH;
    weigh((_, person) => {
      const inflow = usual * inflowFactor(cloud, person);
      const sd = bagSdMlPerH + bagShare * inflow + bagMl / gatheredH;
      return bell(perH - inflow, sd) + bagSlipPerMlPerH;
    });
    settle();
  };

  const told = (observation: CovariateObservation): void => {
    const gone = ['worn-off', 'ended', 'absent'].includes(observation.state);
    switch (observation.name) {
      case 'loop-diuretic':
        given = {
          ...given,
          diuretics: [...given.diuretics, { atMs: observation.atMs, oral: observation.state === 'oral' }],
        };
        return;
      case 'little-or-no-urine':
        given = { ...given, littleUrine: !gone };
        return;
      case 'regional-block':
        blockUntilMs = gone ? -Infinity : observation.atMs + prior.blockLastsH * hourMs;
        return;
      case 'watch-opens':
        given = { ...given, openedMs: observation.atMs };
        if (passedBefore) emptiesAnew(cloud, settings);
        return;
      case 'cannot-pass': {
        if (gone || catheter === 'in') return;
        weigh((contentMl, person) => {
          const feels = (contentMl / (cloud.capacityMl[person] as number)) * (cloud.feels[person] as number);
          const felt = rise(feels - prior.urgeFeltShare, 0.1);
          return 0.02 + felt * (cloud.empties[person] === empties.well ? cannotPassIfWell : 1);
        });
        settle();
        return;
      }
      case 'irrigation':
      case 'neobladder':
      case 'urostomy':
        notValid = gone ? undefined : notValidFor[observation.name];
        return;
      case 'opioid':
        return;
    }
  };

  const pass = (toMs: number): void => {
    if (toMs <= atMs) return;
    // Weeks in which nobody looked tell no more than a day does.
    const fromMs = Math.max(atMs, toMs - longestPassMs);
    steps = passTime(cloud, fromMs, toMs, event, around(), settings, hazards, steps);
    atMs = toMs;
  };

  return {
    atMs: () => atMs,
    cloud,
    settings,
    around,
    catheter: () => catheter,
    notValid: () => notValid,
    informativeEntries: () => informativeEntries,
    expectedInflowMlPerH: expected,
    passTo: (toMs) => {
      pass(wholeMinute(toMs));
      evenOut(cloud);
    },
    see: (seen) => {
      const observation = { ...seen, atMs: wholeMinute(seen.atMs) };
      pass(observation.atMs);
      event += 1;
      steps = 0;
      switch (observation.kind) {
        case 'reading':
          read(observation);
          return;
        case 'void':
          voided(observation);
          return;
        case 'drained':
          drained(observation);
          return;
        case 'bag':
          gathered(observation);
          return;
        case 'intake':
          given =
            observation.route === 'iv'
              ? { ...given, infusions: [...given.infusions, observation] }
              : { ...given, drinks: [...given.drinks, observation] };
          return;
        case 'covariate':
          told(observation);
          return;
        case 'catheter':
          if (observation.state === 'blocked') {
            catheter = 'blocked';
            suspectedBlockedMs = undefined;
            return;
          }
          informativeEntries += 1;
          emptyAll(cloud);
          catheter = observation.state === 'out' ? 'none' : 'in';
          drainedWhileInMs = undefined;
          suspectedBlockedMs = undefined;
          return;
      }
    },
  };
}

/** Every so many-th person believes a reading afresh, of a content that could be anything up to so much. S-made-person-settings */
const anewEvery = 16;
const anyContentMl = 1000;
const seenStep = 1_000_002;
const reliefStep = 1_000_004;

/** Follows ordered observations up to an instant, that of its minute included. */
export function followPerson(
  observations: readonly FillingObservation[],
  question: PersonQuestion,
  untilMs: number,
): Person {
  const first = observations[0];
  const person = openPerson(question, first && first.atMs <= untilMs ? first.atMs : untilMs);
  for (const observation of observations) {
    if (wholeMinute(observation.atMs) > untilMs) break;
    person.see(observation);
  }
  person.passTo(untilMs);
  return person;
}
