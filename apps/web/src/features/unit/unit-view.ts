/** Figures of a unit over a span, cut into weeks, and the pairs of readings and drained volumes. */
import { dayMs, isRefusal } from '@ebbline/core/quantity';
import { unitFigures, type AgreementPair, type UnitFigures } from '@ebbline/core/facts';
import { limitsOfAgreement, type LimitsOfAgreement } from '@ebbline/core/statistics';
import type { Entry, Ward } from '@ebbline/core/record';

export interface Bucket {
  readonly label: string;
  readonly paired: UnitFigures['paired'];
}

type Share = UnitFigures['looks']['inTime'];

export const figuresOf = (entries: readonly Entry[], ward: Ward, fromMs: number, toMs: number): UnitFigures =>
  unitFigures({ entries, ward: ward.id, fromMs, toMs, settings: ward.settings, zone: ward.zone });

/** The 95 % interval of a share, as counts out of the same whole. */
export function countRange(share: Share): { readonly low: number; readonly high: number } | undefined {
  if (!share.intervalPercent) return undefined;
  return {
    low: (share.intervalPercent.low * share.of) / 100,
    high: (share.intervalPercent.high * share.of) / 100,
  };
}

/** Whole weeks back from the end; the oldest may be cut short. */
export function weeksOf(
  fromMs: number,
  toMs: number,
): readonly { readonly fromMs: number; readonly toMs: number }[] {
  const weeks: { fromMs: number; toMs: number }[] = [];
  for (let end = toMs; end > fromMs; end -= 7 * dayMs)
    weeks.unshift({ fromMs: Math.max(fromMs, end - 7 * dayMs), toMs: end });
  return weeks;
}

export interface PairPoint {
  readonly pair: AgreementPair & { readonly patient: string };
  /** Drained less the filling between the two, mL: what was there when it was read. */
  readonly thenMl: { readonly low: number; readonly middle: number; readonly high: number };
  /** Read less what was there, mL. */
  readonly differenceMl: { readonly low: number; readonly middle: number; readonly high: number };
  readonly meanMl: number;
}

export function pairPointOf(pair: AgreementPair & { readonly patient: string }): PairPoint {
  const low = pair.drainedMl - pair.fillingMl.high;
  const high = pair.drainedMl - pair.fillingMl.low;
  const middle = (low + high) / 2;
  return {
    pair,
    thenMl: { low, middle, high },
    differenceMl: { low: pair.readMl - high, middle: pair.readMl - middle, high: pair.readMl - low },
    meanMl: (pair.readMl + middle) / 2,
  };
}

/** Limits of agreement of the exact readings; a low bound only is no reading of the whole and is left out. */
export function agreementOf(points: readonly PairPoint[]): LimitsOfAgreement | undefined {
  const answer = limitsOfAgreement(
    points
      .filter((point) => !point.pair.readAtLeast)
      .map((point) => [point.pair.readMl, point.thenMl.middle] as const),
  );
  return isRefusal(answer) ? undefined : answer;
}
