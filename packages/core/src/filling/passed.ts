/**
 * What urine passed says of those who might have passed it: how likely they were to, how much of their content it is, and
 * what is left.
 *
 * Units     mL; likelihoods in 1/mL where measured, otherwise bare
 * Errors    a void ends before its time with a fixed chance, whatever the content
 * Source    S-made-person-settings; Kalman's update S-kalman-joseph
 */
import type { Chance } from './chance.ts';
import {
  empties,
  hazardPlace,
  hazardsOf,
  keepShare,
  leftVariance,
  personCount,
  setContent,
  totalOf,
  type Cloud,
  type Hazards,
} from './cloud.ts';
import type { MeasuredVoidObservation, UnmeasuredVoidObservation } from './observation.ts';
import type { FillingPrior } from './prior.ts';
import { bellsOf, risesOf } from './quick.ts';

/** How often a void ends before the person is as empty as they get. */
const brokenOffShare = 0.15;
/** How unevenly someone empties to their usual share, of the content. */
const emptiesEvenlyShare = 0.06;
/** A void nobody expects, an hour. */
const rareVoidsPerH = 0.01;
// A void broken off may be any part of the content, or a little more than that.
const leastBrokenMl = 80;
const overContentMl = 20;
const beyondContent = 1e-7;
// What is said of an unmeasured void is a guess, the more so of its upper end; and now and then wrong.
const lowGuessMl = 25;
const highGuessMl = 60;
const guessWrong = 0.05;

// Rooms to work in, each filled by a short loop: a call that gives back a fraction would box it.
const wholes = new Float64Array(personCount);
const errors = new Float64Array(personCount);
const spreads = new Float64Array(personCount);
const high = new Float64Array(personCount);
const chances = new Float64Array(personCount);
const passes = new Float64Array(personCount);

/** To `passes` the chance an hour that each passes urine. */
function passesPerH(cloud: Cloud, hazards: Hazards): void {
  const { held } = hazards;
  const { contentMl, capacityMl, feels, empties } = cloud;
  for (let person = 0; person < personCount; person += 1) {
    const felt = ((contentMl[person] as number) / (capacityMl[person] as number)) * (feels[person] as number);
    const place = hazardPlace(felt);
    passes[person] =
      (hazards.voids[place] as number) * (held[empties[person] as number] as number) + rareVoidsPerH;
  }
}

/** Weighs each person by how likely they were to pass urine at all, times a likelihood of how much. */
function weighWhoPasses(cloud: Cloud, hazards: Hazards, likelihood: Float64Array): void {
  const { weight } = cloud;
  passesPerH(cloud, hazards);
  for (let person = 0; person < personCount; person += 1)
    weight[person] = (weight[person] as number) * (passes[person] as number) * (likelihood[person] as number);
}

/** Who it may have been that passed urine: weights that sum to 1; for whoever only asks. */
export function whoPasses(cloud: Cloud, prior: FillingPrior): Float64Array {
  passesPerH(cloud, hazardsOf(prior));
  const weights = cloud.weight.map((one, person) => one * (passes[person] as number));
  const total = totalOf(weights);
  return weights.map((one) => one / total);
}

/** To `wholes` how likely each is to have passed so much by emptying as usual, with its `errors`. */
function asUsual(cloud: Cloud, passedMl: number, jugVariance: number): void {
  const { contentMl, contentVariance, keepsShare } = cloud;
  for (let person = 0; person < personCount; person += 1) {
    const held = contentMl[person] as number;
    const passes = 1 - (keepsShare[person] as number);
    const error = jugVariance + (emptiesEvenlyShare * held) ** 2;
    errors[person] = error;
    spreads[person] = Math.sqrt(passes * passes * (contentVariance[person] as number) + error);
    wholes[person] = passedMl - passes * held;
  }
  bellsOf(wholes, spreads);
}

/** To `chances` the likelihood in all, and to `wholes` the share of it that is emptying as usual. */
function orBrokenOff({ contentMl }: Cloud, passedMl: number): void {
  for (let person = 0; person < personCount; person += 1) {
    const held = contentMl[person] as number;
    const whole = (1 - brokenOffShare) * (wholes[person] as number);
    const broken =
      brokenOffShare * (passedMl < held + overContentMl ? 1 / Math.max(leastBrokenMl, held) : beyondContent);
    chances[person] = whole + broken;
    wholes[person] = whole / (whole + broken);
  }
}

