/** The directory as the server holds it: fixed for the demo and tests, a text that an administrator can replace otherwise. */
import { factorFrom, factorTo, fittedFigures } from '@ebbline/core/filling';
import { isRefusal, readInstant, refuse, RefusalError } from '@ebbline/core/quantity';
import { defaultSettings, roles, type Directory, type Person } from '@ebbline/core/record';
import { z } from 'zod';
import { fileBook, openJsonBook, type TextBook } from '@ebbline/store/books';
import { AnswerError, changedMeanwhile } from './answers.ts';

const word = z.string().min(1).max(120);
const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, 'a local time such as 07:30');
const zone = z.string().refine(
  (name) => {
    try {
      return new Intl.DateTimeFormat('en', { timeZone: name }).resolvedOptions().timeZone !== '';
    } catch {
      return false;
    }
  },
  { message: 'an IANA time zone such as Europe/Lisbon' },
);
const signature = z.strictObject({
  person: word,
  name: word,
  role: z.enum(roles),
  at: z.string().refine((text) => !isRefusal(readInstant(text)), { message: 'an instant with its offset' }),
});
export const lengtheningShape = z
  .strictObject({
    signed: signature,
    within: z.number().int().min(0),
    pairs: z.number().int().min(1),
    revoked: signature.optional(),
  })
  .meta({ id: 'Lengthening', description: 'Who let the forecast use a row’s range, on which figures.' });
const factors = z.partialRecord(z.enum(fittedFigures), z.number().min(factorFrom).max(factorTo));
const ownFiguresShape = z.strictObject({ common: factors, bySetting: z.record(word, factors) }).meta({
  id: 'OwnFigures',
  description: 'The starting figures of the estimate that this unit learnt, as factors.',
});
// A setting that is left out is the shipped default.
const settings = z.strictObject({
  ...(Object.fromEntries(
    Object.entries(defaultSettings).map(([name, value]) => [
      name,
      z
        .number()
        .min(0)
        .default(value as number),
    ]),
  ) as {
    [Name in keyof typeof defaultSettings]: z.ZodDefault<z.ZodNumber>;
  }),
  lengthening: lengtheningShape.optional(),
  ownFigures: ownFiguresShape.optional(),
});

export const directoryShape = z.strictObject({
  organisation: word,
  wards: z.array(
    z.strictObject({
      id: word,
      name: word,
      purpose: word,
      hospital: word,
      zone,
      beds: z.array(word).max(200),
      settings,
      shiftChanges: z.array(clock).max(6),
    }),
  ),
  people: z.array(
    z.strictObject({
      id: word,
      name: word,
      initials: z.string().min(1).max(6),
      role: z.enum(roles),
      wards: z.array(word),
    }),
  ),
  scanners: z.array(z.strictObject({ id: word, name: word, ward: word })),
});

export interface DirectoryBook {
  current(): Directory;
  person(id: string): Person | undefined;
  /** Throws a refusal with status 409 when somebody else replaced it meanwhile: `next` would undo that. */
  replace(next: Directory): Promise<void>;
}

/** A unit that starts from nothing: one administrator, no ward yet. */
const emptyDirectory = (organisation: string): Directory => ({
  organisation,
  wards: [],
  people: [{ id: 'administrator', name: 'Administrator', initials: 'AD', role: 'administrator', wards: [] }],
  scanners: [],
});
export const defaultOrganisation = 'our-organisation';

function jsonOrNothing(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return undefined;
  }
}

function directoryOf(text: string): Directory {
  const read = jsonOrNothing(text);
  const checked = directoryShape.safeParse(read);
  if (checked.success) return checked.data;
  const [issue] = checked.error.issues;
  throw new RefusalError(
    refuse('server/directory-file', {
      asked: 'Directory',
      found:
        read === undefined
          ? 'text that is no JSON'
          : `${issue?.path.join('.') || 'the file'}: ${issue?.message}`,
      allowed: 'one JSON object with organisation, wards, people and scanners, as `export` writes it',
      todo: 'Correct directory.json in the data folder.',
    }),
  );
}

export async function openDirectory(
  book: TextBook,
  organisation = defaultOrganisation,
  failed?: (problem: unknown) => void,
): Promise<DirectoryBook> {
  const write = (next: Directory): string => `${JSON.stringify(next, undefined, 2)}\n`;
  await book.change((text) => (text === undefined ? write(emptyDirectory(organisation)) : undefined));
  const kept = await openJsonBook<Directory>({
    book,
    read: (text) => (text === undefined ? emptyDirectory(organisation) : directoryOf(text)),
    write,
    ...(failed === undefined ? {} : { failed }),
  });
  return bookOf(kept.current, async (next) => {
    const before = kept.current();
    await kept.change((found) => {
      if (found !== before) throw new AnswerError(409, changedMeanwhile('Directory'));
      return next;
    });
  });
}

function bookOf(current: () => Directory, replace: DirectoryBook['replace']): DirectoryBook {
  let indexed: Directory | undefined;
  let people: ReadonlyMap<string, Person> = new Map();
  return {
    current,
    person: (id) => {
      const directory = current();
      if (indexed !== directory) people = new Map(directory.people.map((person) => [person.id, person]));
      indexed = directory;
      return people.get(id);
    },
    replace,
  };
}

export const fileDirectory = (path: string): Promise<DirectoryBook> => openDirectory(fileBook(path));

/** In memory. */
export function fixedDirectory(first: Directory): DirectoryBook {
  let directory = first;
  return bookOf(
    () => directory,
    async (next) => {
      directory = next;
    },
  );
}
