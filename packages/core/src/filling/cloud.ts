/**
 * A few hundred made-up persons who might be this patient, each with a bladder that fills, is emptied, and is seen. What
 * is charted makes some of them more likely than others; together they say what the bladder holds, in as many humps as
 * there are stories.
 *
 *     d log(inflow / expected) = pull to this person's own level + noise      content += inflow · time
 *     chance of passing urine in an hour = rises with content over capacity; part of it nobody has charted yet
 *     chance of a drain nobody has charted yet: after a look at or over the limit, or by routine
 *
 * A void that would have been charted by now, and wasn't, speaks against the persons who would have had one.
 *
 * Units     mL, mL/h, hours; instants in ms; weights sum to 1 after `evenOut`
 * Domain    arrays of one length; content ≥ 0
 * Source    sequential importance sampling with systematic resampling and a little jitter (S-particle-filter)
 */
import { hourMs, minuteMs } from '../quantity/index.ts';
import { normalQuantile } from '../statistics/distributions.ts';
import { strewnNormal, type Chance } from './chance.ts';
import { drainNotCharted, voidNotCharted } from './charted.ts';
import { expectedInflowMlPerH, isNight, type Given } from './inflow.ts';
import type { FillingPrior } from './prior.ts';
import { exponential, exponentialsOf } from './quick.ts';

export const personCount = 336;

/** How someone empties: well; only in part; hardly; hardly yet. */
export const empties = { well: 0, partly: 1, hardly: 2, hardlyYet: 3 } as const;

export interface Cloud {
  readonly weight: Float64Array;
  /** Middle of what each may hold, and its variance: the content itself is not drawn but carried as a normal. */
  readonly contentMl: Float64Array;
  readonly contentVariance: Float64Array;
  /** Natural log of inflow over what is expected: the part that wanders, and this person's own. */
  readonly wanders: Float64Array;
  readonly own: Float64Array;
  readonly capacityMl: Float64Array;
  /** How much each feels of how full they are: 1 as usual, less with blunted sensation. */
  readonly feels: Float64Array;
  /** Share of the content that stays behind at a void. */
  readonly keepsShare: Float64Array;
  /** Inflow beyond 1 times the usual while a relieved bladder's kidneys run off what was held. */
  readonly relief: Float64Array;
  readonly empties: Uint8Array;
  /** Drained since the last look, with nobody having charted it yet. */
  readonly drained: Uint8Array;
  /** Took a reading for one of other fluid: what it lies beside is there at the next one, too. */
  readonly otherFluid: Uint8Array;
  /** Kept only where somebody looks back along the paths. */
  readonly trace?: Trace;
}

/** What a look back along the paths needs of each person since it was last asked. */
export interface Trace {
  /** Share of what was held then that is held still; 0 once emptied or taken for something else. */
  readonly carried: Float64Array;
  /** The place of whom each person stems from. */
  readonly ancestor: Float64Array;
  /** Natural log of how likely everything seen so far is; one number. */
  readonly logEvidence: Float64Array;
}

export interface Surroundings {
  readonly given: Given;
  /** Nothing leaves by itself while a catheter drains. */
  readonly draining: boolean;
  readonly catheterIn: boolean;
  /** Until when a regional block keeps someone from passing urine. */
  readonly blockUntilMs: number;
  /** Until when a drain is likely to follow a look at or over the limit. */
  readonly drainLikelyUntilMs: number;
  readonly lastDrainedMs: number;
}

export interface CloudSettings {
  readonly prior: FillingPrior;
  /** The instant the question is asked at: what is charted by then is known. */
  readonly nowMs: number;
  /** How far the clock on the wall is ahead of UTC. */
  readonly clockAheadMs: number;
  readonly chance: Chance;
  /** Which of several clouds with other chances, each with a trace. Absent for the one that answers. */
  readonly run?: number;
}

/** Left in the bladder after a drain or beside a catheter, mL and mL². S-made-person-settings */
const emptyMl = 16;
const emptyVariance = 64;

/** Shares kept by who hardly empties. S-made-person-settings */
const hardlyKeeps = (chance: Chance): number => 0.83 + 0.14 * chance.share();
/** What is left after emptying well: up to a tenth (S-clinical2-R10). */
const wellKeeps = (chance: Chance): number => 0.01 + 0.08 * chance.share();

