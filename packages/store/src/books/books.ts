/**
 * What a server keeps besides the record: who works here, how they sign in, which protocols are in force. Each is one
 * text under a name, changed whole; in files of a folder for one server, in a database for several.
 *
 * Errors    a disk or a database that fails throws, and then the text is as it was
 */

/** Gives the next text; `undefined` leaves it as it is. */
export type NextText = (text: string | undefined) => string | undefined | Promise<string | undefined>;

export interface TextBook {
  readonly name: string;
  /** The newest text, whoever wrote it; `undefined` when there is none yet. */
  read(): Promise<string | undefined>;
  /** Changes it over the newest text. One after the other, across all who keep it; `next` that throws changes nothing. */
  change(next: NextText): Promise<void>;
  /** Calls the listener after somebody changed it; it may come late, or once too often. Gives how to stop. */
  onChanged(listener: () => void): () => void;
}

export interface Books {
  /** Domain: names as `isBookName` tells. */
  book(name: string): TextBook;
  /** Names of those that have a text, in order. */
  names(): Promise<readonly string[]>;
  /** Takes one away; false when there was none. */
  remove(name: string): Promise<boolean>;
}

/** A file's name, in one folder at most: nothing that leads elsewhere. */
export const isBookName = (name: string): boolean =>
  /^(?:[a-z][a-z0-9-]{0,40}\/)?[a-z0-9][a-z0-9-]{0,80}\.(?:json|ndjson|pem)$/.test(name);

export function checkedName(name: string): string {
  if (!isBookName(name)) throw new Error('a book has another name');
  return name;
}

/** One after the other. */
export function inTurn(): <Answer>(work: () => Promise<Answer>) => Promise<Answer> {
  let last: Promise<unknown> = Promise.resolve();
  return (work) => {
    const mine = last.then(work);
    last = mine.catch(() => undefined);
    return mine;
  };
}

/** In memory: for tests and for what is thrown away. */
export function memoryBook(first?: string, name = 'book.json'): TextBook {
  let text = first;
  const turn = inTurn();
  const listeners = new Set<() => void>();
  return {
    name,
    read: async () => text,
    change: (next) =>
      turn(async () => {
        text = (await next(text)) ?? text;
        for (const listener of listeners) listener();
      }),
    onChanged: (listener) => {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
  };
}

export function memoryBooks(): Books {
  const opened = new Map<string, TextBook>();
  const book = (name: string): TextBook => {
    const found = opened.get(name) ?? memoryBook(undefined, checkedName(name));
    opened.set(name, found);
    return found;
  };
  return {
    book,
    names: async () => {
      const names: string[] = [];
      for (const one of opened.values()) if ((await one.read()) !== undefined) names.push(one.name);
      return names.sort();
    },
    remove: async (name) => {
      const had = (await opened.get(name)?.read()) !== undefined;
      opened.delete(name);
      return had;
    },
  };
}
