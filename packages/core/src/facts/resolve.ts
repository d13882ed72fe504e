import { instantMs, minuteMs } from '../quantity/index.ts';
import { compareEntries, isPractice, type Entry } from '../record/index.ts';
import type { Standing, TimelineEntry } from './types.ts';

/** Entries that change the standing of another entry; they have no place of their own in a patient's course. */
const isAmendment = (entry: Entry): entry is Extract<Entry, { kind: 'withdrawn' | 'moved-to-patient' }> =>
  entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient';

const byRecording = (a: Entry, b: Entry): number =>
  instantMs(a.recordedAt) - instantMs(b.recordedAt) || (a.id < b.id ? -1 : a.id > b.id ? 1 : 0);

const later = (a: Entry | undefined, b: Entry): Entry => (a === undefined || byRecording(a, b) < 0 ? b : a);

/** Every entry with its standing, grouped by the patient whose course it belongs to. */
export interface Resolution {
  readonly byPatient: ReadonlyMap<string, readonly TimelineEntry[]>;
  readonly standing: ReadonlyMap<string, Standing>;
}

/**
 * Works out where every entry stands: live, corrected, withdrawn or moved.
 *
 * The result depends on the set of entries only, never on the order in which they arrive. An amendment that was
 * itself withdrawn counts for nothing; of two corrections of one entry the one recorded later stands.
 */
export function resolveEntries(entries: readonly Entry[]): Resolution {
  const byId = new Map<string, Entry>();
  for (const entry of entries) byId.set(entry.id, entry);
  const withdrawals = new Map<string, Entry[]>();
  const moves = new Map<string, Entry[]>();
  const corrections = new Map<string, Entry[]>();
  const push = (map: Map<string, Entry[]>, key: string, entry: Entry): void => {
    const held = map.get(key);
    if (held) held.push(entry);
    else map.set(key, [entry]);
  };
  for (const entry of byId.values()) {
    if (entry.kind === 'withdrawn') push(withdrawals, entry.payload.of, entry);
    else if (entry.kind === 'moved-to-patient') push(moves, entry.payload.of, entry);
    if (entry.corrects !== undefined) push(corrections, entry.corrects, entry);
  }

  // A withdrawal holds unless it was withdrawn in turn. A cycle (two entries that withdraw each other) can't be
  // made by a person; the depth bound keeps such a record readable, and both then count as withdrawn.
  const withdrawnBy = (id: string, depth: number): Entry | undefined => {
    let winner: Entry | undefined;
    for (const one of withdrawals.get(id) ?? []) {
      if (depth < 8 && withdrawnBy(one.id, depth + 1)) continue;
      winner = later(winner, one);
    }
    return winner;
  };
  const correctedBy = (id: string): Entry | undefined => {
    let winner: Entry | undefined;
    for (const one of corrections.get(id) ?? []) {
      if (!withdrawnBy(one.id, 0)) winner = later(winner, one);
    }
    return winner;
  };
  const movedBy = (id: string): Extract<Entry, { kind: 'moved-to-patient' }> | undefined => {
    let winner: Entry | undefined;
    for (const one of moves.get(id) ?? []) {
      if (!withdrawnBy(one.id, 0)) winner = later(winner, one);
    }
    return winner as Extract<Entry, { kind: 'moved-to-patient' }> | undefined;
  };

  /** A correction belongs where the entry that it corrects belongs, unless it was written in another record. */
  const patientOf = (entry: Entry, depth: number): string => {
    const moved = movedBy(entry.id);
    if (moved) return moved.payload.toPatient;
    const corrected = entry.corrects === undefined ? undefined : byId.get(entry.corrects);
    if (corrected && depth < 32 && corrected.patient === entry.patient)
      return patientOf(corrected, depth + 1);
    return entry.patient;
  };

  const standing = new Map<string, Standing>();
  const byPatient = new Map<string, TimelineEntry[]>();
  const place = (patient: string, item: TimelineEntry): void => {
    const held = byPatient.get(patient);
    if (held) held.push(item);
    else byPatient.set(patient, [item]);
  };
  for (const entry of byId.values()) {
    const withdrawal = withdrawnBy(entry.id, 0);
    // Of two corrections of one entry, the earlier is set aside by the later.
    const rival = entry.corrects === undefined ? undefined : correctedBy(entry.corrects);
    const correction = correctedBy(entry.id) ?? (rival && rival.id !== entry.id ? rival : undefined);
    const home = patientOf(entry, 0);
    const state: Standing = withdrawal
      ? { state: 'withdrawn', by: withdrawal.id }
      : correction
        ? { state: 'corrected', by: correction.id }
        : { state: 'live' };
    standing.set(entry.id, state);
    const recordedLateMin = Math.max(
      0,
      Math.round((instantMs(entry.recordedAt) - instantMs(entry.effectiveAt)) / minuteMs),
    );
    place(home, {
      entry,
      standing: state,
      recordedLateMin,
      ...(home === entry.patient ? {} : { movedFrom: entry.patient }),
    });
    if (home !== entry.patient) {
      const moved = movedBy(entry.id);
      const movedStanding: Standing = { state: 'moved', by: moved?.id ?? entry.id, toPatient: home };
      place(entry.patient, { entry, standing: movedStanding, recordedLateMin });
    }
    if (isAmendment(entry) && entry.kind === 'moved-to-patient' && entry.payload.toPatient !== home) {
      place(entry.payload.toPatient, { entry, standing: state, recordedLateMin });
    }
  }
  for (const items of byPatient.values()) items.sort((a, b) => compareEntries(a.entry, b.entry));
  return { byPatient, standing };
}

/**
 * Groups entries by the patients whose facts they can change: those named in them, and those of the entries that
 * they correct, withdraw, move or rely on. Folding one group gives the same facts as folding everything. Practice is
 * about no patient and stands in no group.
 */
export function entriesByPatient(entries: readonly Entry[]): ReadonlyMap<string, readonly Entry[]> {
  const parent = new Map<string, string>();
  const find = (id: string): string => {
    let root = id;
    while ((parent.get(root) ?? root) !== root) root = parent.get(root) as string;
    return root;
  };
  const link = (a: string, b: string): void => {
    const rootA = find(a);
    const rootB = find(b);
    if (rootA !== rootB) parent.set(rootA, rootB);
  };
  for (const entry of entries) {
    if (isAmendment(entry)) link(entry.id, entry.payload.of);
    if (entry.corrects !== undefined) link(entry.id, entry.corrects);
    // Advice falls with the entry that it was given for, whosever record that stands in now.
    if (entry.kind === 'step-advised' && entry.payload.becauseOf !== undefined)
      link(entry.id, entry.payload.becauseOf);
  }
  const patients = new Map<string, Set<string>>();
  for (const entry of entries) {
    const root = find(entry.id);
    const held = patients.get(root) ?? new Set<string>();
    held.add(entry.patient);
    if (entry.kind === 'moved-to-patient') held.add(entry.payload.toPatient);
    patients.set(root, held);
  }
  const groups = new Map<string, Entry[]>();
  for (const entry of entries) {
    if (isPractice(entry)) continue;
    for (const patient of patients.get(find(entry.id)) ?? []) {
      const held = groups.get(patient);
      if (held) held.push(entry);
      else groups.set(patient, [entry]);
    }
  }
  return groups;
}

/** The entries that this replica held at an instant: what was known, to whom, at an earlier moment. */
export function knownAt(
  kept: readonly { readonly entry: Entry; readonly receivedAt: string }[],
  atMs: number,
): readonly Entry[] {
  return kept.filter((one) => instantMs(one.receivedAt) <= atMs).map((one) => one.entry);
}
