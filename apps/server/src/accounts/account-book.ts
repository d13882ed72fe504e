/**
 * Who can sign in: for each person of the directory a hashed secret and, when they chose one, a hashed PIN.
 * Asked of the newest text at every sign-in, so that what is changed at one server holds at the others at once.
 */
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { fileBook, memoryBook, openJsonBook, type TextBook } from '@ebbline/store/books';
import { z } from 'zod';
import { hashSecret, secretMatches } from './password.ts';

const account = z.strictObject({ secret: z.string(), pin: z.string().optional() });
const accounts = z.record(z.string(), account);
type Accounts = Readonly<z.infer<typeof accounts>>;

export interface AccountBook {
  secretIs(person: string, secret: string): Promise<boolean>;
  pinIs(person: string, pin: string): Promise<boolean>;
  set(person: string, secret: string, pin?: string): Promise<void>;
  /** Sets the very first account; false when there is one already. */
  setFirst(person: string, secret: string): Promise<boolean>;
}

function accountsOf(text: string | undefined): Accounts {
  if (text === undefined) return {};
  try {
    return accounts.parse(JSON.parse(text));
  } catch {
    throw new RefusalError(
      refuse('server/accounts-file', {
        asked: 'Accounts',
        found: 'an accounts.json that is not as it was written',
        allowed: 'the file that this program wrote',
        todo: 'Bring it back from a backup.',
      }),
    );
  }
}

export async function openAccounts(
  book: TextBook,
  failed?: (problem: unknown) => void,
): Promise<AccountBook> {
  const kept = await openJsonBook<Accounts>({
    book,
    read: accountsOf,
    write: (value) => `${JSON.stringify(value, undefined, 2)}\n`,
    ...(failed === undefined ? {} : { failed }),
  });
  const accountOf = async (person: string) => {
    const all = await kept.newest();
    return Object.hasOwn(all, person) ? all[person] : undefined;
  };
  // Somebody unknown costs the same time as somebody known.
  const nobody = hashSecret('nobody has this secret');
  return {
    secretIs: async (person, secret) => {
      const found = await accountOf(person);
      return (await secretMatches(found?.secret ?? (await nobody), secret)) && found !== undefined;
    },
    pinIs: async (person, pin) => {
      const found = (await accountOf(person))?.pin;
      return (await secretMatches(found ?? (await nobody), pin)) && found !== undefined;
    },
    set: async (person, secret, pin) => {
      const account = {
        secret: await hashSecret(secret),
        ...(pin === undefined ? {} : { pin: await hashSecret(pin) }),
      };
      await kept.change((all) => ({ ...all, [person]: account }));
    },
    setFirst: async (person, secret) => {
      if (Object.keys(await kept.newest()).length > 0) return false;
      const account = { secret: await hashSecret(secret) };
      // Asked again inside the change: several servers may start at once.
      let first = false;
      await kept.change((all) => {
        first = Object.keys(all).length === 0;
        return first ? { [person]: account } : all;
      });
      return first;
    },
  };
}

export const fileAccounts = (path: string): Promise<AccountBook> => openAccounts(fileBook(path));

/** Everybody with the same secret and PIN: the demo, where both stand on the sign-in page. */
export async function sharedAccounts(
  people: readonly string[],
  secret: string,
  pin: string,
): Promise<AccountBook> {
  const both = { secret: await hashSecret(secret), pin: await hashSecret(pin) };
  return openAccounts(memoryBook(JSON.stringify(Object.fromEntries(people.map((person) => [person, both])))));
}
