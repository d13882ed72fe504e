/**
 * The entries held in memory and the facts folded from them. Facts of a patient are folded again only when an
 * entry that can change them arrives, or when the minute turns; a turn of the minute is spread over short slices
 * so that a thumb never waits for it.
 */
import {
  entriesByPatient,
  foldPatient,
  wardFactsOf,
  type PatientFacts,
  type WardFacts,
} from '@ebbline/core/facts';
import { defaultSettings, type Directory, type Entry, type Ward } from '@ebbline/core/record';
import { minuteMs } from '@ebbline/core/quantity';

const sliceMs = 10;

export interface FoldedRecord {
  entries(): readonly Entry[];
  entriesOf(patient: string): readonly Entry[];
  patients(): readonly string[];
  has(id: string): boolean;
  /** Adds what is not here yet; true when anything was new. */
  add(more: readonly Entry[]): boolean;
  remove(id: string): void;
  factsOf(patient: string): PatientFacts;
  factsWith(patient: string, more: readonly Entry[]): PatientFacts;
  ward(wardId: string): WardFacts;
  useDirectory(directory: Directory): void;
  /** Folds again what the turn of a minute changes; calls `done` when everything is of this minute. */
  turnTo(nowMs: number, done: () => void): void;
}

const touchesOthers = (entry: Entry): boolean =>
  entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient' || entry.corrects !== undefined;

export function foldedRecord(options: {
  directory: Directory;
  nowMs: () => number;
  pause?: (work: () => void) => void;
}): FoldedRecord {
  const pause = options.pause ?? ((work) => setTimeout(work, 0));
  let directory = options.directory;
  let list: Entry[] = [];
  let snapshot: readonly Entry[] | undefined;
  const byId = new Map<string, Entry>();
  const named = new Set<string>();
  let groups = new Map<string, readonly Entry[]>();
  const facts = new Map<string, PatientFacts>();
  const wards = new Map<string, WardFacts>();
  let foldedForMs = minuteOf(options.nowMs());
  let turn = 0;

  const wardById = (id: string): Ward | undefined => directory.wards.find((ward) => ward.id === id);

  function wardIdOf(entries: readonly Entry[]): string {
    for (let index = entries.length - 1; index >= 0; index -= 1) {
      const entry = entries[index];
      if (entry && (entry.kind === 'patient-registered' || entry.kind === 'transferred'))
        return entry.payload.ward;
    }
    return directory.wards[0]?.id ?? '';
  }

  function fold(patient: string, entries: readonly Entry[], nowMs: number): PatientFacts {
    const once = (ward: Ward | undefined): PatientFacts =>
      foldPatient({
        patient,
        entries,
        nowMs,
        settings: ward?.settings ?? defaultSettings,
        zone: ward?.zone ?? 'UTC',
      });
    const guess = wardById(facts.get(patient)?.ward ?? wardIdOf(entries));
    const first = once(guess);
    const actual = wardById(first.ward);
    return actual && actual.id !== guess?.id ? once(actual) : first;
  }

  /** Nobody watches it, nothing drains it and nothing is due: its facts do not move with the clock. */
  const rests = (one: PatientFacts): boolean =>
    one.watch.state !== 'open' &&
    one.watch.state !== 'paused' &&
    !one.catheter.inPlace &&
    one.due.length === 0;

  /** Facts of this minute, or of the last change where the clock changes nothing. */
  function held(patient: string): PatientFacts {
    let found = facts.get(patient);
    if (!found) {
      // At least the moment of the newest entry, so that a save shows at once and not when the minute turns.
      found = fold(patient, record.entriesOf(patient), Math.max(foldedForMs, options.nowMs()));
      facts.set(patient, found);
    }
    return found;
  }

  function changed(patient: string): void {
    facts.delete(patient);
    wards.clear();
  }

  function regroup(): void {
    const next = new Map(entriesByPatient(list));
    for (const patient of new Set([...groups.keys(), ...next.keys()])) {
      if (groups.get(patient)?.length !== next.get(patient)?.length) changed(patient);
    }
    groups = next;
  }

  const record: FoldedRecord = {
    entries: () => (snapshot ??= [...list]),
    entriesOf: (patient) => groups.get(patient) ?? [],
    patients: () => [...groups.keys()],
    has: (id) => byId.has(id),
    add: (more) => {
      const fresh = more.filter((entry) => !byId.has(entry.id));
      if (fresh.length === 0) return false;
      let whole = fresh.length > 200;
      for (const entry of fresh) {
        byId.set(entry.id, entry);
        list.push(entry);
        whole ||= touchesOthers(entry) || named.has(entry.id);
        if (entry.corrects !== undefined) named.add(entry.corrects);
        if (entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient') named.add(entry.payload.of);
      }
      snapshot = undefined;
      if (whole) regroup();
      else {
        for (const entry of fresh) {
          groups.set(entry.patient, [...(groups.get(entry.patient) ?? []), entry]);
          changed(entry.patient);
        }
      }
      return true;
    },
    remove: (id) => {
      if (!byId.delete(id)) return;
      list = list.filter((entry) => entry.id !== id);
      snapshot = undefined;
      regroup();
    },
    factsOf: (patient) => {
      const found = held(patient);
      if (found.nowMs >= foldedForMs || !rests(found)) return found;
      facts.delete(patient);
      return held(patient);
    },
    factsWith: (patient, more) => fold(patient, [...record.entriesOf(patient), ...more], options.nowMs()),
    ward: (wardId) => {
      let found = wards.get(wardId);
      if (!found) {
        const here = record
          .patients()
          .map(held)
          .filter((one) => one.ward === wardId);
        found = wardFactsOf(wardId, options.nowMs(), here);
        wards.set(wardId, found);
      }
      return found;
    },
    useDirectory: (next) => {
      directory = next;
      facts.clear();
      wards.clear();
    },
    turnTo: (nowMs, done) => {
      const minute = minuteOf(nowMs);
      if (minute === foldedForMs) return;
      foldedForMs = minute;
      turn += 1;
      const mine = turn;
      const waiting = record.patients().filter((patient) => {
        const found = facts.get(patient);
        return found === undefined || !rests(found);
      });
      const fresh = new Map<string, PatientFacts>();
      const before = new Map(facts);
      const slice = (): void => {
        if (mine !== turn) return;
        const startedMs = options.nowMs();
        while (waiting.length > 0) {
          const patient = waiting.pop() as string;
          fresh.set(patient, fold(patient, record.entriesOf(patient), nowMs));
          if (options.nowMs() - startedMs > sliceMs) break;
        }
        if (waiting.length > 0) return pause(slice);
        for (const [patient, folded] of fresh) {
          // An entry that came while the slices ran has folded its patient anew already.
          if (facts.get(patient) === before.get(patient)) facts.set(patient, folded);
        }
        wards.clear();
        done();
      };
      slice();
    },
  };
  return record;
}

function minuteOf(milliseconds: number): number {
  return Math.floor(milliseconds / minuteMs) * minuteMs;
}
