/** Where drafts are kept while somebody is there; nowhere while the tablet is locked, and then none is in memory either. */
import type { DraftShelf } from './sealed-store.ts';

let shelf: DraftShelf | undefined;
const closing = new Set<() => void>();

export const draftShelf = (): DraftShelf | undefined => shelf;

export function openDrafts(next: DraftShelf): void {
  shelf = next;
}

export function closeDrafts(): void {
  if (shelf === undefined) return;
  shelf = undefined;
  for (const forget of closing) forget();
}

/** @param forget puts away what a form still holds in memory */
export function whenDraftsClose(forget: () => void): void {
  closing.add(forget);
}
