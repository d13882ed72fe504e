/**
 * Books as files of one folder, for one server process: each is written beside first, put on the disk, then in its place.
 */
import { mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { open, rename } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { checkedName, inTurn, isBookName, type Books, type TextBook } from './books.ts';

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

/** One file; several values of the same path do not know of each other's turns. */
export function fileBook(path: string): TextBook {
  const turn = inTurn();
  const listeners = new Set<() => void>();
  return {
    name: basename(path),
    read: async () => readIfThere(path),
    change: (next) =>
      turn(async () => {
        const text = await next(readIfThere(path));
        if (text === undefined) return;
        mkdirSync(dirname(path), { recursive: true, mode: 0o700 });
        await replaceFile(path, text);
        for (const listener of listeners) listener();
      }),
    onChanged: (listener) => {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
  };
}

export function fileBooks(folder: string): Books {
  const opened = new Map<string, TextBook>();
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
    book: (name) => {
      const book = opened.get(name) ?? fileBook(join(folder, checkedName(name)));
      opened.set(name, book);
      return book;
    },
    names: async () => [...namesIn('')].sort(),
    remove: async (name) => {
      const path = join(folder, checkedName(name));
      if (readIfThere(path) === undefined) return false;
      rmSync(path);
      return true;
    },
  };
}
