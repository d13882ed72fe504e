/**
 * An entry on its way that only the server can read: what a tablet keeps of unsent work when nobody is there, and what
 * anybody's tablet may carry.
 *
 * Shape     { id, key, box }: the entry's id, the id of the server's key, the box in base64url
 */
import type { Entry } from '@ebbline/core/record';
import { base64Of, bytesOf, textOf, utf8 } from './bytes.ts';
import { openBox, sealBox, type SealingKeyPair } from './hpke.ts';
import { markOf, type IssuedVoucher } from './voucher.ts';

export interface SealedEntry {
  readonly id: string;
  /** Which of the server's keys opens it. */
  readonly key: string;
  readonly box: string;
}

/** What was in the box. The text is as the author's tablet wrote it; the mark stands under exactly that text. */
export interface OpenedEntry {
  readonly text: string;
  readonly voucher?: string;
  readonly mark?: string;
}

const purpose = utf8('ebbline sealed entry 1');

/** @param voucher absent when nothing proves the author: the server then asks a person */
export async function sealEntry(
  entry: Entry,
  server: { readonly id: string; readonly key: CryptoKey },
  voucher: IssuedVoucher | undefined,
): Promise<SealedEntry> {
  const text = JSON.stringify(entry);
  const opened: OpenedEntry =
    voucher === undefined ? { text } : { text, voucher: voucher.text, mark: await markOf(voucher, text) };
  const box = await sealBox(server.key, purpose, utf8(entry.id), utf8(JSON.stringify(opened)));
  return { id: entry.id, key: server.id, box: base64Of(box) };
}

/** Undefined when it cannot be opened with this key, or holds something else. */
export async function openSealed(
  sealed: SealedEntry,
  pair: SealingKeyPair,
): Promise<OpenedEntry | undefined> {
  try {
    const bytes = await openBox(pair, purpose, utf8(sealed.id), bytesOf(sealed.box));
    const { text, voucher, mark } = JSON.parse(textOf(bytes)) as Partial<Record<keyof OpenedEntry, unknown>>;
    if (typeof text !== 'string') return undefined;
    return typeof voucher === 'string' && typeof mark === 'string' ? { text, voucher, mark } : { text };
  } catch {
    return undefined;
  }
}
