/**
 * How surprising a volume is before it is saved: where it lies in what the cloud expects to be measured, and whether a
 * slip would explain it better than the bladder does.
 *
 *     reading, drain   tail = 2 · min(P(measured ≤ y), P(measured ≥ y))
 *     void             tail = P(at least y could have been passed)
 *     bag              tail as for a reading, of what would have run in since it was last emptied
 *     fault share      Σ share of a slip · how likely it shows y  /  the same of everything, soundness included
 *
 * Units     mL; tails and shares 0 to 1
 * Domain    observations known when the volume is charted; those after it are not looked at
 * Not for   saying what the volume should have been
 * Source    ADR 0013; shares and shapes of slips S-made-slip-settings
 */
import { hourMs, isRefusal, type Refusal } from '../quantity/index.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { inflowFactor, personCount, type Cloud } from './cloud.ts';
import {
  cutReading,
  offTargetReading,
  otherFluidReading,
  readingVariance,
  wrongShares,
  type WrongShares,
} from './likely.ts';
import {
  checkObservations,
  type BagObservation,
  type DrainedObservation,
  type FillingObservation,
  type MeasuredVoidObservation,
  type ReadingObservation,
} from './observation.ts';
import { measuredVoidLikelihoods, whoPasses } from './passed.ts';
import { followPerson, type Person, type PersonQuestion } from './person.ts';
import { bell } from './quick.ts';
import { anyonesVolume, evenness, slipsOfKeys, slipShares, type Fault } from './slips.ts';
import { inOrder, pointsOf } from './weighted.ts';

export type Measured =
  | ReadingObservation
  | MeasuredVoidObservation
  | BagObservation
  | (DrainedObservation & { readonly volumeMl: number });

export interface Surprise {
  readonly tail: number;
  /** What the bladder, or the bag, would hold by everything else: 99 in 100 lie between. */
  readonly expectedMl: { readonly low: number; readonly high: number };
  /** How likely it is that the volume is not what it seems, and what is likeliest to be wrong with it. */
  readonly faultShare: number;
  readonly likeliest: Fault;
}

/** Other fluid that leaves a reading where it was expected is no reason to ask: such a share counts so much. S-made-question-score */
const withinBandTail = 0.01;
const withinBandCounts = 0.5;
/**
 * What lies so far out is asked about whatever may explain it, as if the share were this. With a unit's own figures the
 * tails can be trusted sooner. S-made-question-score
 */
const farOutTail = { starting: 0.001, own: 0.005 } as const;
const farOutShare = 0.5;

/** How much there is to ask of a volume, 0 to 1: what a unit's `questionFrom` is held against. */
export function shareToAsk(
  { tail, faultShare, likeliest }: Surprise,
  figures: keyof typeof farOutTail = 'starting',
): number {
  if (tail < farOutTail[figures]) return Math.max(faultShare, farOutShare);
  return likeliest === 'other-fluid' && tail >= withinBandTail ? withinBandCounts * faultShare : faultShare;
}

export interface SurpriseQuestion extends PersonQuestion {
  /** Keyed by a person, not sent by the device: keys slip, and what a person reads off is round. */
  readonly typed: boolean;
}

/** Shares taken as mistaken, and what may then be measured. S-made-person-settings */
const mistakenShare = 0.001;
const catheterMistakenShare = 0.02;
const anyContentMl = 1000;
/** How far a bag differs from what the inflow at its end would bring, as a share, and the least. S-made-person-settings */
const bagShare = 0.5;
const bagSdMl = 25;
/** Share of sound volumes that the model does not foresee: an event that nobody told of. S-made-slip-settings */
const unforeseenShare = 0.06;

/** What is expected to be measured, person by person: middles and variances in mL. */
interface Expected {
  readonly cloud: Cloud;
  /** Who it may have been: whoever passes urine is likelier one who needed to. */
  readonly weight: Float64Array;
  readonly middle: Float64Array;
  readonly variance: Float64Array;
  /** How likely a volume is where nothing went wrong, in 1/mL. */
  readonly sound: (volumeMl: number) => number;
}

/** Densities of what a row of normals says. */
const mixture =
  (weight: Float64Array, middle: Float64Array, variance: Float64Array) =>
  (volumeMl: number): number => {
    let sum = 0;
    for (let one = 0; one < personCount; one += 1)
      sum +=
        (weight[one] as number) *
        bell(volumeMl - (middle[one] as number), Math.sqrt(variance[one] as number));
    return sum;
  };

