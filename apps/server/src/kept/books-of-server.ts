/** The books that a server needs, opened where they are kept; the same for a folder and a database. */
import { randomBytes } from 'node:crypto';
import type { Books } from '@ebbline/store/books';
import { openAccounts, type AccountBook } from '../accounts/account-book.ts';
import { openTokens, type TokenBook } from '../accounts/tokens.ts';
import { openWays, type WaysBook } from '../accounts/ways-book.ts';
import { openDirectory, type DirectoryBook } from '../directory-book.ts';
import { openProtocols, type ProtocolBook } from '../protocol-book.ts';
import { openHeld, type HeldBook } from '../sealing/held-book.ts';
import { openSealingKey, type SealingKey } from '../sealing/sealing-key.ts';

export interface ServerBooks {
  readonly directory: DirectoryBook;
  readonly accounts: AccountBook;
  readonly protocols: ProtocolBook;
  readonly tokens: TokenBook;
  readonly sealing: SealingKey;
  readonly ways: WaysBook;
  readonly held: HeldBook;
  /** The administrator's first secret, when this start made one: of several servers one does. */
  readonly firstSecret: string | undefined;
}

/** @param failed told when a book that somebody else has written does not read; it then stays as it was here */
export async function openServerBooks(
  books: Books,
  failed: (problem: unknown) => void,
  organisation?: string,
): Promise<ServerBooks> {
  const directory = await openDirectory(books.book('directory.json'), organisation, failed);
  const accounts = await openAccounts(books.book('accounts.json'), failed);
  const administrator = directory.current().people.find(({ role }) => role === 'administrator');
  const secret = randomBytes(12).toString('base64url');
  const made = administrator !== undefined && (await accounts.setFirst(administrator.id, secret));
  const sealing = await openSealingKey(books.book('sealing-key.json'));
  return {
    directory,
    accounts,
    protocols: await openProtocols(books.book('protocols.json'), failed),
    tokens: openTokens(books),
    sealing,
    ways: await openWays(books.book('sign-in-ways.json'), sealing.voucherSecret),
    held: await openHeld(books.book('held-entries.json'), failed),
    firstSecret: made ? secret : undefined,
  };
}
