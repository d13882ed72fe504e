/**
 * Whole courses that fit everything charted, later entries too: each person of a cloud is followed back along those it
 * stems from, and what it held on the way is drawn from the end to the beginning.
 *
 *     x' = a (x + inflow) + noise     x | x' ~ N(m + g (x' − M), s² − g a s²),   g = a s² / S²
 *
 * m, s² are what a person held once everything at that moment was seen, M, S² the same carried on to the next moment,
 * a the share that was not passed on the way. Where a is 0 (emptied) nothing after tells of before, but for what came
 * out. For one person and no chance this is the smoother of series.ts.
 *
 * Units     mL, ms; weights of one run sum to 1, log evidence natural
 * Domain    observations that `checkObservations` has passed, in its order; instants on whole minutes
 * Errors    contents are no less than 0; inflow is even within a step of the cloud, and an uncharted void ends one
 * Source    smoothing along ancestors S-particle-paths; backward draw of a normal chain S-durbin-koopman
 */
import { hourMs } from '../quantity/index.ts';
import { openChance } from './chance.ts';
import { inflowFactor, leftVariance, personCount, stepMs, type Trace } from './cloud.ts';
import { anyVolumePerMl, drainSlipShare } from './likely.ts';
import type { FillingObservation } from './observation.ts';
import { openPerson, wholeMinute, type Person, type PersonQuestion } from './person.ts';
import { bell } from './quick.ts';

/** One stretch of time of one path: even filling, then what left at its end. */
export interface PathPiece {
  readonly fromMs: number;
  readonly toMs: number;
  readonly startMl: number;
  /** Just before anything left. */
  readonly reachedMl: number;
  /** What is left from then on. */
  readonly leftMl: number;
  /** What is left is believed afresh: nothing followed says how it came to be. */
  readonly afresh: boolean;
}

export interface PathQuestion {
  readonly observations: readonly FillingObservation[];
  readonly person: PersonQuestion & { readonly run: number };
  /** The paths begin here or when something was first told, and end with the last moment followed. */
  readonly fromMs: number;
  readonly untilMs: number;
}

/** Called for each piece of each path, path after path, latest piece first. */
export type TakePiece = (path: number, piece: PathPiece) => void;

export interface PathRun {
  /** Weight of each path among those of its run. */
  readonly weight: Float64Array;
  readonly logEvidence: number;
  readonly notValid: string | undefined;
}

interface Moment {
  fromMs: number;
  toMs: number;
  /** What each holds when all at `fromMs` was seen, and its variance. */
  readonly heldMl: Float64Array;
  readonly heldVariance: Float64Array;
  readonly inflowMl: Float64Array;
  readonly carried: Float64Array;
  /** The same carried on to `toMs`, before anything is seen there. */
  readonly afterMl: Float64Array;
  readonly afterVariance: Float64Array;
  readonly afresh: Uint8Array;
  /** Place of each person among those of the moment before. */
  readonly ancestor: Float64Array;
}

const room = (): Float64Array => new Float64Array(personCount);
const openMoment = (): Moment => ({
  fromMs: 0,
  toMs: 0,
  heldMl: room(),
  heldVariance: room(),
  inflowMl: room(),
  carried: room(),
  afterMl: room(),
  afterVariance: room(),
  afresh: new Uint8Array(personCount),
  ancestor: room(),
});
/** Taken again by the next run: a run's moments are of no use once its paths were drawn. */
const moments: Moment[] = [];

/** The person of the cloud follows a longer silence for its last day only. */
const silenceMs = 24 * hourMs;

const resetTrace = ({ carried, ancestor }: Trace): void => {
  carried.fill(1);
  for (let one = 0; one < personCount; one += 1) ancestor[one] = one;
};

/** Notes a time that passes. */
function passAndNote(person: Person, trace: Trace, toMs: number, moment: Moment): void {
  const { cloud } = person;
  const fromMs = person.atMs();
  moment.fromMs = fromMs;
  moment.toMs = toMs;
  moment.heldMl.set(cloud.contentMl);
  moment.heldVariance.set(cloud.contentVariance);
  resetTrace(trace);
  const hours = (toMs - fromMs) / hourMs;
  const usualMl = person.expectedInflowMlPerH() * hours;
  person.passTo(toMs);
  moment.ancestor.set(trace.ancestor);
  moment.carried.set(trace.carried);
  moment.afterMl.set(cloud.contentMl);
  moment.afterVariance.set(cloud.contentVariance);
  moment.afresh.fill(0);
  const cut = person.catheter() === 'in' || toMs - fromMs > silenceMs;
  for (let one = 0; one < personCount; one += 1) {
    const carried = cut ? 0 : (moment.carried[one] as number);
    moment.carried[one] = carried;
    moment.inflowMl[one] = cut
      ? 0
      : carried > 0
        ? Math.max(0, (moment.afterMl[one] as number) / carried - (moment.heldMl[one] as number))
        : usualMl * inflowFactor(cloud, one);
  }
}

