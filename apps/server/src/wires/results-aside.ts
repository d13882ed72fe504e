/**
 * Results that the receiver will not have, until a person has decided: the text of a book, so that it survives a restart.
 *
 * Errors    `server/results-aside-file`
 */
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { openJsonBook, type Books, type JsonBook } from '@ebbline/store/books';
import { z } from 'zod';
import type { AsideResult } from './result-feed.ts';

export const asideBookName = 'results-aside.json';

const shape = z.array(
  z.strictObject({ sequence: z.number().int(), entry: z.string(), words: z.string(), atMs: z.number() }),
);

function read(text: string | undefined): readonly AsideResult[] {
  if (text === undefined) return [];
  try {
    return shape.parse(JSON.parse(text));
  } catch {
    throw new RefusalError(
      refuse('server/results-aside-file', {
        asked: 'Results that were put aside',
        found: `a ${asideBookName} that is not as it was written`,
        allowed: 'the text that this program wrote',
        todo: 'Bring it back from a backup.',
      }),
    );
  }
}

export const openAside = (books: Books): Promise<JsonBook<readonly AsideResult[]>> =>
  openJsonBook({
    book: books.book(asideBookName),
    read,
    write: (value) => `${JSON.stringify(value, undefined, 2)}\n`,
  });
