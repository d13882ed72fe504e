/**
 * Books as files of one folder, for one server process: each is written beside first, put on the disk, then in its place.
 */
import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { open, rename } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { checkedName, inTurn, isBookName, type Books, type TextBook } from './books.ts';

/** Writes a file whole: beside it first, to the disk, then in its place, and that to the disk too. */
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
  await folderToDisk(dirname(path));
}

/** A new name is on the disk when its folder is. Windows opens no folder; its renames are on the disk by themselves. */
async function folderToDisk(path: string): Promise<void> {
  if (process.platform === 'win32') return;
  const folder = await open(path, 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
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

type Turn = ReturnType<typeof inTurn>;
type Listening = Map<string, Set<() => void>>;

const bookAt = (path: string, turn: Turn, listening: Listening): TextBook => ({
  name: basename(path),
  read: async () => readIfThere(path),
  change: (next) =>
    turn(async () => {
      const text = await next(readIfThere(path));
      if (text === undefined) return;
      mkdirSync(dirname(path), { recursive: true, mode: 0o700 });
      await replaceFile(path, text);
      for (const listener of listening.get(path) ?? []) listener();
    }),
  onChanged: (listener) => {
    const all = listening.get(path) ?? new Set();
    listening.set(path, all.add(listener));
    return () => void all.delete(listener);
  },
});

/** One file; several values of the same path do not know of each other's turns. */
export const fileBook = (path: string): TextBook => bookAt(path, inTurn(), new Map());

export function fileBooks(folder: string): Books {
  // One turn for all: nothing is held for a name that somebody only asked about.
  const turn = inTurn();
  const listening: Listening = new Map();
  const namesIn = (under: string): readonly string[] => {
    try {
      return readdirSync(join(folder, under), { withFileTypes: true }).flatMap((one) => {
        const name = under === '' ? one.name : `${under}/${one.name}`;
        if (one.isDirectory()) return under === '' ? namesIn(name) : [];
        return isBookName(name) ? [name] : [];
      });
    } catch (problem) {
      if ((problem as NodeJS.ErrnoException).code === 'ENOENT') return [];
      throw problem;
    }
  };
  return {
    book: (name) => bookAt(join(folder, checkedName(name)), turn, listening),
    names: async () => [...namesIn('')].sort(),
    remove: async (name) => {
      const path = join(folder, checkedName(name));
      if (readIfThere(path) === undefined) return false;
      rmSync(path);
      return true;
    },
  };
}
