/**
 * The last save of this tablet, for the ten seconds in which it can be taken back, and the sentence that says so.
 * The form writes it, the patient's page shows it.
 */
import type { EntryId } from '@ebbline/core/quantity';

export interface Saved {
  readonly patient: string;
  readonly ids: readonly EntryId[];
  readonly atMs: number;
  /** What was saved: "reading, at least 430 mL". */
  readonly words: string;
  /** Why no step came with it, in words. */
  readonly noStep?: string;
}

/** Undo is offered for so long. S-common-practice */
export const undoForMs = 10_000;

let last: Saved | undefined;
const listeners = new Set<() => void>();

export const saved = {
  current: (): Saved | undefined => last,
  say: (next: Saved | undefined): void => {
    last = next;
    for (const listener of listeners) listener();
  },
  subscribe: (listener: () => void): (() => void) => {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },
};
