/**
 * Who can sign in: for each person of the directory a hashed secret and, when they chose one, a hashed PIN.
 * In memory for the demo and tests; in a file that is replaced whole, never written in place.
 */
import { readFileSync } from 'node:fs';
import { open, rename } from 'node:fs/promises';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { z } from 'zod';
import { hashSecret, secretMatches } from './password.ts';

const account = z.strictObject({ secret: z.string(), pin: z.string().optional() });
const accounts = z.record(z.string(), account);
type Account = z.infer<typeof account>;

export interface AccountBook {
  secretIs(person: string, secret: string): Promise<boolean>;
  pinIs(person: string, pin: string): Promise<boolean>;
  set(person: string, secret: string, pin?: string): Promise<void>;
  isEmpty(): Promise<boolean>;
}

function bookOf(kept: Map<string, Account>, save: () => Promise<void>): AccountBook {
  // Somebody unknown costs the same time as somebody known.
  const nobody = hashSecret('nobody has this secret');
  return {
    secretIs: async (person, secret) => {
      const found = kept.get(person);
      return (await secretMatches(found?.secret ?? (await nobody), secret)) && found !== undefined;
    },
    pinIs: async (person, pin) => {
      const found = kept.get(person)?.pin;
      return (await secretMatches(found ?? (await nobody), pin)) && found !== undefined;
    },
    set: async (person, secret, pin) => {
      kept.set(person, {
        secret: await hashSecret(secret),
        ...(pin === undefined ? {} : { pin: await hashSecret(pin) }),
      });
      await save();
    },
    isEmpty: async () => kept.size === 0,
  };
}

/** Everybody with the same secret and PIN: the demo, where both stand on the sign-in page. */
export async function sharedAccounts(
  people: readonly string[],
  secret: string,
  pin: string,
): Promise<AccountBook> {
  const both: Account = { secret: await hashSecret(secret), pin: await hashSecret(pin) };
  return bookOf(new Map(people.map((person) => [person, both])), async () => undefined);
}

/** Writes a file whole: beside it first, to the disk, then in its place. */
export async function replaceFile(path: string, text: string): Promise<void> {
  const beside = `${path}.new`;
  const file = await open(beside, 'w', 0o600);
  try {
    await file.writeFile(text);
    await file.sync();
  } finally {
    await file.close();
  }
  await rename(beside, path);
}

/** The file's text, or nothing when there is no such file yet. */
export function readIfThere(path: string): string | undefined {
  try {
    return readFileSync(path, 'utf8');
  } catch (problem) {
    if ((problem as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
    throw problem;
  }
}

export function fileAccounts(path: string): AccountBook {
  const text = readIfThere(path);
  let read: Record<string, Account> = {};
  if (text !== undefined) {
    try {
      read = accounts.parse(JSON.parse(text));
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
  const kept = new Map(Object.entries(read));
  let saving = Promise.resolve();
  const save = (): Promise<void> => {
    saving = saving.then(() =>
      replaceFile(path, `${JSON.stringify(Object.fromEntries(kept), undefined, 2)}\n`),
    );
    return saving;
  };
  return bookOf(kept, save);
}
