/** The directory as the server holds it: fixed for the demo and tests, a file that an administrator can replace otherwise. */
import { factorFrom, factorTo, fittedFigures } from '@ebbline/core/filling';
import { isRefusal, readInstant, refuse, RefusalError } from '@ebbline/core/quantity';
import { defaultSettings, roles, type Directory, type Person } from '@ebbline/core/record';
import { z } from 'zod';
import { readIfThere, replaceFile } from './accounts/account-book.ts';

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
  replace(next: Directory): Promise<void>;
}

function bookOf(first: Directory, save: (next: Directory) => Promise<void>): DirectoryBook {
  let directory = first;
  let people = new Map(directory.people.map((person) => [person.id, person]));
  return {
    current: () => directory,
    person: (id) => people.get(id),
    replace: async (next) => {
      await save(next);
      directory = next;
      people = new Map(directory.people.map((person) => [person.id, person]));
    },
  };
}

export const fixedDirectory = (directory: Directory): DirectoryBook =>
  bookOf(directory, async () => undefined);

/** A unit that starts from nothing: one administrator, no ward yet. */
const emptyDirectory: Directory = {
  organisation: 'our-organisation',
  wards: [],
  people: [{ id: 'administrator', name: 'Administrator', initials: 'AD', role: 'administrator', wards: [] }],
  scanners: [],
};

function jsonOrNothing(text: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch {
    return undefined;
  }
}

export async function fileDirectory(path: string): Promise<DirectoryBook> {
  const save = (next: Directory): Promise<void> =>
    replaceFile(path, `${JSON.stringify(next, undefined, 2)}\n`);
  const text = readIfThere(path);
  if (text === undefined) {
    await save(emptyDirectory);
    return bookOf(emptyDirectory, save);
  }
  const read = jsonOrNothing(text);
  const checked = directoryShape.safeParse(read);
  if (!checked.success) {
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
  return bookOf(checked.data, save);
}
