/**
 * Other ways in beside secret and PIN: each person's passkeys and badge. A badge is a text that a reader types or a code
 * that is scanned; kept are a slow salted digest and one byte that a keyed digest of it begins with, so that a badge finds
 * its person among hundreds without hundreds of slow looks.
 *
 * Errors    `server/ways-file`
 */
import { createHmac } from 'node:crypto';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { fileBook, memoryBook, openJsonBook, type TextBook } from '@ebbline/store/books';
import { z } from 'zod';
import { countsBack, passkeyShape, type Passkey } from './passkeys.ts';
import { hashSecret, secretMatches } from './password.ts';

const badge = z.strictObject({
  shelf: z.number().int().min(0).max(255),
  digest: z.string(),
  setAt: z.string(),
});
const ways = z.strictObject({ passkeys: z.array(passkeyShape).optional(), badge: badge.optional() });
const people = z.record(z.string(), ways);
type People = Readonly<z.infer<typeof people>>;

export interface HeldPasskey {
  readonly person: string;
  readonly passkey: Passkey;
}

export interface WaysBook {
  passkeysOf(person: string): Promise<readonly Passkey[]>;
  passkey(id: string): Promise<HeldPasskey | undefined>;
  /** False when somebody has it already. */
  addPasskey(person: string, passkey: Passkey): Promise<boolean>;
  removePasskey(person: string, id: string): Promise<boolean>;
  /** Keeps the device's count; false, and nothing is kept, when it counted back. */
  usePasskey(person: string, id: string, counter: number, at: string): Promise<boolean>;
  badgeSince(person: string): Promise<string | undefined>;
  /** False when it is somebody else's. */
  setBadge(person: string, text: string, at: string): Promise<boolean>;
  removeBadge(person: string): Promise<boolean>;
  /** Whose badge it is. */
  personOfBadge(text: string): Promise<string | undefined>;
  /** Takes every way of a person away, as when the secret is set anew. */
  clear(person: string): Promise<void>;
}

function waysOf(text: string | undefined): People {
  if (text === undefined) return {};
  try {
    return people.parse(JSON.parse(text));
  } catch {
    throw new RefusalError(
      refuse('server/ways-file', {
        asked: 'Passkeys and badges',
        found: 'a sign-in-ways.json that is not as it was written',
        allowed: 'the file that this program wrote',
        todo: 'Bring it back from a backup.',
      }),
    );
  }
}

/** @param secret of the server; without it the kept byte says nothing of a badge */
export async function openWays(book: TextBook, secret: Uint8Array): Promise<WaysBook> {
  const kept = await openJsonBook<People>({
    book,
    read: waysOf,
    write: (value) => `${JSON.stringify(value, undefined, 2)}\n`,
  });
  const shelfOf = (text: string): number =>
    createHmac('sha256', secret)
      .update(`badge\n${text.normalize('NFKC')}`)
      .digest()[0] as number;
  const of = (all: People, person: string): z.infer<typeof ways> =>
    Object.hasOwn(all, person) ? (all[person] ?? {}) : {};
  const nobody = hashSecret('nobody has this badge');
  const personOfBadge = async (text: string): Promise<string | undefined> => {
    const shelf = shelfOf(text);
    let looked = false;
    for (const [person, { badge: held }] of Object.entries(await kept.newest())) {
      if (held?.shelf !== shelf) continue;
      looked = true;
      if (await secretMatches(held.digest, text)) return person;
    }
    // A badge of nobody costs the same time as one of somebody.
    if (!looked) await secretMatches(await nobody, text);
    return undefined;
  };
  const changePasskeys = async (
    person: string,
    next: (passkeys: readonly Passkey[], all: People) => readonly Passkey[] | undefined,
  ): Promise<boolean> => {
    let done = false;
    await kept.change((all) => {
      const passkeys = next(of(all, person).passkeys ?? [], all);
      done = passkeys !== undefined;
      return passkeys === undefined
        ? all
        : { ...all, [person]: { ...of(all, person), passkeys: [...passkeys] } };
    });
    return done;
  };
  return {
    passkeysOf: async (person) => of(await kept.newest(), person).passkeys ?? [],
    passkey: async (id) => {
      for (const [person, { passkeys = [] }] of Object.entries(await kept.newest())) {
        const passkey = passkeys.find((one) => one.id === id);
        if (passkey) return { person, passkey };
      }
      return undefined;
    },
    addPasskey: (person, passkey) =>
      changePasskeys(person, (passkeys, all) =>
        Object.values(all).some((one) => one.passkeys?.some(({ id }) => id === passkey.id) === true)
          ? undefined
          : [...passkeys, passkey],
      ),
    removePasskey: (person, id) =>
      changePasskeys(person, (passkeys) =>
        passkeys.some((one) => one.id === id) ? passkeys.filter((one) => one.id !== id) : undefined,
      ),
    usePasskey: (person, id, counter, at) =>
      changePasskeys(person, (passkeys) => {
        const held = passkeys.find((one) => one.id === id);
        if (held === undefined || countsBack(held.counter, counter)) return undefined;
        return passkeys.map((one) => (one === held ? { ...one, counter, lastUsedAt: at } : one));
      }),
    badgeSince: async (person) => of(await kept.newest(), person).badge?.setAt,
    setBadge: async (person, text, at) => {
      const holder = await personOfBadge(text);
      if (holder !== undefined && holder !== person) return false;
      const next = { shelf: shelfOf(text), digest: await hashSecret(text), setAt: at };
      await kept.change((all) => ({ ...all, [person]: { ...of(all, person), badge: next } }));
      return true;
    },
    removeBadge: async (person) => {
      let had = false;
      await kept.change((all) => {
        const { badge: held, ...rest } = of(all, person);
        had = held !== undefined;
        return had ? { ...all, [person]: rest } : all;
      });
      return had;
    },
    personOfBadge,
    clear: async (person) => {
      await kept.change((all) => Object.fromEntries(Object.entries(all).filter(([id]) => id !== person)));
    },
  };
}

export const fileWays = (path: string, secret: Uint8Array): Promise<WaysBook> =>
  openWays(fileBook(path), secret);

/** Lives as long as the process: the demo and tests. */
export const memoryWays = (secret: Uint8Array = new Uint8Array(32)): Promise<WaysBook> =>
  openWays(memoryBook(), secret);
