/**
 * What this tablet keeps in the browser: entries in order of arrival, which of them are still to be sent, which
 * were refused, and a few notes (how far it has read the ward's record, the last directory).
 *
 * A save is one transaction with strict durability: entry and place in the queue, both or neither.
 * The rest of the page knows only this port; `memoryStore` is the same for tests and for a browser that keeps nothing.
 */
import type { EntryId, Refusal } from '@ebbline/core/quantity';
import type { Entry } from '@ebbline/core/record';

export interface LocalStore {
  /** False when the browser gave no lasting place: a closed page then loses what was not sent. */
  readonly lasting: boolean;
  entries(): Promise<readonly Entry[]>;
  unsent(): Promise<readonly Entry[]>;
  refused(): Promise<readonly { readonly entry: Entry; readonly refusal: Refusal }[]>;
  /** Adds entries made here, and puts them in the queue. */
  keepOwn(entries: readonly Entry[]): Promise<void>;
  /** Adds entries that came from the ward's record; those already here stay as they are. */
  keepReceived(entries: readonly Entry[]): Promise<void>;
  sent(ids: readonly EntryId[]): Promise<void>;
  refuse(entry: Entry, refusal: Refusal): Promise<void>;
  /** Takes a refused entry off this tablet, once a person has seen why. */
  drop(id: EntryId): Promise<void>;
  note<Value>(name: string): Promise<Value | undefined>;
  writeNote(name: string, value: unknown): Promise<void>;
  close(): void;
}

const databaseName = 'ebbline';
const version = 1;

const asked = <Value>(request: IDBRequest<Value>): Promise<Value> =>
  new Promise((resolve, reject) => {
    request.addEventListener('success', () => resolve(request.result));
    request.addEventListener('error', () => reject(request.error ?? new Error('the browser could not read')));
  });

function open(factory: IDBFactory): Promise<IDBDatabase> {
  const request = factory.open(databaseName, version);
  request.addEventListener('upgradeneeded', () => {
    const database = request.result;
    database.createObjectStore('entries', { autoIncrement: true }).createIndex('id', 'id', { unique: true });
    database.createObjectStore('unsent', { keyPath: 'id' });
    database.createObjectStore('refused', { keyPath: 'entry.id' });
    database.createObjectStore('notes');
  });
  return asked(request);
}

type StoreName = 'entries' | 'unsent' | 'refused' | 'notes';

/** The lasting store of this browser. */
export async function indexedStore(factory: IDBFactory = indexedDB): Promise<LocalStore> {
  const database = await open(factory);

  const write = (
    names: readonly StoreName[],
    work: (store: (name: StoreName) => IDBObjectStore) => void,
  ): Promise<void> =>
    new Promise((resolve, reject) => {
      const transaction = database.transaction([...names], 'readwrite', { durability: 'strict' });
      transaction.addEventListener('complete', () => resolve());
      transaction.addEventListener('abort', () =>
        reject(transaction.error ?? new Error('the browser could not write')),
      );
      work((name) => transaction.objectStore(name));
    });
  const all = <Value>(name: StoreName): Promise<Value[]> =>
    asked(database.transaction(name).objectStore(name).getAll());

  const addNew = (store: IDBObjectStore, entries: readonly Entry[]): void => {
    for (const entry of entries) {
      const request = store.add(entry);
      // The unique index says that it is here already; the save goes on.
      request.addEventListener('error', (event) => {
        if (request.error?.name !== 'ConstraintError') return;
        event.preventDefault();
        event.stopPropagation();
      });
    }
  };

  return {
    lasting: true,
    entries: () => all<Entry>('entries'),
    unsent: () => all<Entry>('unsent').then((found) => found.sort((a, b) => (a.id < b.id ? -1 : 1))),
    refused: () => all('refused'),
    keepOwn: (entries) =>
      write(['entries', 'unsent'], (store) => {
        addNew(store('entries'), entries);
        for (const entry of entries) store('unsent').put(entry);
      }),
    keepReceived: (entries) => write(['entries'], (store) => addNew(store('entries'), entries)),
    sent: (ids) =>
      write(['unsent'], (store) => {
        for (const id of ids) store('unsent').delete(id);
      }),
    refuse: (entry, refusal) =>
      write(['unsent', 'refused'], (store) => {
        store('unsent').delete(entry.id);
        store('refused').put({ entry, refusal });
      }),
    drop: (id) =>
      write(['entries', 'refused'], (store) => {
        store('refused').delete(id);
        const key = store('entries').index('id').getKey(id);
        key.addEventListener('success', () => {
          if (key.result !== undefined) store('entries').delete(key.result);
        });
      }),
    note: (name) => asked(database.transaction('notes').objectStore('notes').get(name)),
    writeNote: (name, value) =>
      write(['notes'], (store) => {
        store('notes').put(value, name);
      }),
    close: () => database.close(),
  };
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
    note: async <Value>(name: string) => notes.get(name) as Value | undefined,
    writeNote: async (name, value) => {
      notes.set(name, value);
    },
    close: () => {},
  };
}