function expectedOf(person: Person, measured: Measured, prior: PersonQuestion['prior']): Expected {
  const { cloud } = person;
  const middle = cloud.contentMl.slice();
  const variance = cloud.contentVariance.slice();
  switch (measured.kind) {
    case 'bag': {
      const hours = Math.max(0, (measured.atMs - measured.fromMs) / hourMs);
      const usual = person.expectedInflowMlPerH();
      for (let one = 0; one < personCount; one += 1) {
        const gathered = usual * inflowFactor(cloud, one) * hours;
        middle[one] = gathered;
        variance[one] = (bagShare * gathered) ** 2 + bagSdMl ** 2;
      }
      return {
        cloud,
        weight: cloud.weight,
        middle,
        variance,
        sound: mixture(cloud.weight, middle, variance),
      };
    }
    case 'void': {
      const passed = whoPasses(cloud, prior);
      for (let one = 0; one < personCount; one += 1)
        variance[one] =
          (variance[one] as number) +
          prior.voidSdMl ** 2 +
          ((measured.relativeSd ?? prior.voidShare) * measured.volumeMl) ** 2;
      const sound = (volumeMl: number): number => {
        const likely = measuredVoidLikelihoods(cloud, { ...measured, volumeMl }, prior);
        let sum = 0;
        for (let one = 0; one < personCount; one += 1)
          sum += (passed[one] as number) * (likely[one] as number);
        return sum;
      };
      return { cloud, weight: passed, middle, variance, sound };
    }
    case 'reading': {
      const error = readingVariance(measured, prior);
      for (let one = 0; one < personCount; one += 1)
        variance[one] = (variance[one] as number) + error(middle[one] as number);
      const emptied = mixture(cloud.weight, middle, variance);
      if (person.catheter() !== 'in')
        return { cloud, weight: cloud.weight, middle, variance, sound: emptied };
      // Beside a catheter next to nothing is in, unless it is blocked.
      const drains = Math.hypot(prior.leftAfterDrainingSdMl, Math.sqrt(error(prior.leftAfterDrainingMl)));
      const blocked = Math.hypot(prior.blockedContentSdMl, Math.sqrt(error(prior.blockedContentMl)));
      const sound = (volumeMl: number): number =>
        (1 - prior.blockedShare) * bell(volumeMl - prior.leftAfterDrainingMl, drains) +
        prior.blockedShare * bell(volumeMl - prior.blockedContentMl, blocked);
      return { cloud, weight: cloud.weight, middle, variance, sound };
    }
    case 'drained':
      for (let one = 0; one < personCount; one += 1)
        variance[one] =
          (variance[one] as number) +
          prior.drainedSdMl ** 2 +
          (prior.drainedShare * (middle[one] as number)) ** 2;
      return {
        cloud,
        weight: cloud.weight,
        middle,
        variance,
        sound: mixture(cloud.weight, middle, variance),
      };
  }
}

/** How likely each thing that goes wrong with a look shows so much. In 1/mL, shares included. */
function wrongLooks(
  { weight, contentMl, otherFluid }: Cloud,
  volumeMl: number,
  shares: WrongShares,
): readonly (readonly [Fault, number])[] {
  let cut = 0;
  let fluid = 0;
  for (let one = 0; one < personCount; one += 1) {
    const held = contentMl[one] as number;
    const own = weight[one] as number;
    cut += own * cutReading(volumeMl, held);
    fluid +=
      own *
      (otherFluid[one] === 0 ? shares.otherFluid : shares.otherFluidAgain) *
      otherFluidReading(volumeMl, held);
  }
  return [
    ['cut-below', shares.cut * cut],
    ['other-fluid', fluid],
    ['off-target', shares.offTarget * offTargetReading(volumeMl)],
  ];
}

function faultOf(
  measured: Measured,
  expected: Expected,
  { prior, typed }: SurpriseQuestion,
): { readonly faultShare: number; readonly likeliest: Fault } {
  const { kind, volumeMl } = measured;
  const even = (ml: number): number => (typed ? evenness(kind, ml) : 1);
  const anyones = (ml: number): number => anyonesVolume(kind, ml);
  const sound = (ml: number): number =>
    ((1 - unforeseenShare) * expected.sound(ml) + unforeseenShare * anyones(ml)) * even(ml);
  const faults: (readonly [Fault, number])[] = [
    ['other-chart', slipShares['other-chart'] * anyones(volumeMl) * even(volumeMl)],
    ...(typed ? slipsOfKeys(volumeMl, sound) : []),
    ...(kind === 'reading' && measured.bound === 'exact'
      ? wrongLooks(expected.cloud, volumeMl, wrongShares(prior, measured.doubts)).map(
          ([fault, likely]) => [fault, likely * even(volumeMl)] as const,
        )
      : []),
  ];
  const wrong = faults.reduce((sum, [, likely]) => sum + likely, 0);
  const [likeliest] = faults.reduce((most, one) => (one[1] > most[1] ? one : most));
  return { faultShare: wrong / (wrong + sound(volumeMl)), likeliest };
}

export function surpriseOf(
  observations: readonly FillingObservation[],
  measured: Measured,
  question: SurpriseQuestion,
): Surprise | Refusal {
  const bad = checkObservations([measured]);
  if (isRefusal(bad)) return bad;
  const ordered = checkObservations(observations);
  if (isRefusal(ordered)) return ordered;
  const person = followPerson(ordered, question, measured.atMs);
  const y = measured.volumeMl;
  const expected = expectedOf(person, measured, question.prior);
  const { weight, middle, variance } = expected;
  let below = 0;
  for (let one = 0; one < personCount; one += 1)
    below +=
      (weight[one] as number) * normalCdf((y - (middle[one] as number)) / Math.sqrt(variance[one] as number));
  // What is believed may be wrong as a whole, the more so of a catheter that is charted as in: then anything may come.
  const mistaken = person.catheter() === 'in' ? catheterMistakenShare : mistakenShare;
  const anything = Math.min(1, y / anyContentMl);
  below = (1 - mistaken) * below + mistaken * anything;
  const above = Math.max(0, 1 - below);
  const atLeast = measured.kind === 'reading' && measured.bound === 'at-least';
  const points = pointsOf(middle, variance, weight);
  const order = inOrder(points.values, points.weight);
  return {
    tail: measured.kind === 'void' || atLeast ? above : Math.min(1, 2 * Math.min(below, above)),
    expectedMl: { low: order.quantile(0.005) ?? 0, high: order.quantile(0.995) ?? 0 },
    ...faultOf(measured, expected, question),
  };
}