export function drawCloud({ prior, chance, run }: CloudSettings): Cloud {
  const room = (): Float64Array => new Float64Array(personCount);
  const cloud: Cloud = {
    weight: room().fill(1 / personCount),
    contentMl: room(),
    contentVariance: room(),
    wanders: room(),
    own: room(),
    capacityMl: room(),
    feels: room(),
    keepsShare: room(),
    relief: room(),
    empties: new Uint8Array(personCount),
    drained: new Uint8Array(personCount),
    otherFluid: new Uint8Array(personCount),
    ...(run === undefined ? {} : { trace: openTrace() }),
  };
  chance.setFor(0, 0);
  for (let person = 0; person < personCount; person += 1) {
    drawInflow(cloud, person, prior, run);
    cloud.capacityMl[person] =
      prior.ownCapacityMl === undefined
        ? Math.max(leastCapacityMl, prior.capacityMeanMl + prior.capacitySdMl * chance.normal())
        : prior.ownCapacityMl * Math.exp(prior.ownCapacityLogSd * chance.normal());
    cloud.contentMl[person] =
      chance.share() < prior.startFullShare
        ? fullestShare * (cloud.capacityMl[person] as number) * chance.share()
        : prior.startMedianMl * Math.exp(prior.startLogSd * chance.normal());
    cloud.contentVariance[person] =
      (startVariation * (cloud.contentMl[person] as number)) ** 2 + leftVariance;
  }
  drawEmptying(cloud, prior, chance);
  for (let person = 0; person < personCount; person += 1) {
    const feels = chance.share();
    cloud.feels[person] =
      feels < prior.numbShare ? numbFeels : feels < prior.numbShare + prior.bluntedShare ? bluntedFeels : 1;
  }
  return cloud;
}

/** How each empties, as drawn at first. */
function drawEmptying(cloud: Cloud, prior: FillingPrior, chance: Chance): void {
  const { poorlyEmptiesShare, hardlyEmptiesShare, notYetEmptiesShare } = prior;
  for (let person = 0; person < personCount; person += 1) {
    const kind = chance.share();
    if (kind < poorlyEmptiesShare) {
      cloud.empties[person] = empties.partly;
      cloud.keepsShare[person] = 0.3 + 0.4 * chance.share();
    } else if (kind < poorlyEmptiesShare + hardlyEmptiesShare + notYetEmptiesShare) {
      cloud.empties[person] =
        kind < poorlyEmptiesShare + hardlyEmptiesShare ? empties.hardly : empties.hardlyYet;
      cloud.keepsShare[person] = hardlyKeeps(chance);
    } else cloud.keepsShare[person] = wellKeeps(chance);
  }
}

/**
 * Draws that anew: what somebody passed before an operation, a birth or a catheter doesn't tell how they empty after it.
 */
export function emptiesAnew(cloud: Cloud, { prior, chance }: CloudSettings): void {
  chance.setFor(0, 1);
  cloud.empties.fill(empties.well);
  drawEmptying(cloud, prior, chance);
}

/** One pair for each person: what wanders, and what is their own. */
const strewnIn = (run: number): readonly [Float64Array, Float64Array] =>
  [2, 3].map((base) =>
    Float64Array.from({ length: personCount }, (_, person) => strewnNormal(run * personCount + person, base)),
  ) as [Float64Array, Float64Array];
const strewn = [strewnIn(0)];

function drawInflow(cloud: Cloud, person: number, prior: FillingPrior, run = 0): void {
  const [wanders, own] = (strewn[run] ??= strewnIn(run));
  cloud.wanders[person] = prior.inflowLogSd * (wanders[person] as number);
  cloud.own[person] = prior.personLogSd * (own[person] as number);
}

const openTrace = (): Trace => ({
  carried: new Float64Array(personCount).fill(1),
  ancestor: Float64Array.from({ length: personCount }, (_, person) => person),
  logEvidence: new Float64Array(1),
});

