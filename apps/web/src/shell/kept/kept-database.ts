/**
 * The one database of this tablet. Readable by anybody who has the tablet's disk: so what stands here is sealed, or
 * says nothing of a patient.
 *
 * Shape     copy: boxes in order of arrival · boxes: named boxes, drafts among them · wraps: the key to them, sealed
 *           for each who may open · sealed: unsent entries that only the server can open · plain: notes without patients
 */
export type TableName = 'copy' | 'boxes' | 'wraps' | 'sealed' | 'plain';

export interface KeptTable {
  get<Value>(key: IDBValidKey): Promise<Value | undefined>;
  all<Value>(): Promise<Value[]>;
  keys(): Promise<IDBValidKey[]>;
}

export interface KeptDatabase {
  table(name: TableName): KeptTable;
  /** One transaction: all of it or nothing, on the disk before it resolves. */
  write(
    names: readonly TableName[],
    work: (store: (name: TableName) => IDBObjectStore) => void,
  ): Promise<void>;
  close(): void;
}

const databaseName = 'ebbline-kept';

export const asked = <Value>(request: IDBRequest<Value>): Promise<Value> =>
  new Promise((resolve, reject) => {
    request.addEventListener('success', () => resolve(request.result));
    request.addEventListener('error', () => reject(request.error ?? new Error('the browser could not read')));
  });

export async function openKeptDatabase(factory: IDBFactory): Promise<KeptDatabase> {
  const request = factory.open(databaseName, 1);
  request.addEventListener('upgradeneeded', () => {
    const database = request.result;
    database.createObjectStore('copy', { autoIncrement: true });
    database.createObjectStore('sealed', { keyPath: 'id' });
    for (const name of ['boxes', 'wraps', 'plain'] satisfies TableName[]) database.createObjectStore(name);
  });
  const database = await asked(request);
  // A newer program in another tab wants to change the tables.
  database.addEventListener('versionchange', () => database.close());
  return {
    table: (name) => {
      const store = (): IDBObjectStore => database.transaction(name).objectStore(name);
      return {
        get: (key) => asked(store().get(key)),
        all: () => asked(store().getAll()),
        keys: () => asked(store().getAllKeys()),
      };
    },
    write: (names, work) =>
      new Promise((resolve, reject) => {
        const transaction = database.transaction([...names], 'readwrite', { durability: 'strict' });
        transaction.addEventListener('complete', () => resolve());
        transaction.addEventListener('abort', () =>
          reject(transaction.error ?? new Error('the browser could not write')),
        );
        work((name) => transaction.objectStore(name));
      }),
    close: () => database.close(),
  };
}
