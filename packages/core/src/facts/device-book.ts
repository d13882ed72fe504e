/** What the pairs of a whole record have taught of each scanner, worked out again only for patients with a new entry. */
import { startingPriors, type FillingPrior } from '../filling/index.ts';
import { defaultSettings, type Entry, type UnitSettings, type Ward } from '../record/index.ts';
import { deviceErrors, type DeviceError, type PatientAgreementPair } from './device-error.ts';
import { liveEntries } from './fold.ts';
import { resolveEntries } from './resolve.ts';
import { cautionsOf } from './situation.ts';
import { agreementPairs, drainFact, readingFact, voidFact } from './volumes.ts';

/** Pairs of one patient, from all of their entries. */
function pairsOf(
  patient: string,
  entries: readonly Entry[],
  settings: UnitSettings,
): readonly PatientAgreementPair[] {
  if (!entries.some((one) => one.kind === 'drained')) return [];
  const live = liveEntries(resolveEntries(entries), patient, Number.POSITIVE_INFINITY);
  const cautions = cautionsOf(live);
  const readings = live
    .filter((one) => one.kind === 'reading')
    .map((one) => readingFact(one, cautions, startingPriors['resting'] as FillingPrior));
  const drains = live
    .filter((one) => one.kind === 'drained')
    .filter((one) => one.payload.difficulty !== 'failed')
    .map(drainFact);
  const voids = live.filter((one) => one.kind === 'void').map(voidFact);
  return agreementPairs(
    readings.filter((one) => one.trust === 'good' || one.trust === 'low-bound-only'),
    drains,
    voids,
    settings,
  ).map((pair) => ({
    ...pair,
    patient,
    drainedAtMs: drains.find((one) => one.id === pair.drainId)?.atMs ?? 0,
  }));
}

/** Settings of the ward in which somebody was put last. */
function settingsOf(entries: readonly Entry[], wards: readonly Ward[]): UnitSettings {
  const place = entries.findLast((one) => one.kind === 'transferred' || one.kind === 'patient-registered');
  const ward =
    place?.kind === 'transferred' || place?.kind === 'patient-registered' ? place.payload.ward : '';
  return wards.find((one) => one.id === ward)?.settings ?? defaultSettings;
}

/** Scanners of a whole record; what each patient tells is kept until one of their entries comes. */
export interface DeviceBook {
  readonly of: (
    groups: Iterable<readonly [string, readonly Entry[]]>,
    wards: readonly Ward[],
  ) => ReadonlyMap<string, DeviceError>;
}

export function deviceBook(): DeviceBook {
  const kept = new Map<
    string,
    { key: string; settings: UnitSettings; pairs: readonly PatientAgreementPair[] }
  >();
  return {
    of: (groups, wards) => {
      const pairs: PatientAgreementPair[] = [];
      for (const [patient, entries] of groups) {
        const settings = settingsOf(entries, wards);
        // The record only grows, but for what was never kept by the server.
        const key = `${entries.length} ${entries.at(-1)?.id ?? ''}`;
        let held = kept.get(patient);
        if (held?.key !== key || held.settings !== settings) {
          held = { key, settings, pairs: pairsOf(patient, entries, settings) };
          kept.set(patient, held);
        }
        pairs.push(...held.pairs);
      }
      return deviceErrors(pairs);
    },
  };
}
