// For tests: persons drawn from the model itself, minute by minute, by code that shares nothing with the cloud but the
// prior's figures.
import { minuteMs, type RandomSource } from '../../quantity/index.ts';
import type { FillingObservation } from '../observation.ts';
import { priorFor, type FillingPrior } from '../prior.ts';

export interface Course {
  readonly observations: readonly FillingObservation[];
  readonly atMs: number;
  /** At `atMs`. */
  readonly contentMl: number;
  /** At the end of each minute from the first on. */
  readonly minutesMl: readonly number[];
}

/** One person of the model: hours of filling, voids charted or not, a few looks; asked at an instant at random. */
export function personOfTheModel(prior: FillingPrior, random: RandomSource): Course {
  const capacityMl = Math.max(200, prior.capacityMeanMl + prior.capacitySdMl * random.normal());
  let contentMl =
    random.next() < prior.startFullShare
      ? 1.5 * capacityMl * random.next()
      : prior.startMedianMl * Math.exp(prior.startLogSd * random.normal());
  const own = prior.personLogSd * random.normal();
  let wanders = prior.inflowLogSd * random.normal();
  const kind = random.next();
  const partly = kind < prior.poorlyEmptiesShare;
  const keepsShare = partly ? 0.3 + 0.4 * random.next() : 0.01 + 0.08 * random.next();
  const feeling = random.next();
  const { numbShare, bluntedShare } = prior;
  const urgeAtMl = capacityMl * (feeling < numbShare ? 8 : feeling < numbShare + bluntedShare ? 1.5 : 1);
  const observations: FillingObservation[] = [];
  const minutesMl: number[] = [];
  const minutes = 180 + random.below(420);
  const every = 60 + random.below(120);
  const keeps = Math.exp(-1 / 60 / prior.inflowForgetsH);
  for (let minute = 0; minute < minutes; minute += 1) {
    const atMs = minute * minuteMs;
    wanders = keeps * wanders + prior.inflowLogSd * Math.sqrt(1 - keeps * keeps) * random.normal();
    contentMl += (prior.inflowMlPerH * Math.exp(wanders + own)) / 60;
    if (random.next() < prior.otherDrainsPerH / 60) {
      const drainedMl = Math.round(contentMl * (1 + prior.drainedShare * random.normal()));
      contentMl = 12 + 8 * random.next();
      if (random.next() >= prior.drainsNeverChartedShare)
        observations.push({ kind: 'drained', atMs, volumeMl: Math.max(0, drainedMl), thenIn: 'out' });
    }
    const urge =
      prior.voidsLowPerH +
      prior.voidsHighPerH / (1 + Math.exp((prior.urgeShare - contentMl / urgeAtMl) / prior.urgeSpread));
    if (random.next() < (urge * (partly ? prior.poorlyVoidsShare : 1)) / 60) {
      const broken = random.next() < 0.15;
      const passedMl = broken ? contentMl * random.next() : (1 - keepsShare) * contentMl;
      const sd = Math.hypot(prior.voidSdMl, prior.voidShare * passedMl);
      const measuredMl = Math.max(0, Math.round(passedMl + sd * random.normal()));
      contentMl -= passedMl;
      if (random.next() >= prior.voidsNeverChartedShare)
        observations.push({ kind: 'void', atMs, measured: true, volumeMl: measuredMl });
    }
    if (minute > 0 && minute % every === 0) {
      const sd = Math.hypot(prior.readingSdMl, prior.readingShare * contentMl);
      const volumeMl = Math.max(0, Math.round(contentMl + sd * random.normal()));
      observations.push({ kind: 'reading', atMs, volumeMl, bound: 'exact', doubts: [] });
    }
    minutesMl.push(contentMl);
  }
  return { observations, atMs: minutes * minuteMs, contentMl, minutesMl };
}

/** Everything is charted at once or never; nobody is hindered; nights are days: what the drawn persons are like. */
export const plainPrior: FillingPrior = {
  ...priorFor('resting'),
  poorlyEmptiesShare: 0.3,
  hardlyEmptiesShare: 0,
  notYetEmptiesShare: 0,
  nightInflowShare: 1,
  nightVoidsShare: 1,
  voidsChartedSoonShare: 0,
  voidsChartedLateShare: 0,
  drainsChartedMin: 0.01,
  limitDrainsPerH: 0.01,
  otherDrainsPerH: 0.01,
  routineDrainsPerH: 0.01,
  cutShare: 0,
  otherFluidShare: 0,
  otherFluidAgainShare: 0,
  offTargetShare: 0,
  anyhowWrongShare: 0,
};
