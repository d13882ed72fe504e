/**
 * The record in memory, read on from the store by cursor: what reports and the notice fold. Facts are worked out when
 * asked for; nothing derived is kept.
 */
import { setImmediate } from 'node:timers/promises';
import {
  deviceBook,
  entriesByPatient,
  foldPatient,
  hitRateBook,
  hitRateOf,
  wardFactsOf,
  type DeviceError,
  type HitPair,
  type HitRate,
  type PatientFacts,
  type WardFacts,
} from '@ebbline/core/facts';
import { defaultSettings, type Directory, type Entry, type Ward } from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';

const pageSize = 2_000;

export interface RecordView {
  patientFacts(patient: string, nowMs: number): Promise<PatientFacts | undefined>;
  /** Facts of every ward that has a patient now. */
  wards(nowMs: number): Promise<readonly { readonly ward: Ward; readonly facts: WardFacts }[]>;
  wardFacts(ward: string, nowMs: number): Promise<WardFacts | undefined>;
  /** Everybody whose place is on a ward, watched or not; undefined for an unknown ward. */
  everybodyOn(ward: string, nowMs: number): Promise<readonly PatientFacts[] | undefined>;
  /** What pairs of reading and drained volume have taught of each scanner. */
  devices(): Promise<ReadonlyMap<string, DeviceError>>;
  /** How often the estimate was right on a ward and everywhere; only what has changed is worked out again. */
  hitRates(ward: string): Promise<{ readonly ward: HitRate; readonly everywhere: HitRate }>;
}

const unknownWard = { settings: defaultSettings, zone: 'UTC' };
/** After so long others who wait are served first, ms. */
const sliceMs = 20;

export function createRecordView(store: EntryStore, directory: () => Directory): RecordView {
  const entries: Entry[] = [];
  const hits = hitRateBook();
  const book = deviceBook();
  let devicesThen:
    | { entries: number; wards: readonly Ward[]; devices: ReadonlyMap<string, DeviceError> }
    | undefined;
  /** What pairs have taught of the scanners, from the whole record. */
  const devices = (): ReadonlyMap<string, DeviceError> => {
    const { wards } = directory();
    if (devicesThen?.entries !== entries.length || devicesThen.wards !== wards)
      devicesThen = { entries: entries.length, wards, devices: book.of(entriesByPatient(entries), wards) };
    return devicesThen.devices;
  };
  const catchUp = async (): Promise<void> => {
    for (let more = true; more;) {
      const page = await store.after(entries.length, pageSize);
      // Two readers at once read the same page: keep what follows, drop what is there.
      for (const kept of page) if (kept.sequence === entries.length + 1) entries.push(kept.entry);
      more = page.length === pageSize;
    }
  };

  const wardOf = (id: string): Ward | undefined => directory().wards.find((ward) => ward.id === id);
  const foldIn = (
    ward: Ward | undefined,
    patient: string,
    own: readonly Entry[],
    nowMs: number,
  ): PatientFacts =>
    foldPatient({
      patient,
      entries: own,
      nowMs,
      settings: ward?.settings ?? defaultSettings,
      zone: ward?.zone ?? 'UTC',
      devices: devices(),
    });
  const factsOf = (patient: string, own: readonly Entry[], nowMs: number): PatientFacts => {
    // The ward decides settings and zone, and only the facts say which ward it is: guess, then make sure.
    const place = own.findLast(
      (entry) => entry.kind === 'transferred' || entry.kind === 'patient-registered',
    );
    const guess =
      place?.kind === 'transferred' || place?.kind === 'patient-registered'
        ? wardOf(place.payload.ward)
        : undefined;
    const facts = foldIn(guess, patient, own, nowMs);
    return facts.ward === guess?.id ? facts : foldIn(wardOf(facts.ward), patient, own, nowMs);
  };
  const allFacts = async (nowMs: number): Promise<readonly PatientFacts[]> => {
    await catchUp();
    return [...entriesByPatient(entries)].map(([patient, own]) => factsOf(patient, own, nowMs));
  };

  return {
    patientFacts: async (patient, nowMs) => {
      await catchUp();
      const own = entriesByPatient(entries).get(patient);
      return own === undefined ? undefined : factsOf(patient, own, nowMs);
    },
    devices: async () => {
      await catchUp();
      return devices();
    },
    wards: async (nowMs) => {
      const all = await allFacts(nowMs);
      return directory()
        .wards.map((ward) => ({ ward, facts: wardFactsOf(ward.id, nowMs, all) }))
        .filter(({ facts }) => facts.patients.length > 0);
    },
    hitRates: async (id) => {
      await catchUp();
      const pairs: HitPair[] = [];
      let startedMs = performance.now();
      for (const [patient, own] of entriesByPatient(entries)) {
        pairs.push(
          ...hits.pairsOf({
            patient,
            entries: own,
            wardOf: (ward) => wardOf(ward) ?? unknownWard,
          }),
        );
        if (performance.now() - startedMs < sliceMs) continue;
        await setImmediate();
        startedMs = performance.now();
      }
      return { ward: hitRateOf(pairs.filter((one) => one.ward === id)), everywhere: hitRateOf(pairs) };
    },
    everybodyOn: async (id, nowMs) =>
      wardOf(id) === undefined ? undefined : (await allFacts(nowMs)).filter(({ ward }) => ward === id),
    wardFacts: async (id, nowMs) =>
      wardOf(id) === undefined ? undefined : wardFactsOf(id, nowMs, await allFacts(nowMs)),
  };
}
