/**
 * Practice on simulated pictures is recorded like everything else, but about no patient: it stands in a record of the
 * person's own, which only the entries of kind `practised` may name, and which leaves the server for the person and
 * the assessor alone.
 *
 * Errors    record/inconsistent (check-together.ts)
 */
import type { Entry } from './entry.ts';

const prefix = 'practice:';

/** What stands in the place of a patient in the entries of a person's practice. */
export const practiceRecordOf = (person: string): string => `${prefix}${person}`;

export const isPracticeRecord = (patient: string): boolean => patient.startsWith(prefix);

/** Belongs to no patient: no fact is folded from it, and no ward's record hands it on. */
export const isPractice = (entry: Entry): entry is Extract<Entry, { kind: 'practised' }> =>
  entry.kind === 'practised';
