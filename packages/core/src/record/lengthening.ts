/**
 * The unit's signature that lets the forecast put a look later than the ordinary time of the protocol's row, inside the
 * range that the row itself gives. Off until somebody signs, and only on a hit rate that bears it.
 *
 * Domain    a row with one time has no range: the signature then changes nothing
 * Errors    record/lengthening-too-few-pairs, record/lengthening-too-often-wrong
 * Source    bars S-made-hit-rate; exact interval S-clopper-pearson
 */
import { controlIsOn } from '../quantity/control.ts';
import { dayMs, instantMs, type Instant } from '../quantity/instant.ts';
import { isRefusal, refuse, type Refusal } from '../quantity/refusal.ts';
import { clopperPearsonInterval } from '../statistics/index.ts';
import type { UnitSettings } from './unit-settings.ts';
import type { Role } from './words.ts';

/** Who signed or took back, under the name and role of that day. */
export interface Signature {
  readonly person: string;
  readonly name: string;
  readonly role: Role;
  readonly at: Instant;
}

export interface Lengthening {
  readonly signed: Signature;
  /** The ward's hit rate on which it was signed. */
  readonly within: number;
  readonly pairs: number;
  readonly revoked?: Signature | undefined;
}

/** A unit may ask for more pairs, never for fewer. S-made-hit-rate */
export const fewestPairs = 20;

/** Who may sign: one who answers for how the unit works at the bedside. Taking back is open to many more. */
export const lengtheningSigners: readonly Role[] = ['specialist-nurse'];

type Bars = Pick<UnitSettings, 'lengthenPairsAtLeast' | 'lengthenHitsAtLeast' | 'lengthenForDays'>;

/** Why a hit rate does not bear it; undefined when it does. */
export function lengtheningRefusal(
  rate: { readonly within: number; readonly of: number },
  settings: Bars,
): Refusal | undefined {
  const pairs = Math.max(fewestPairs, settings.lengthenPairsAtLeast);
  if (rate.of < pairs)
    return refuse('record/lengthening-too-few-pairs', {
      asked: 'Let the forecast lengthen an interval',
      found: `${rate.of} pairs on this ward`,
      allowed: `at least ${pairs} pairs`,
      todo: 'Go on measuring; the protocol’s times stand.',
    });
  const interval = clopperPearsonInterval(rate.within, rate.of);
  if (isRefusal(interval)) return interval;
  const lowestPercent = Math.round(settings.lengthenHitsAtLeast * 100);
  if (interval.low < settings.lengthenHitsAtLeast)
    return refuse('record/lengthening-too-often-wrong', {
      asked: 'Let the forecast lengthen an interval',
      found: `${rate.within} of ${rate.of} within its ranges, perhaps as few as ${Math.floor(100 * interval.low)} %`,
      allowed: `a 95 % interval that begins at ${lowestPercent} % or above`,
      todo: 'Leave it off; the protocol’s times stand.',
    });
  return undefined;
}

/** When a signature ends by itself, ms since the epoch. */
export const lengtheningEndsMs = (one: Lengthening, settings: Bars): number =>
  instantMs(one.signed.at) + settings.lengthenForDays * dayMs;

/**
 * Whether the forecast may lengthen at an instant: signed by then by one who may, not taken back by then, not run out,
 * and on figures that meet the bars as the unit sets them now.
 */
export function mayLengthenAt(settings: UnitSettings, atMs: number): boolean {
  const { lengthening } = settings;
  if (!controlIsOn('H3-lengthen-signed')) return true;
  if (lengthening === undefined) return false;
  const { signed, revoked, within, pairs } = lengthening;
  return (
    lengtheningSigners.includes(signed.role) &&
    instantMs(signed.at) <= atMs &&
    atMs < lengtheningEndsMs(lengthening, settings) &&
    (revoked === undefined || atMs < instantMs(revoked.at)) &&
    lengtheningRefusal({ within, of: pairs }, settings) === undefined
  );
}
