/**
 * What this tablet keeps in the browser: entries in order of arrival, which of them are still to be sent, which
 * were refused, and a few notes (how far it has read the ward's record, the last directory).
 *
 * A save is one transaction with strict durability: entry and place in the queue, both or neither. The rest of the
 * page knows only this port: `kept/sealed-store.ts` keeps it sealed, `memoryStore` is the same for tests and for a
 * browser that keeps nothing.
 */
import type { EntryId, Refusal } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';

export interface LocalStore {
  /** False when the browser gave no lasting place: a closed page then loses what was not sent. */
  readonly lasting: boolean;
  entries(): Promise<readonly Entry[]>;
  /** Those in the queue that can be read here. */
  unsent(): Promise<readonly Entry[]>;
  /** Everything in the queue, also what only the server can read. */
  waiting(): Promise<readonly { readonly id: string; readonly author: string }[]>;
  refused(): Promise<readonly { readonly entry: Entry; readonly refusal: Refusal }[]>;
  /** Adds entries made here, and puts them in the queue. */
  keepOwn(entries: readonly Entry[]): Promise<void>;
  /** Adds entries that came from the ward's record; those already here stay as they are. */
  keepReceived(entries: readonly Entry[]): Promise<void>;
  sent(ids: readonly EntryId[]): Promise<void>;
  refuse(entry: Entry, refusal: Refusal): Promise<void>;
  /** Takes a refused entry off this tablet, once a person has seen why. */
  drop(id: EntryId): Promise<void>;
  /** Takes entries off this tablet that it need not hold any more; what waits to be sent stays. */
  forget(ids: readonly EntryId[]): Promise<void>;
  note<Value>(name: string): Promise<Value | undefined>;
  writeNote(name: string, value: unknown): Promise<void>;
  close(): void;
}

/** Keeps everything in memory only. */
export function memoryStore(): LocalStore {
  const entries = new Map<string, Entry>();
  const unsent = new Map<string, Entry>();
  const refused = new Map<string, { entry: Entry; refusal: Refusal }>();
  const notes = new Map<string, unknown>();
  return {
    lasting: false,
    entries: async () => [...entries.values()],
    unsent: async () => [...unsent.values()],
    waiting: async () => [...unsent.values()].map(({ id, author }) => ({ id, author })),
    refused: async () => [...refused.values()],
    keepOwn: async (more) => {
      for (const entry of more) {
        if (!entries.has(entry.id)) entries.set(entry.id, entry);
        unsent.set(entry.id, entry);
      }
    },
    keepReceived: async (more) => {
      for (const entry of more) if (!entries.has(entry.id)) entries.set(entry.id, entry);
    },
    sent: async (ids) => {
      for (const id of ids) unsent.delete(id);
    },
    refuse: async (entry, refusal) => {
      unsent.delete(entry.id);
      refused.set(entry.id, { entry, refusal });
    },
    drop: async (id) => {
      entries.delete(id);
      refused.delete(id);
    },
    forget: async (ids) => {
      for (const id of ids) if (!unsent.has(id)) entries.delete(id);
    },
    note: async <Value>(name: string) => notes.get(name) as Value | undefined,
    writeNote: async (name, value) => {
      notes.set(name, value);
    },
    close: () => {},
  };
}
