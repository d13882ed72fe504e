/**
 * What a scanner's pairs of reading and drained volume have taught of its lasting error and its spread, shrunk to what is
 * believed of any scanner. It may raise caution only: it never lowers a reading and never puts a look back.
 *
 *     error of a pair = (read − held)/held      held = drained less the filling between the two, middle of its range
 *
 * Units     shares of what was held: −0.08 is 8 % too low; mL
 * Counts    whole readings of a named scanner, at least 100 mL held. Not those that read much of which little was
 *           drained: that is another fault, and it has a warning of its own
 * Not for   patients who were not drained: nobody knows what they held, and who is drained is chosen by the reading
 * Errors    the filling's own range and the drain's are left in the spread
 * Source    shrinkage S-normal-inverse-gamma; what is believed at first S-made-device-belief
 */
import { controlIsOn, isRefusal } from '../quantity/index.ts';
import { shrunkenNormal, type Ranged, type ShrunkenPrior } from '../statistics/index.ts';
import type { Entry } from '../record/index.ts';
import type { AgreementPair } from './types.ts';

export type PatientAgreementPair = AgreementPair & {
  readonly patient: string;
  readonly drainedAtMs: number;
};

export interface DeviceError {
  readonly scanner: string;
  readonly pairs: readonly PatientAgreementPair[];
  /** Lasting error, and how much its readings scatter, as shares, with 90 % intervals. */
  readonly bias: Ranged;
  readonly spread: Ranged;
  /** The whole interval lies on one side, and there are enough pairs to say so. */
  readonly reads: 'low' | 'high' | 'as-drained';
}

/** S-made-device-belief */
const believed: ShrunkenPrior = { mean: 0, meanWorth: 9, spread: 0.14, spreadWorth: 10 };
const pairsToSay = 5;
const leastHeldMl = 100;

/** Error of a pair as a share of what was held; undefined where the pair tells nothing of the scanner. */
export function pairError(pair: AgreementPair): number | undefined {
  const heldMl = pair.drainedMl - (pair.fillingMl.low + pair.fillingMl.high) / 2;
  if (pair.readAtLeast || pair.readMuchDrainedLittle || heldMl < leastHeldMl) return undefined;
  return (pair.readMl - heldMl) / heldMl;
}

/** What is known of each scanner that has a pair, by its id. */
export function deviceErrors(pairs: readonly PatientAgreementPair[]): ReadonlyMap<string, DeviceError> {
  const byScanner = new Map<string, PatientAgreementPair[]>();
  for (const pair of pairs) {
    if (pair.scanner === undefined || pairError(pair) === undefined) continue;
    const held = byScanner.get(pair.scanner);
    if (held) held.push(pair);
    else byScanner.set(pair.scanner, [pair]);
  }
  const found = new Map<string, DeviceError>();
  for (const [scanner, own] of byScanner) {
    const learnt = shrunkenNormal(
      own.map((one) => pairError(one) ?? 0),
      believed,
    );
    if (isRefusal(learnt)) continue;
    const enough = own.length >= pairsToSay;
    found.set(scanner, {
      scanner,
      pairs: own,
      bias: learnt.mean,
      spread: learnt.spread,
      reads: enough && learnt.mean.high < 0 ? 'low' : enough && learnt.mean.low > 0 ? 'high' : 'as-drained',
    });
  }
  return found;
}

/** What a whole reading may stand for when its scanner reads low: never less than it says. */
export function raisedMl(volumeMl: number, device: DeviceError | undefined): number {
  if (device === undefined) return volumeMl;
  const corrected = volumeMl / Math.max(0.5, 1 + device.bias.likely);
  if (!controlIsOn('learnt-bias-only-raises')) return corrected;
  return device.reads === 'low' ? Math.max(volumeMl, corrected) : volumeMl;
}

/** The same entries with the readings of scanners that read low raised; the very same list when nothing changes. */
export function raisedEntries(
  live: readonly Entry[],
  devices: ReadonlyMap<string, DeviceError> | undefined,
): readonly Entry[] {
  if (devices === undefined || devices.size === 0) return live;
  let changed = false;
  const raised = live.map((entry): Entry => {
    if (entry.kind !== 'reading' || entry.payload.result !== 'exact') return entry;
    const { volumeMl, scanner } = entry.payload;
    if (volumeMl === undefined || scanner === undefined) return entry;
    const mayBeMl = raisedMl(volumeMl, devices.get(scanner));
    if (mayBeMl === volumeMl) return entry;
    changed = true;
    return { ...entry, payload: { ...entry.payload, volumeMl: mayBeMl } };
  });
  return changed ? raised : live;
}

/** When the limit becomes likely: with readings raised too, whichever comes first. */
export function earlierMs(plainMs: number | undefined, raisedAtMs: number | undefined): number | undefined {
  if (!controlIsOn('learnt-bias-only-raises')) return raisedAtMs;
  return plainMs === undefined || raisedAtMs === undefined
    ? (plainMs ?? raisedAtMs)
    : Math.min(plainMs, raisedAtMs);
}