/** S-job-4.2: no bladder holds less. */
const leastCapacityMl = 200;
const fullestShare = 1.5;
/** Each person's start covers its surroundings, so that the cloud leaves no gaps. */
const startVariation = 0.2;

/** Empties every bladder of the cloud: a catheter, or a drain that was charted. */
export function emptyAll(cloud: Cloud): void {
  for (let person = 0; person < personCount; person += 1) startAfresh(cloud, person, emptyMl, emptyVariance);
}

/** Says what one person holds. */
export function setContent(cloud: Cloud, person: number, contentMl: number, variance: number): void {
  cloud.contentMl[person] = contentMl;
  cloud.contentVariance[person] = variance;
}

/** The same, where it owes nothing to what was held before. */
export function startAfresh(cloud: Cloud, person: number, contentMl: number, variance: number): void {
  setContent(cloud, person, contentMl, variance);
  if (cloud.trace !== undefined) cloud.trace.carried[person] = 0;
}

/** Leaves a person with a share of what they hold. */
export function keepShare(cloud: Cloud, person: number, share: number): void {
  cloud.contentMl[person] = (cloud.contentMl[person] as number) * share;
  cloud.contentVariance[person] = (cloud.contentVariance[person] as number) * share * share + leftVariance;
  if (cloud.trace !== undefined)
    cloud.trace.carried[person] = (cloud.trace.carried[person] as number) * share;
}

/** mL²: how unevenly someone empties to the same share. S-made-person-settings */
export const leftVariance = 9;

// Leaks begin at, and urine runs over from, these shares of capacity. S-made-person-settings
const leakStart = 0.4;
const overflowStart = 1.1;
const overflowsPerH = 2;
const rareLeaksPerH = 0.02;

/** How much of their filling persons with blunted sensation, and with next to none, feel. S-made-person-settings */
const bluntedFeels = 2 / 3;
const numbFeels = 1 / 8;

const hazardSteps = 200;

/** Voids, and leaks of who can't hold or empty, an hour: by content over capacity, in steps of 1/200 up to twice that. */
export interface Hazards {
  readonly voids: Float64Array;
  readonly leaks: Float64Array;
  /** Share of those voids that each kind of person has. */
  readonly held: Float64Array;
}

export function hazardsOf(prior: FillingPrior): Hazards {
  const by = (hazard: (filled: number) => number): Float64Array =>
    Float64Array.from({ length: 2 * hazardSteps + 1 }, (_, place) => hazard(place / hazardSteps));
  return {
    voids: by(
      (filled) =>
        prior.voidsLowPerH +
        prior.voidsHighPerH / (1 + Math.exp((prior.urgeShare - filled) / prior.urgeSpread)),
    ),
    leaks: by(
      (filled) =>
        (filled > leakStart ? prior.leaksPerH : rareLeaksPerH) + (filled > overflowStart ? overflowsPerH : 0),
    ),
    held: heldShares(prior),
  };
}

/** Where that stands for so full a bladder. */
export const hazardPlace = (filled: number): number =>
  filled >= 2 ? 2 * hazardSteps : (filled * hazardSteps) | 0;

function heldShares({ voidsShare, poorlyVoidsShare, hardlyVoidsShare }: FillingPrior): Float64Array {
  return Float64Array.of(1, poorlyVoidsShare, hardlyVoidsShare, hardlyVoidsShare).map(
    (share) => share * voidsShare,
  );
}

/** As many even slices of the normal as there are persons; each step deals them out in another order. */
const dealtNormals = (() => {
  const middles = Float64Array.from({ length: personCount }, (_, place) =>
    normalQuantile((place + 0.5) / personCount),
  );
  const spread = Math.sqrt(middles.reduce((sum, one) => sum + one * one, 0) / personCount);
  return middles.map((one) => one / spread);
})();
/** Strides that meet every place of the row once: primes that do not divide it. */
const strides = Int32Array.of(
  71,
  97,
  103,
  107,
  109,
  113,
  127,
  131,
  137,
  139,
  149,
  151,
  157,
  163,
  167,
  173,
  179,
  181,
  191,
  193,
  197,
  199,
  211,
  223,
  227,
  229,
  233,
  239,
  241,
  251,
  257,
  263,
);
const strideOf = (chance: Chance): number => strides[(chance.share() * strides.length) | 0] as number;
const next = (place: number, stride: number): number =>
  place + stride < personCount ? place + stride : place + stride - personCount;

