/**
 * The entries held in memory and the facts folded from them. Facts of a patient are folded again only when an
 * entry that can change them arrives, or when the minute turns; a ward is folded without those who were never in it.
 * Where many are to be folded, at the first look and at the turn of the minute, the work is spread over short slices
 * so that a thumb never waits for it.
 */
import {
  deviceBook,
  entriesByPatient,
  foldPatient,
  wardFactsOf,
  type DeviceError,
  type PatientFacts,
  type WardFacts,
} from '@ebbline/core/facts';
import { defaultSettings, isPractice, type Directory, type Entry, type Ward } from '@ebbline/core/record';
import { minuteMs } from '@ebbline/core/quantity';

const sliceMs = 10;
/** So few are folded in less than a slice: a page does not wait for them. */
const few = 12;

/** What a page may show of a ward while many of its patients are still being folded. */
export interface FoldingAhead {
  /** Kept when `ward` answers at once. */
  readonly ready: Promise<void>;
  /** What `ward` said last; absent before the first time. */
  readonly meanwhile: WardFacts | undefined;
}

export interface FoldedRecord {
  entries(): readonly Entry[];
  entriesOf(patient: string): readonly Entry[];
  patients(): readonly string[];
  has(id: string): boolean;
  /** Adds what is not here yet; true when anything was new. */
  add(more: readonly Entry[]): boolean;
  remove(...ids: readonly string[]): void;
  factsOf(patient: string): PatientFacts;
  factsWith(patient: string, more: readonly Entry[]): PatientFacts;
  ward(wardId: string): WardFacts;
  /**
   * Folds in slices what `ward` would otherwise fold at once; undefined when that is little. `prepare` is what the
   * page needs of each patient besides; it is done in the slices too, now and at each turn of the minute.
   */
  ahead(wardId: string, prepare?: (facts: PatientFacts) => void): FoldingAhead | undefined;
  useDirectory(directory: Directory): void;
  /** Folds again what the turn of a minute changes; calls `done` when everything is of this minute. */
  turnTo(nowMs: number, done: () => void): void;
}

const aheadByWard = new WeakMap<FoldedRecord['ward'], FoldedRecord['ahead']>();

/** `ahead` of the record whose `ward` is given: a page knows a record by what it may ask of it. */
export const aheadOf = (ward: FoldedRecord['ward']): FoldedRecord['ahead'] | undefined =>
  aheadByWard.get(ward);

/**
 * A subscription that also tells when patients being folded ahead are all folded. One page may open while the look of
 * another is under way, after the last entry came: nothing but the end of that work would ever tell it.
 */
export function tellingWhenAhead(
  subscribe: (listener: () => void) => () => void,
  ahead: () => FoldingAhead | undefined,
): (listener: () => void) => () => void {
  return (listener) => {
    let open = true;
    const awaitReady = (): void => void ahead()?.ready.then(told);
    const told = (): void => {
      if (!open) return;
      awaitReady();
      listener();
    };
    awaitReady();
    const leave = subscribe(told);
    return () => {
      open = false;
      leave();
    };
  };
}

/** As a task of its own, after whatever hands have asked for. */
function soon(work: () => void): void {
  const channel = new MessageChannel();
  channel.port1.addEventListener('message', () => {
    channel.port1.close();
    work();
  });
  channel.port1.start();
  channel.port2.postMessage(undefined);
}

const touchesOthers = (entry: Entry): boolean =>
  entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient' || entry.corrects !== undefined;

/** Advice stands in every course that the entry it was given for stands in, also when that was moved before it came. */
const reliesOn = (entry: Entry, named: ReadonlySet<string>): boolean =>
  entry.kind === 'step-advised' &&
  entry.payload.becauseOf !== undefined &&
  named.has(entry.payload.becauseOf);

