/**
 * Drafts on this tablet, for each author apart. They are written at once with every change, so that a closed page
 * loses nothing; they hold tables and no patient. What can't be kept is said, not hidden.
 */
import type { Draft } from './draft.ts';

const prefix = 'ebbline.protocol-draft';
const keyOf = (author: string, id: string): string => `${prefix}/${encodeURIComponent(author)}/${id}`;

export type Shelf = Pick<Storage, 'getItem' | 'setItem' | 'removeItem' | 'key' | 'length'>;

const isDraft = (value: unknown): value is Draft => {
  const draft = value as Partial<Draft> | null;
  return (
    typeof draft === 'object' &&
    draft !== null &&
    typeof draft.id === 'string' &&
    typeof draft.lastNumber === 'number' &&
    Array.isArray(draft.protocol?.tables)
  );
};

/** False when this tablet keeps nothing. */
export function keepDraft(author: string, draft: Draft, shelf: Shelf = localStorage): boolean {
  try {
    shelf.setItem(keyOf(author, draft.id), JSON.stringify(draft));
    return true;
  } catch {
    return false;
  }
}

export function forgetDraft(author: string, id: string, shelf: Shelf = localStorage): void {
  shelf.removeItem(keyOf(author, id));
}

const read = (text: string | null): Draft | undefined => {
  try {
    const value: unknown = JSON.parse(text ?? 'null');
    return isDraft(value) ? value : undefined;
  } catch {
    return undefined;
  }
};

export const draftKept = (author: string, id: string, shelf: Shelf = localStorage): Draft | undefined =>
  read(shelf.getItem(keyOf(author, id)));

/** All drafts of an author, by id. */
export function draftsKept(author: string, shelf: Shelf = localStorage): readonly Draft[] {
  const mine = keyOf(author, '');
  return Array.from({ length: shelf.length }, (_, at) => shelf.key(at) ?? '')
    .filter((key) => key.startsWith(mine))
    .sort()
    .flatMap((key) => read(shelf.getItem(key)) ?? []);
}
