/**
 * Sealed entries that came in and were not kept in the record: each waits here, still sealed, until a person has
 * decided. Nothing leaves by itself.
 *
 * Errors    `server/held-file`
 */
import { refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';
import type { SealedEntry } from '@ebbline/store/sealed';
import { z } from 'zod';
import { readIfThere, replaceFile } from '../accounts/account-book.ts';
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

function bookOf(
  first: readonly HeldEntry[],
  save: (entries: readonly HeldEntry[]) => Promise<void>,
): HeldBook {
  const kept = new Map(first.map((one) => [one.sealed.id, one]));
  return {
    all: () => [...kept.values()],
    add: async (entries) => {
      for (const one of entries) if (!kept.has(one.sealed.id)) kept.set(one.sealed.id, one);
      if (entries.length > 0) await save([...kept.values()]);
    },
    remove: async (id) => {
      if (kept.delete(id)) await save([...kept.values()]);
    },
  };
}

export const memoryHeld = (): HeldBook => bookOf([], async () => undefined);

export function fileHeld(path: string): HeldBook {
  const text = readIfThere(path);
  let read: z.infer<typeof shape> = [];
  if (text !== undefined) {
    try {
      read = shape.parse(JSON.parse(text));
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
  let saving = Promise.resolve();
  return bookOf(read as readonly HeldEntry[], (entries) => {
    saving = saving
      .catch(() => undefined)
      .then(() => replaceFile(path, `${JSON.stringify(entries, undefined, 2)}\n`));
    return saving;
  });
}