export function foldedRecord(options: {
  directory: Directory;
  nowMs: () => number;
  pause?: (work: () => void) => void;
}): FoldedRecord {
  const pause = options.pause ?? soon;
  let directory = options.directory;
  let list: Entry[] = [];
  let snapshot: readonly Entry[] | undefined;
  const byId = new Map<string, Entry>();
  const named = new Set<string>();
  let groups = new Map<string, readonly Entry[]>();
  const facts = new Map<string, PatientFacts>();
  const wards = new Map<string, WardFacts>();
  const saidLast = new Map<string, WardFacts>();
  const underWay = new Map<string, Promise<void>>();
  const preparers = new Map<string, (facts: PatientFacts) => void>();
  /** Patients whose facts could not be folded ahead: `ward` says why. */
  const faulty = new Set<string>();
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

  const book = deviceBook();
  let devicesThen:
    | { list: number; last: string; wards: readonly Ward[]; devices: ReadonlyMap<string, DeviceError> }
    | undefined;
  /** What pairs have taught of the scanners, from all that is kept here. */
  function devices(): ReadonlyMap<string, DeviceError> {
    const last = list.at(-1)?.id ?? '';
    const { wards: all } = directory;
    if (devicesThen?.list !== list.length || devicesThen.last !== last || devicesThen.wards !== all)
      devicesThen = { list: list.length, last, wards: all, devices: book.of(groups, all) };
    return devicesThen.devices;
  }

  function fold(patient: string, entries: readonly Entry[], nowMs: number): PatientFacts {
    const once = (ward: Ward | undefined): PatientFacts =>
      foldPatient({
        patient,
        entries,
        nowMs,
        settings: ward?.settings ?? defaultSettings,
        zone: ward?.zone ?? 'UTC',
        devices: devices(),
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

  /** Those who may be in a ward: an entry has put them there once. */
  const mayBeIn = (wardId: string): readonly string[] =>
    record
      .patients()
      .filter((patient) =>
        record
          .entriesOf(patient)
          .some(
            (entry) =>
              (entry.kind === 'patient-registered' || entry.kind === 'transferred') &&
              entry.payload.ward === wardId,
          ),
      );

  /** What fails here fails again where it is drawn, and is told there. */
  const prepared = (folded: PatientFacts): void => {
    try {
      preparers.get(folded.ward)?.(folded);
    } catch {
      return;
    }
  };

  const foldedAhead = (patient: string): void => {
    try {
      prepared(held(patient));
    } catch {
      faulty.add(patient);
    }
  };

  function changed(patient: string): void {
    facts.delete(patient);
    faulty.delete(patient);
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
        whole ||= touchesOthers(entry) || named.has(entry.id) || reliesOn(entry, named);
        if (entry.corrects !== undefined) named.add(entry.corrects);
        if (entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient') named.add(entry.payload.of);
      }
      snapshot = undefined;
      if (whole) regroup();
      else {
        for (const entry of fresh) {
          if (isPractice(entry)) continue;
          groups.set(entry.patient, [...(groups.get(entry.patient) ?? []), entry]);
          changed(entry.patient);
        }
      }
      return true;
    },
    remove: (...ids) => {
      const gone = new Set(ids.filter((id) => byId.delete(id)));
      if (gone.size === 0) return;
      list = list.filter((entry) => !gone.has(entry.id));
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
        const here = mayBeIn(wardId)
          .map(held)
          .filter((one) => one.ward === wardId);
        found = wardFactsOf(wardId, options.nowMs(), here);
        wards.set(wardId, found);
        saidLast.set(wardId, found);
      }
      return found;
    },
    ahead: (wardId, prepare) => {
      if (prepare) preparers.set(wardId, prepare);
      const missing = (): readonly string[] =>
        wards.has(wardId)
          ? []
          : mayBeIn(wardId).filter((patient) => !facts.has(patient) && !faulty.has(patient));
      let ready = underWay.get(wardId);
      if (!ready) {
        if (missing().length <= few) return undefined;
        ready = new Promise((resolve) => {
          const slice = (): void => {
            const startedMs = options.nowMs();
            const waiting = missing();
            let done = 0;
            for (const patient of waiting) {
              foldedAhead(patient);
              done += 1;
              if (options.nowMs() - startedMs > sliceMs) break;
            }
            if (done < waiting.length) return pause(slice);
            underWay.delete(wardId);
            resolve();
          };
          pause(slice);
        });
        underWay.set(wardId, ready);
      }
      return { ready, meanwhile: saidLast.get(wardId) };
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
      // Those whom nobody has asked for yet are folded when somebody does.
      const waiting = [...facts].filter(([, found]) => !rests(found)).map(([patient]) => patient);
      const fresh = new Map<string, PatientFacts>();
      const before = new Map(facts);
      const slice = (): void => {
        if (mine !== turn) return;
        const startedMs = options.nowMs();
        while (waiting.length > 0) {
          const patient = waiting.pop() as string;
          const folded = fold(patient, record.entriesOf(patient), nowMs);
          prepared(folded);
          fresh.set(patient, folded);
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
  aheadByWard.set(record.ward, record.ahead);
  return record;
}

function minuteOf(milliseconds: number): number {
  return Math.floor(milliseconds / minuteMs) * minuteMs;
}
