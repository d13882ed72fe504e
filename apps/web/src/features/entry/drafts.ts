/**
 * Drafts that outlive the screen: in memory, and sealed on the tablet, for each author apart. A draft holds what its
 * author typed and is handed to nobody else; it leaves the tablet when it is saved or put away. While the tablet is
 * locked none is in memory.
 */
import { draftShelf, whenDraftsClose } from '../../shell/kept/kept-drafts.ts';
import { isEmpty, type Draft } from './draft.ts';

const memory = new Map<string, Draft>();
whenDraftsClose(() => memory.clear());

export const keyOfDraft = (author: string, patient: string, form: string): string =>
  [author, patient, form].map(encodeURIComponent).join('/');

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
  // Where it cannot be kept it lives as long as the page: less, but no reason to stop anyone.
  void draftShelf()
    ?.write(key, draft)
    .catch(() => undefined);
}

export function forgetDraft(author: string, patient: string, form: string): void {
  const key = keyOfDraft(author, patient, form);
  memory.delete(key);
  void draftShelf()
    ?.remove(key)
    .catch(() => undefined);
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
    (await draftShelf()
      ?.read<Draft>(key)
      .catch(() => undefined));
  return kept?.form === form && kept.patient === patient ? kept : undefined;
}