/** Notes what is seen at one instant. */
function seeAndNote(
  person: Person,
  trace: Trace,
  observation: FillingObservation,
  moment: Moment,
  { prior }: PersonQuestion,
  share: () => number,
): void {
  const { cloud } = person;
  const beforeMl = cloud.contentMl.slice();
  const beforeVariance = cloud.contentVariance.slice();
  const drains = person.catheter() === 'in';
  resetTrace(trace);
  person.see(observation);
  moment.fromMs = person.atMs();
  moment.toMs = moment.fromMs;
  moment.inflowMl.fill(0);
  moment.afresh.fill(0);
  moment.ancestor.set(trace.ancestor);
  moment.carried.set(trace.carried);
  moment.afterMl.set(cloud.contentMl);
  moment.afterVariance.set(cloud.contentVariance);
  const cameMl =
    observation.kind === 'drained' && observation.volumeMl !== undefined && !drains
      ? observation.volumeMl + prior.leftAfterDrainingMl
      : undefined;
  for (let one = 0; one < personCount; one += 1) {
    const from = trace.ancestor[one] as number;
    const carried = moment.carried[one] as number;
    let heldMl = beforeMl[from] as number;
    let variance = beforeVariance[from] as number;
    if (observation.kind === 'reading' && carried === 1) {
      heldMl = moment.afterMl[one] as number;
      variance = moment.afterVariance[one] as number;
    } else if (observation.kind === 'void' && carried > 0 && carried < 1) {
      heldMl = (moment.afterMl[one] as number) / carried;
      variance = Math.max(0, (moment.afterVariance[one] as number) - leftVariance) / (carried * carried);
    } else if (cameMl !== undefined) {
      const error = prior.drainedSdMl ** 2 + (prior.drainedShare * heldMl) ** 2;
      const right = (1 - drainSlipShare) * bell(cameMl - heldMl, Math.sqrt(variance + error));
      if (share() * (right + drainSlipShare * anyVolumePerMl) < right) {
        const gain = variance / (variance + error);
        heldMl = Math.max(0, heldMl + gain * (cameMl - heldMl));
        variance = (1 - gain) * variance;
      }
    } else if (observation.kind === 'reading') moment.afresh[one] = 1;
    moment.heldMl[one] = heldMl;
    moment.heldVariance[one] = variance;
  }
}

/** Follows one cloud through everything and draws a path back from each of its persons. */
export function runPaths(question: PathQuestion, take: TakePiece): PathRun {
  const { observations, person: asked } = question;
  const [fromMs, untilMs] = [wholeMinute(question.fromMs), wholeMinute(question.untilMs)];
  const first = observations[0];
  const startMs = first && first.atMs <= untilMs ? wholeMinute(first.atMs) : fromMs;
  const person = openPerson(asked, Math.min(startMs, fromMs));
  const trace = person.cloud.trace as Trace;
  const chance = openChance(asked.run);
  chance.setFor(pathEvent, 0);
  let count = 0;
  const next = (): Moment => {
    const moment = (moments[count] ??= openMoment());
    count += 1;
    return moment;
  };
  const passUntil = (toMs: number): void => {
    if (toMs <= fromMs) {
      person.passTo(toMs);
      return;
    }
    if (person.atMs() < fromMs) person.passTo(fromMs);
    if (toMs - person.atMs() > silenceMs) passAndNote(person, trace, toMs - silenceMs, next());
    while (person.atMs() < toMs) passAndNote(person, trace, Math.min(toMs, person.atMs() + stepMs), next());
  };
  for (const observation of observations) {
    const atMs = wholeMinute(observation.atMs);
    if (atMs > untilMs) break;
    passUntil(atMs);
    if (atMs < fromMs) person.see(observation);
    else seeAndNote(person, trace, observation, next(), asked, chance.share);
  }
  passUntil(untilMs);
  for (let path = 0; path < personCount; path += 1) drawBack(path, count, chance.normal, take);
  return {
    weight: person.cloud.weight.slice(),
    logEvidence: trace.logEvidence[0] as number,
    notValid: person.notValid(),
  };
}

function drawBack(path: number, count: number, normal: () => number, take: TakePiece): void {
  let place = path;
  let leftMl: number | undefined;
  for (let back = count - 1; back >= 0; back -= 1) {
    const moment = moments[back] as Moment;
    const afterMl = moment.afterMl[place] as number;
    const afterVariance = moment.afterVariance[place] as number;
    leftMl ??= Math.max(0, afterMl + Math.sqrt(afterVariance) * normal());
    const carried = moment.carried[place] as number;
    let startMl = moment.heldMl[place] as number;
    let variance = moment.heldVariance[place] as number;
    if (carried > 0 && afterVariance > 0) {
      const gain = (carried * variance) / afterVariance;
      startMl += gain * (leftMl - afterMl);
      variance = Math.max(0, variance - gain * carried * variance);
    }
    if (variance > 1e-9) startMl += Math.sqrt(variance) * normal();
    startMl = Math.max(0, startMl);
    take(path, {
      fromMs: moment.fromMs,
      toMs: moment.toMs,
      startMl,
      reachedMl: startMl + (moment.inflowMl[place] as number),
      leftMl,
      afresh: moment.afresh[place] === 1,
    });
    leftMl = startMl;
    place = moment.ancestor[place] as number;
  }
}

const pathEvent = 1_000_005;
