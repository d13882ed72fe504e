/**
 * Patients of a ward whom nobody watches: added and not yet on watch, or whose watch ended a short while ago. Without
 * these a patient added in a hurry could not be found again.
 *
 * Units     ms; a watch that ended is listed for `endedForMs`
 * Source    how long: made here, S-web-ended-watch
 */
import { hourMs, instantMs } from '@ebbline/core/quantity';
import type { PatientFacts } from '@ebbline/core/facts';
import type { Entry } from '@ebbline/core/record';

export const endedForMs = 24 * hourMs; // S-web-ended-watch

export interface NotWatched {
  readonly added: readonly PatientFacts[];
  readonly ended: readonly PatientFacts[];
}

const byBed = (a: PatientFacts, b: PatientFacts): number =>
  a.bed.localeCompare(b.bed, undefined, { numeric: true });

export function notWatched(
  entries: readonly Entry[],
  ward: string,
  nowMs: number,
  factsOf: (patient: string) => PatientFacts,
): NotWatched {
  const registered = new Set<string>();
  const opened = new Set<string>();
  const ended = new Set<string>();
  for (const entry of entries) {
    if (entry.kind === 'patient-registered') registered.add(entry.patient);
    if (entry.kind === 'watch-opened') opened.add(entry.patient);
    if (entry.kind === 'watch-closed' && nowMs - instantMs(entry.effectiveAt) < endedForMs)
      ended.add(entry.patient);
    // A start that was taken back leaves nobody on watch; the facts decide.
    if (entry.kind === 'withdrawn') opened.delete(entry.patient);
  }
  const here = (patients: Iterable<string>, state: PatientFacts['watch']['state']): readonly PatientFacts[] =>
    [...patients]
      .map(factsOf)
      .filter((facts) => facts.ward === ward && facts.watch.state === state)
      .toSorted(byBed);
  return {
    added: here(
      [...registered].filter((patient) => !opened.has(patient)),
      'none',
    ),
    ended: here(ended, 'closed'),
  };
}
