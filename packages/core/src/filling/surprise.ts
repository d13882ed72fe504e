/**
 * How surprising a volume is before it is saved: where it lies in what the cloud expects to be measured.
 *
 *     reading, drain   tail = 2 · min(P(measured ≤ y), P(measured ≥ y))
 *     void             tail = P(at least y could have been passed)
 *     bag              tail as for a reading, of what would have run in since it was last emptied
 *
 * Units     mL; tails 0 to 1, small when surprising
 * Domain    observations known when the volume is charted; those after it are not looked at
 * Not for   saying what the volume should have been
 * Source    ADR 0013
 */
import { hourMs, isRefusal, type Refusal } from '../quantity/index.ts';
import { normalCdf } from '../statistics/distributions.ts';
import { inflowFactor, personCount } from './cloud.ts';
import { readingVariance } from './likely.ts';
import {
  checkObservations,
  type BagObservation,
  type DrainedObservation,
  type FillingObservation,
  type MeasuredVoidObservation,
  type ReadingObservation,
} from './observation.ts';
import { followPerson, type PersonQuestion } from './person.ts';
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
}

/** Shares taken as mistaken, and what may then be measured. S-made-person-settings */
const mistakenShare = 0.001;
const catheterMistakenShare = 0.02;
const anyContentMl = 1000;
/** How far a bag differs from what the inflow at its end would bring, as a share, and the least. S-made-person-settings */
const bagShare = 0.5;
const bagSdMl = 25;

export function surpriseOf(
  observations: readonly FillingObservation[],
  measured: Measured,
  question: PersonQuestion,
): Surprise | Refusal {
  const bad = checkObservations([measured]);
  if (isRefusal(bad)) return bad;
  const ordered = checkObservations(observations);
  if (isRefusal(ordered)) return ordered;
  const person = followPerson(ordered, question, measured.atMs);
  const { cloud } = person;
  const { prior } = question;
  const y = measured.volumeMl;
  const middle = cloud.contentMl.slice();
  const variance = cloud.contentVariance.slice();
  if (measured.kind === 'bag') {
    const hours = Math.max(0, (measured.atMs - measured.fromMs) / hourMs);
    const usual = person.expectedInflowMlPerH();
    for (let one = 0; one < personCount; one += 1) {
      const inflow = usual * inflowFactor(cloud, one);
      middle[one] = inflow * hours;
      variance[one] = (bagShare * inflow * hours) ** 2 + bagSdMl ** 2;
    }
  }
  const error =
    measured.kind === 'reading'
      ? readingVariance(measured, prior)
      : measured.kind === 'drained'
        ? (ml: number): number => prior.drainedSdMl ** 2 + (prior.drainedShare * ml) ** 2
        : measured.kind === 'void'
          ? (): number => prior.voidSdMl ** 2 + ((measured.relativeSd ?? prior.voidShare) * y) ** 2
          : (): number => 0;
  let below = 0;
  for (let one = 0; one < personCount; one += 1) {
    const expected = middle[one] as number;
    const spread = Math.sqrt((variance[one] as number) + error(expected));
    variance[one] = spread * spread;
    below += (cloud.weight[one] as number) * normalCdf((y - expected) / spread);
  }
  // What is believed may be wrong as a whole, the more so of a catheter that is charted as in: then anything may come.
  const mistaken = person.catheter() === 'in' ? catheterMistakenShare : mistakenShare;
  const anything = Math.min(1, y / anyContentMl);
  below = (1 - mistaken) * below + mistaken * anything;
  const above = Math.max(0, 1 - below);
  const atLeast = measured.kind === 'reading' && measured.bound === 'at-least';
  const points = pointsOf(middle, variance, cloud.weight);
  const order = inOrder(points.values, points.weight);
  return {
    tail: measured.kind === 'void' || atLeast ? above : Math.min(1, 2 * Math.min(below, above)),
    expectedMl: { low: order.quantile(0.005) ?? 0, high: order.quantile(0.995) ?? 0 },
  };
}
