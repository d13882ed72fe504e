/**
 * One figure under two protocols, patient by patient.
 *
 * Method    the mean of each patient's own difference, percentile bootstrap over patients (S-efron-bootstrap); which
 *           patients differ at all: exact interval of a share (S-clopper-pearson)
 * Domain    one value a patient and protocol, in the same order; below 2 patients no interval
 */
import { isRefusal } from '@ebbline/core/quantity';
import {
  bootstrapMean,
  clopperPearsonInterval,
  type MeanInterval,
  type ShareInterval,
} from '@ebbline/core/statistics';

export interface PairedFigure {
  /** Means over patients. */
  readonly inForce: number;
  readonly draft: number;
  /** Mean of draft less in force, with its 95 % interval; absent below 2 patients. */
  readonly difference?: MeanInterval;
  readonly patients: number;
  /** Patients whose two values differ, with the exact 95 % interval of their share; absent without a patient. */
  readonly differ: number;
  readonly differShare?: ShareInterval;
}

export function figureOf(
  pairs: readonly (readonly [inForce: number, draft: number])[],
  seed: number,
): PairedFigure {
  const mean = (side: 0 | 1): number =>
    pairs.length === 0 ? 0 : pairs.reduce((sum, pair) => sum + pair[side], 0) / pairs.length;
  const differences = pairs.map(([inForce, draft]) => draft - inForce);
  const difference = bootstrapMean(differences, seed);
  const differ = differences.filter((one) => one !== 0).length;
  const differShare = clopperPearsonInterval(differ, pairs.length);
  return {
    inForce: mean(0),
    draft: mean(1),
    ...(isRefusal(difference) ? {} : { difference }),
    patients: pairs.length,
    differ,
    ...(isRefusal(differShare) ? {} : { differShare }),
  };
}
