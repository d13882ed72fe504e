/**
 * What the page may read and write while somebody is there: the same port as ever, with everything sealed below it.
 * An entry made here is sealed twice in one transaction: for whoever opens this tablet, and for the server alone. The
 * second outlives the lock, the sign-out and the wiping of the first.
 */
import type { Refusal } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';
import { sealEntry, type Bytes, type IssuedVoucher, type SealedEntry } from '@ebbline/store/sealed';
import type { LocalStore } from '../local-store.ts';
import { openValue, sealValue } from './copy-key.ts';
import type { KeptDatabase } from './kept-database.ts';

/** An unsent entry as it stands on the tablet. */
export interface SealedRow extends SealedEntry {
  readonly author: string;
}

export interface OpenCopy {
  readonly store: LocalStore;
  readonly drafts: DraftShelf;
}

/** Drafts of forms, sealed like the rest. */
export interface DraftShelf {
  read<Value>(key: string): Promise<Value | undefined>;
  write(key: string, value: unknown): Promise<void>;
  remove(key: string): Promise<void>;
}

export interface CopyOptions {
  readonly database: KeptDatabase;
  readonly key: CryptoKey;
  readonly server: { readonly id: string; readonly key: CryptoKey };
  readonly person: string;
  readonly voucher: IssuedVoucher;
}

type Piece = { readonly entries: readonly Entry[] } | { readonly dropped: readonly string[] };
type Refused = { readonly entry: Entry; readonly refusal: Refusal };

/** With so many pieces, or one that takes something away, they are put together anew at the opening. */
const manyPieces = 200;
const pieceSize = 500;
const pieceLabel = 'piece';

