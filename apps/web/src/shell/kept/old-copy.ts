/**
 * What a tablet of an earlier release kept in the open: read once, so that it can be sealed, and then deleted. Unsent
 * entries are all taken over.
 */
import type { Refusal } from '@ebbline/core/quantity';
import type { Directory, Entry, Person } from '@ebbline/core/record';
import { asked } from './kept-database.ts';

const oldName = 'ebbline';
const oldDrafts = 'ebbline-drafts';

export interface OldCopy {
  readonly me: Person | undefined;
  readonly directory: Directory | undefined;
  readonly tablet: string | undefined;
  readonly unsent: readonly Entry[];
  readonly refused: readonly { readonly entry: Entry; readonly refusal: Refusal }[];
}

/** Undefined where there is none. */
export async function readOldCopy(factory: IDBFactory): Promise<OldCopy | undefined> {
  const request = factory.open(oldName);
  let fresh = false;
  request.addEventListener('upgradeneeded', () => {
    fresh = true;
    // It was not there: nothing is made of it.
    request.transaction?.abort();
  });
  const database = await asked(request).catch(() => undefined);
  if (database === undefined || fresh) return undefined;
  try {
    const names = ['entries', 'unsent', 'refused', 'notes'];
    if (!names.every((name) => database.objectStoreNames.contains(name))) return undefined;
    const all = <Value>(name: string): Promise<Value[]> =>
      asked(database.transaction(name).objectStore(name).getAll());
    const note = <Value>(name: string): Promise<Value | undefined> =>
      asked(database.transaction('notes').objectStore('notes').get(name));
    return {
      me: await note('me'),
      directory: await note('directory'),
      tablet: await note('tablet'),
      unsent: await all('unsent'),
      refused: await all('refused'),
    };
  } finally {
    database.close();
  }
}

/** Waits for nobody: a page that still has it open lets it go when it closes. */
export function deleteOldCopy(factory: IDBFactory): void {
  factory.deleteDatabase(oldName);
  factory.deleteDatabase(oldDrafts);
}