const heldOf = new Float64Array(4);
const leaksOf = new Float64Array(4);
const inflowFactors = new Float64Array(personCount);

/** Inflow is even and at most one thing happens within a step. */
export const stepMs = 20 * minuteMs;
const drainingStepMs = hourMs;
/** What lies so far back is followed in wider steps. */
const longAgoMs = 6 * hourMs;
const longAgoStepMs = 30 * minuteMs;

/** e^−x without a call, for the small chances of a step: within x³/6. */
const unlikelyToPass = (x: number): number => 1 - x + 0.5 * x * x;

/** Lets each inflow wander for so long, and what is usual times its own part run in. */
function flowIn(cloud: Cloud, usualMl: number, hours: number, { prior, chance }: CloudSettings): void {
  const { wanders, own, relief, contentMl } = cloud;
  const keeps = Math.exp(-hours / prior.inflowForgetsH);
  const stirs = prior.inflowLogSd * Math.sqrt(1 - keeps * keeps);
  const reliefKeeps = Math.exp(-hours / prior.reliefFadesH);
  const stride = strideOf(chance);
  let dealt = (chance.share() * personCount) | 0;
  for (let person = 0; person < personCount; person += 1) {
    const wandered = keeps * (wanders[person] as number) + stirs * (dealtNormals[dealt] as number);
    wanders[person] = wandered;
    inflowFactors[person] = wandered + (own[person] as number);
    dealt = next(dealt, stride);
  }
  exponentialsOf(inflowFactors);
  for (let person = 0; person < personCount; person += 1) {
    const relieved = relief[person] as number;
    contentMl[person] =
      (contentMl[person] as number) + usualMl * (inflowFactors[person] as number) * (1 + relieved);
    relief[person] = relieved * reliefKeeps;
  }
}

/**
 * Lets time pass for everyone. `event` numbers what was seen last, so that chance belongs to it.
 *
 * @param firstStep steps already taken since then, so that a time passed in parts does not draw the same chance again
 * @returns steps taken since then
 */