/** Rejects when the copy was not sealed with this key. */
export async function openCopy(options: CopyOptions): Promise<OpenCopy> {
  const { database, key, server, person, voucher } = options;
  const sealed = (value: unknown, label: string): Promise<Bytes> => sealValue(key, label, value);

  async function read(): Promise<{ list: Map<string, Entry>; untidy: boolean; keys: IDBValidKey[] }> {
    const keys = await database.table('copy').keys();
    const boxes = await database.table('copy').all<Bytes>();
    const pieces = await Promise.all(boxes.map((one) => openValue<Piece>(key, pieceLabel, one)));
    const list = new Map<string, Entry>();
    for (const piece of pieces) {
      if ('dropped' in piece) for (const id of piece.dropped) list.delete(id);
      else for (const entry of piece.entries) if (!list.has(entry.id)) list.set(entry.id, entry);
    }
    const untidy = pieces.length > manyPieces || pieces.some((piece) => 'dropped' in piece);
    return { list, untidy, keys };
  }

  const { list, untidy, keys } = await read();
  if (untidy) {
    const all = [...list.values()];
    const parts: Bytes[] = [];
    for (let at = 0; at < all.length; at += pieceSize)
      parts.push(await sealed({ entries: all.slice(at, at + pieceSize) }, pieceLabel));
    await database.write(['copy'], (store) => {
      // What another page of this browser adds meanwhile stays.
      for (const one of keys) store('copy').delete(one);
      for (const part of parts) store('copy').add(part);
    });
  }

  const here = new Set(list.keys());
  const waitingIds = new Set((await database.table('sealed').keys()) as string[]);
  /** Unsent entries that can be read here. */
  const unsent = new Map([...list].filter(([id]) => waitingIds.has(id)));
  /** What the opening has read, until it is given out: the replica holds it from then on. */
  let first: Map<string, Entry> | undefined = list;

  async function box<Value>(name: string): Promise<Value | undefined> {
    const found = await database.table('boxes').get<Bytes>(name);
    return found && openValue<Value>(key, name, found);
  }
  const refusedNow = async (): Promise<readonly Refused[]> =>
    (await box<readonly Refused[]>('refused')) ?? [];

  /** Ids are taken before the disk is asked, so that two that come at once are not both kept. */
  async function kept(entries: readonly Entry[], rows: readonly SealedRow[]): Promise<void> {
    const fresh = entries.filter(({ id }) => !here.has(id));
    if (fresh.length === 0 && rows.length === 0) return;
    for (const { id } of fresh) here.add(id);
    try {
      const piece = await sealed({ entries: fresh }, pieceLabel);
      await database.write(['copy', 'sealed'], (store) => {
        if (fresh.length > 0) store('copy').add(piece);
        for (const row of rows) store('sealed').put(row);
      });
    } catch (problem) {
      for (const { id } of fresh) here.delete(id);
      throw problem;
    }
    for (const entry of fresh) first?.set(entry.id, entry);
  }

  const store: LocalStore = {
    lasting: true,
    entries: async () => {
      const all = first ?? (await read()).list;
      first = undefined;
      return [...all.values()];
    },
    unsent: async () => [...unsent.values()].sort((a, b) => (a.id < b.id ? -1 : 1)),
    waiting: async () =>
      (await database.table('sealed').all<SealedRow>()).map(({ id, author }) => ({ id, author })),
    refused: refusedNow,
    keepOwn: async (entries) => {
      const rows = await Promise.all(
        entries.map(async (entry) => ({
          ...(await sealEntry(entry, server, entry.author === person ? voucher : undefined)),
          author: entry.author,
        })),
      );
      await kept(entries, rows);
      for (const entry of entries) unsent.set(entry.id, entry);
    },
    keepReceived: (entries) => kept(entries, []),
    sent: async (ids) => {
      await database.write(['sealed'], (table) => {
        for (const id of ids) table('sealed').delete(id);
      });
      for (const id of ids) unsent.delete(id);
    },
    refuse: async (entry, refusal) => {
      const others = (await refusedNow()).filter((one) => one.entry.id !== entry.id);
      const next = await sealed([...others, { entry, refusal }], 'refused');
      await database.write(['sealed', 'boxes'], (table) => {
        table('sealed').delete(entry.id);
        table('boxes').put(next, 'refused');
      });
      unsent.delete(entry.id);
    },
    drop: async (id) => {
      const next = await sealed(
        (await refusedNow()).filter((one) => one.entry.id !== id),
        'refused',
      );
      const piece = await sealed({ dropped: [id] }, pieceLabel);
      await database.write(['copy', 'boxes'], (table) => {
        table('boxes').put(next, 'refused');
        table('copy').add(piece);
      });
      first?.delete(id);
      here.delete(id);
    },
    forget: async (ids) => {
      const gone = ids.filter((id) => here.has(id) && !unsent.has(id));
      if (gone.length === 0) return;
      const piece = await sealed({ dropped: gone }, pieceLabel);
      await database.write(['copy'], (table) => void table('copy').add(piece));
      for (const id of gone) {
        first?.delete(id);
        here.delete(id);
      }
    },
    note: box,
    writeNote: async (name, value) => {
      const next = value === undefined ? undefined : await sealed(value, name);
      await database.write(['boxes'], (table) => {
        if (next === undefined) table('boxes').delete(name);
        else table('boxes').put(next, name);
      });
    },
    close: () => {
      first = undefined;
      unsent.clear();
    },
  };

  let writing: Promise<void> = Promise.resolve();
  /** In one box: the name of a draft names a patient. One change after the other. */
  const changeDrafts = (change: (all: Map<string, unknown>) => void): Promise<void> => {
    writing = writing
      .catch(() => undefined)
      .then(async () => {
        const all = new Map(
          Object.entries((await store.note<Readonly<Record<string, unknown>>>('drafts')) ?? {}),
        );
        change(all);
        await store.writeNote('drafts', Object.fromEntries(all));
      });
    return writing;
  };
  const drafts: DraftShelf = {
    read: async <Value>(name: string) => {
      await writing.catch(() => undefined);
      return (await store.note<Readonly<Record<string, Value>>>('drafts'))?.[name];
    },
    write: (name, value) => changeDrafts((all) => void all.set(name, value)),
    remove: (name) => changeDrafts((all) => void all.delete(name)),
  };
  return { store, drafts };
}
