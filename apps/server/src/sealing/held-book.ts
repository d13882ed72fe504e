/**
 * Sealed entries that came in and were not kept in the record: each waits here, still sealed, until a person has
 * decided. Nothing leaves by itself.
 *
 * Errors    `server/held-file`
 */
import { refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';
import type { SealedEntry } from '@ebbline/store/sealed';
import { fileBook, memoryBook, openJsonBook, type TextBook } from '@ebbline/store/books';
import { z } from 'zod';
import { refusalShape } from '../answers.ts';

export interface HeldEntry {
  readonly sealed: SealedEntry;
  /** Whom it names as its author; absent when it could not be opened. */
  readonly author?: string | undefined;
  /** True when the author's mark holds. */
  readonly vouched: boolean;
  readonly refusal: Refusal;
  /** Who brought it. */
  readonly carrier: string;
  readonly atMs: number;
}

export interface HeldBook {
  all(): readonly HeldEntry[];
  /** Keeps them before it resolves; one that is there already stays as it came first. */
  add(entries: readonly HeldEntry[]): Promise<void>;
  remove(id: string): Promise<void>;
}

const shape = z.array(
  z.strictObject({
    sealed: z.strictObject({ id: z.string(), key: z.string(), box: z.string() }),
    author: z.string().optional(),
    vouched: z.boolean(),
    refusal: refusalShape,
    carrier: z.string(),
    atMs: z.number(),
  }),
);

function heldOf(text: string | undefined): readonly HeldEntry[] {
  if (text === undefined) return [];
  try {
    return shape.parse(JSON.parse(text)) as readonly HeldEntry[];
  } catch {
    throw new RefusalError(
      refuse('server/held-file', {
        asked: 'Entries that wait for a person',
        found: 'a held-entries.json that is not as it was written',
        allowed: 'the file that this program wrote',
        todo: 'Bring it back from a backup.',
      }),
    );
  }
}

export async function openHeld(book: TextBook, failed?: (problem: unknown) => void): Promise<HeldBook> {
  const kept = await openJsonBook<readonly HeldEntry[]>({
    book,
    read: heldOf,
    write: (entries) => `${JSON.stringify(entries, undefined, 2)}\n`,
    ...(failed === undefined ? {} : { failed }),
  });
  return {
    all: kept.current,
    add: async (entries) => {
      if (entries.length === 0) return;
      await kept.change((held) => {
        const known = new Set(held.map(({ sealed }) => sealed.id));
        return [...held, ...entries.filter(({ sealed }) => !known.has(sealed.id))];
      });
    },
    remove: async (id) => void (await kept.change((held) => held.filter(({ sealed }) => sealed.id !== id))),
  };
}

export const memoryHeld = (): Promise<HeldBook> => openHeld(memoryBook());
export const fileHeld = (path: string): Promise<HeldBook> => openHeld(fileBook(path));