/** How likely each person is to have passed what was measured; for whoever only asks. In 1/mL, not weighed. */
export function measuredVoidLikelihoods(
  cloud: Cloud,
  { volumeMl, relativeSd }: Pick<MeasuredVoidObservation, 'volumeMl' | 'relativeSd'>,
  prior: FillingPrior,
): Float64Array {
  asUsual(cloud, volumeMl, prior.voidSdMl ** 2 + ((relativeSd ?? prior.voidShare) * volumeMl) ** 2);
  orBrokenOff(cloud, volumeMl);
  return chances;
}

/** Takes in a measured void. */
export function takeMeasuredVoid(
  cloud: Cloud,
  observation: MeasuredVoidObservation,
  prior: FillingPrior,
  hazards: Hazards,
  chance: Chance,
): void {
  const { volumeMl } = observation;
  const { contentMl, contentVariance, keepsShare } = cloud;
  weighWhoPasses(cloud, hazards, measuredVoidLikelihoods(cloud, observation, prior));
  let brokenDue = chance.share();
  for (let person = 0; person < personCount; person += 1) {
    const held = contentMl[person] as number;
    const own = contentVariance[person] as number;
    const error = errors[person] as number;
    brokenDue += 1 - (wholes[person] as number);
    if (brokenDue >= 1) {
      brokenDue -= 1;
      setContent(cloud, person, Math.max(0.02 * held, held - volumeMl), own + error);
      continue;
    }
    const keeps = keepsShare[person] as number;
    const passes = 1 - keeps;
    const gain = own / (own + error / (passes * passes));
    contentMl[person] = Math.max(0, held + gain * (volumeMl / passes - held)) * keeps;
    contentVariance[person] = (1 - gain) * own * keeps * keeps + leftVariance;
    if (cloud.trace !== undefined)
      cloud.trace.carried[person] = (cloud.trace.carried[person] as number) * keeps;
  }
}

/**
 * Takes in what ran into a pad. Who leaks easily is likelier to have; it tells nothing of how they empty at a void, and
 * whoever holds less than so much can't have lost it now: part of it was gone before.
 */
function takeLeak(cloud: Cloud, { lowMl, highMl }: UnmeasuredVoidObservation, hazards: Hazards): void {
  const { contentMl, capacityMl, weight, empties: kinds } = cloud;
  const leakedMl = (lowMl + highMl) / 2;
  for (let person = 0; person < personCount; person += 1) {
    const held = contentMl[person] as number;
    const place = hazardPlace(held / (capacityMl[person] as number));
    const leaks =
      (hazards.leaks[place] as number) * ((kinds[person] as number) >= empties.hardly ? 1 : leaksIfEmptying);
    weight[person] = (weight[person] as number) * (leaks + rareLeaksPerH);
    keepShare(cloud, person, 1 - Math.min(leakedMl, mostLeakedShare * held) / Math.max(1, held));
  }
}

// S-made-person-settings
const leaksIfEmptying = 0.3;
const mostLeakedShare = 0.5;
const rareLeaksPerH = 0.02;

/** Takes in a void between two bounds. */
export function takeUnmeasuredVoid(
  cloud: Cloud,
  observation: UnmeasuredVoidObservation,
  hazards: Hazards,
  chance: Chance,
): void {
  if (observation.intoPad === true) {
    takeLeak(cloud, observation, hazards);
    return;
  }
  const { lowMl, highMl } = observation;
  const { contentMl, keepsShare } = cloud;
  for (let person = 0; person < personCount; person += 1) {
    const passedMl = (1 - (keepsShare[person] as number)) * (contentMl[person] as number);
    chances[person] = passedMl - lowMl;
    high[person] = highMl - passedMl;
  }
  risesOf(chances, lowGuessMl);
  risesOf(high, highGuessMl);
  for (let person = 0; person < personCount; person += 1)
    chances[person] = guessWrong + (chances[person] as number) * (high[person] as number);
  weighWhoPasses(cloud, hazards, chances);
  let brokenDue = chance.share();
  for (let person = 0; person < personCount; person += 1) {
    brokenDue += brokenOffShare;
    const broken = brokenDue >= 1;
    if (broken) brokenDue -= 1;
    keepShare(cloud, person, broken ? chance.share() : (keepsShare[person] as number));
  }
}