export function passTime(
  cloud: Cloud,
  fromMs: number,
  toMs: number,
  event: number,
  around: Surroundings,
  settings: CloudSettings,
  hazards: Hazards,
  firstStep = 0,
): number {
  const { prior, chance, nowMs, clockAheadMs } = settings;
  const { contentMl, keepsShare, weight, drained, capacityMl, feels } = cloud;
  const kinds = cloud.empties;
  const { voids: voidsByPlace, leaks: leaksByPlace } = hazards;
  const { hardlyYet, well } = empties;
  const leaksByItself = prior.voidsShare < 0.5;
  let atMs = fromMs;
  let step = firstStep;
  for (; atMs < toMs; step += 1) {
    const spanMs = Math.min(
      around.draining ? drainingStepMs : nowMs - atMs > longAgoMs ? longAgoStepMs : stepMs,
      toMs - atMs,
    );
    const hours = spanMs / hourMs;
    const middleMs = atMs + spanMs / 2;
    chance.setFor(event, step);
    const usualMl = expectedInflowMlPerH(prior, around.given, middleMs, clockAheadMs) * hours;
    const unseenVoid = voidNotCharted(prior, nowMs - middleMs);
    const unseenDrain = drainNotCharted(prior, nowMs - middleMs);
    const held =
      (middleMs < around.blockUntilMs ? prior.blockVoidsShare : 1) *
      (isNight(middleMs, clockAheadMs) ? prior.nightVoidsShare : 1);
    const drainLikely = middleMs < around.drainLikelyUntilMs;
    const usualDrains =
      hours *
      (middleMs - around.lastDrainedMs > prior.routineDrainAfterH * hourMs
        ? prior.routineDrainsPerH
        : prior.otherDrainsPerH);
    const limitDrains = hours * prior.limitDrainsPerH;
    for (let kind = 0; kind < heldOf.length; kind += 1) {
      heldOf[kind] = (hazards.held[kind] as number) * held * hours;
      leaksOf[kind] = leaksByItself || kind >= empties.hardly ? hours : 0;
    }
    const emptiesNow = hours / prior.emptiesAgainH;
    flowIn(cloud, usualMl, hours, settings);
    // As many of the cloud do each of these as are expected to, give or take one; only who it is, is chance.
    let drainsDue = chance.share();
    let voidsDue = chance.share();
    let leaksDue = chance.share();
    let emptiesDue = chance.share();
    atMs += spanMs;
    if (around.draining) emptyAll(cloud);
    if (around.catheterIn) continue;
    for (let person = 0; person < personCount; person += 1) {
      let kind = kinds[person] as number;
      if (kind === hardlyYet) {
        emptiesDue += emptiesNow;
        if (emptiesDue >= 1) {
          emptiesDue -= 1;
          kind = well;
          kinds[person] = kind;
          keepsShare[person] = wellKeeps(chance);
        }
      }
      const filled = (contentMl[person] as number) / (capacityMl[person] as number);
      const drains = drainLikely && drained[person] === 0 ? limitDrains : usualDrains;
      const place = hazardPlace(filled);
      const voids =
        (heldOf[kind] as number) * (voidsByPlace[hazardPlace(filled * (feels[person] as number))] as number);
      leaksDue += (leaksOf[kind] as number) * (leaksByPlace[place] as number);
      drainsDue += drains * unseenDrain;
      voidsDue += voids * unseenVoid;
      if (drainsDue >= 1) {
        drainsDue -= 1;
        startAfresh(cloud, person, emptyMl, emptyVariance);
        drained[person] = 1;
      } else if (voidsDue >= 1) {
        voidsDue -= 1;
        const left = (keepsShare[person] as number) * (0.7 + 0.6 * chance.share());
        keepShare(cloud, person, Math.min(1, left));
      }
      weight[person] =
        (weight[person] as number) * unlikelyToPass(drains * (1 - unseenDrain) + voids * (1 - unseenVoid));
      if (leaksDue >= 1) {
        leaksDue -= 1;
        keepShare(cloud, person, 0.9 - 0.4 * chance.share());
      }
    }
  }
  return step;
}

/** By how much one person's inflow differs from what is expected, as a factor. */
export const inflowFactor = (cloud: Cloud, person: number): number =>
  (1 + (cloud.relief[person] as number)) *
  exponential((cloud.wanders[person] as number) + (cloud.own[person] as number));

/** Lets the cloud fill with nothing leaving, one step; no weight changes. */
export function fillOnly(
  cloud: Cloud,
  fromMs: number,
  toMs: number,
  step: number,
  around: Surroundings,
  settings: CloudSettings,
): void {
  const { prior, chance, clockAheadMs } = settings;
  const hours = (toMs - fromMs) / hourMs;
  const usualMl = expectedInflowMlPerH(prior, around.given, (fromMs + toMs) / 2, clockAheadMs) * hours;
  chance.setFor(forecastEvent, step);
  flowIn(cloud, usualMl, hours, settings);
}

const forecastEvent = 1_000_003;

export const copyOf = (cloud: Cloud): Cloud => ({
  weight: cloud.weight.slice(),
  contentMl: cloud.contentMl.slice(),
  contentVariance: cloud.contentVariance.slice(),
  wanders: cloud.wanders.slice(),
  own: cloud.own.slice(),
  capacityMl: cloud.capacityMl.slice(),
  feels: cloud.feels.slice(),
  keepsShare: cloud.keepsShare.slice(),
  relief: cloud.relief.slice(),
  empties: cloud.empties.slice(),
  drained: cloud.drained.slice(),
  otherFluid: cloud.otherFluid.slice(),
});

/** Sum of a list. An iterator would box each of it. */
export function totalOf(values: Float64Array): number {
  let sum = 0;
  for (let place = 0; place < values.length; place += 1) sum += values[place] as number;
  return sum;
}

