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
