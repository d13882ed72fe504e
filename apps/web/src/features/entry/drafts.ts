/**
 * Drafts that outlive the screen: in memory, and on the tablet, for each author apart. A draft holds what its author
 * typed and is handed to nobody else; it leaves the tablet's store when it is saved or put away.
 */
import { isEmpty, type Draft } from './draft.ts';

const memory = new Map<string, Draft>();
const nameOfStore = 'drafts';

export const keyOfDraft = (author: string, patient: string, form: string): string =>
  [author, patient, form].map(encodeURIComponent).join('/');

function open(): Promise<IDBDatabase | undefined> {
  if (typeof indexedDB === 'undefined') return Promise.resolve(undefined);
  return new Promise((resolve) => {
    const request = indexedDB.open('ebbline-drafts', 1);
    request.addEventListener('upgradeneeded', () => request.result.createObjectStore(nameOfStore));
    request.addEventListener('success', () => resolve(request.result));
    // Without the store a draft lives as long as the page: less, but no reason to stop anyone.
    request.addEventListener('error', () => resolve(undefined));
  });
}

let opened: Promise<IDBDatabase | undefined> | undefined;

async function within<Value>(
  mode: IDBTransactionMode,
  act: (store: IDBObjectStore) => IDBRequest<Value>,
): Promise<Value | undefined> {
  opened ??= open();
  const database = await opened;
  if (!database) return undefined;
  return new Promise((resolve) => {
    const request = act(database.transaction(nameOfStore, mode).objectStore(nameOfStore));
    request.addEventListener('success', () => resolve(request.result));
    request.addEventListener('error', () => resolve(undefined));
  });
}

/** Keeps a draft, or forgets it when nothing is in it. */
export function keepDraft(
  author: string,
  draft: Draft,
  remembered: Readonly<Record<string, string>> = {},
): void {
  const key = keyOfDraft(author, draft.patient, draft.form);
  if (isEmpty(draft, remembered)) {
    forgetDraft(author, draft.patient, draft.form);
    return;
  }
  memory.set(key, draft);
  void within('readwrite', (store) => store.put(draft, key));
}

export function forgetDraft(author: string, patient: string, form: string): void {
  const key = keyOfDraft(author, patient, form);
  memory.delete(key);
  void within('readwrite', (store) => store.delete(key));
}

/** A draft of this author, at once when the page still has it. */
export const draftInMemory = (author: string, patient: string, form: string): Draft | undefined =>
  memory.get(keyOfDraft(author, patient, form));

export async function draftOnTablet(
  author: string,
  patient: string,
  form: string,
): Promise<Draft | undefined> {
  const key = keyOfDraft(author, patient, form);
  const kept =
    memory.get(key) ??
    ((await within('readonly', (store) => store.get(key) as IDBRequest<Draft | undefined>)) as
      | Draft
      | undefined);
  return kept?.form === form && kept.patient === patient ? kept : undefined;
}