/** Makes the weights sum to 1. Weights that have all but vanished become even again. */
export function evenOut({ weight, trace }: Cloud): void {
  const sum = totalOf(weight);
  if (trace !== undefined)
    trace.logEvidence[0] = (trace.logEvidence[0] as number) + Math.log(Math.max(sum, 1e-290));
  if (!(sum > 1e-290)) {
    weight.fill(1 / personCount);
    return;
  }
  for (let person = 0; person < personCount; person += 1) weight[person] = (weight[person] as number) / sum;
}

const source = new Int32Array(personCount);
const room = new Float64Array(personCount);
const smallRoom = new Uint8Array(personCount);

/**
 * Replaces unlikely persons by copies of likely ones, each a little different, once fewer than half count. Copies stand
 * side by side, so that what is shared out evenly along the row is shared out evenly among them. `newInflow`: nothing seen
 * so far tells of their inflow, so each gets one of their own.
 */
export function resample(cloud: Cloud, event: number, settings: CloudSettings, newInflow: boolean): void {
  const { chance, prior } = settings;
  const { weight } = cloud;
  let squares = 0;
  for (let person = 0; person < personCount; person += 1) squares += (weight[person] as number) ** 2;
  if (1 / squares > personCount * resampleFrom) return;
  chance.setFor(event, resampleStep);
  const start = chance.share();
  let run = weight[0] as number;
  let from = 0;
  for (let person = 0; person < personCount; person += 1) {
    const wanted = (person + start) / personCount;
    while (run < wanted && from < personCount - 1) {
      from += 1;
      run += weight[from] as number;
    }
    source[person] = from;
  }
  for (const values of [
    cloud.contentMl,
    cloud.contentVariance,
    cloud.wanders,
    cloud.own,
    cloud.capacityMl,
    cloud.feels,
    cloud.keepsShare,
    cloud.relief,
    ...(cloud.trace === undefined ? [] : [cloud.trace.carried, cloud.trace.ancestor]),
  ]) {
    for (let person = 0; person < personCount; person += 1)
      room[person] = values[source[person] as number] as number;
    values.set(room);
  }
  for (const values of [cloud.empties, cloud.drained, cloud.otherFluid]) {
    for (let person = 0; person < personCount; person += 1)
      smallRoom[person] = values[source[person] as number] as number;
    values.set(smallRoom);
  }
  weight.fill(1 / personCount);
  if (newInflow)
    for (let person = 0; person < personCount; person += 1) drawInflow(cloud, person, prior, settings.run);
  else {
    stir(cloud.wanders, chance, -Infinity);
    stir(cloud.own, chance, -Infinity);
  }
  stir(cloud.capacityMl, chance, leastCapacityMl);
  for (let person = 1; person < personCount; person += 1) {
    if (cloud.empties[person] !== empties.partly || source[person] !== source[person - 1]) continue;
    const keeps = (cloud.keepsShare[person] as number) + keepsJitter * chance.normal();
    cloud.keepsShare[person] = Math.min(mostPartlyKept, Math.max(leastPartlyKept, keeps));
  }
}

/** How much of its spread a value gets anew; it is drawn to the middle by as much, so that the spread stays. */
const ownShare = 0.3;
const keptShare = Math.sqrt(1 - ownShare * ownShare);

/** Makes copies of one person differ again in what does not change with time. */
function stir(values: Float64Array, chance: Chance, least: number): void {
  const stride = strideOf(chance);
  let dealt = (chance.share() * personCount) | 0;
  let sum = 0;
  let squares = 0;
  for (let person = 0; person < personCount; person += 1) {
    const value = values[person] as number;
    sum += value;
    squares += value * value;
  }
  const middle = sum / personCount;
  const anew = ownShare * Math.sqrt(Math.max(0, squares / personCount - middle * middle));
  for (let person = 0; person < personCount; person += 1) {
    const value = middle + keptShare * ((values[person] as number) - middle);
    const stirred = value + anew * (dealtNormals[dealt] as number);
    values[person] = stirred < least ? least : stirred;
    dealt = next(dealt, stride);
  }
}

// Shares kept by who empties in part, and how far copies differ. S-made-person-settings
const leastPartlyKept = 0.15;
const mostPartlyKept = 0.85;
const keepsJitter = 0.03;
const resampleStep = 1_000_001;
/** Once fewer than this share of the persons count. */
const resampleFrom = 0.22;
