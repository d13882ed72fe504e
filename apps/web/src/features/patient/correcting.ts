/**
 * Putting the record right: an entry is never edited. It is withdrawn, moved to another patient, or written anew in
 * its place; each of these is an entry of its own and the old one stays to be seen.
 */
import type { PatientFacts, TimelineEntry } from '@ebbline/core/facts';
import type { PayloadOf } from '@ebbline/core/record';
import type { Draft as Recorded } from '../../shell/replica.ts';

export type CorrectionReason = PayloadOf<'withdrawn'>['reason'];

/** Kinds that are themselves corrections: they are not taken back here. */
const notWithdrawn = new Set(['withdrawn', 'moved-to-patient', 'patient-registered']);

export const canBeWithdrawn = ({ entry, standing }: TimelineEntry): boolean =>
  standing.state === 'live' && !notWithdrawn.has(entry.kind);

export function withdrawal(patient: string, of: string, reason: CorrectionReason): Recorded {
  return { patient, kind: 'withdrawn', payload: { of, reason } };
}

export function move(patient: string, of: string, toPatient: string): Recorded {
  return { patient, kind: 'moved-to-patient', payload: { of, toPatient, reason: 'wrong-patient' } };
}

/** Advice that was given on an entry: it goes when its entry goes, and only what is still live. */
export function adviceOn(facts: PatientFacts, entryId: string): readonly string[] {
  return facts.timeline
    .filter(
      ({ entry, standing }) =>
        standing.state === 'live' && entry.kind === 'step-advised' && entry.payload.becauseOf === entryId,
    )
    .map(({ entry }) => entry.id);
}
