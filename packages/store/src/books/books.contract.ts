// Proves     every way of keeping books keeps a text whole, one change after the other whoever makes it, and tells of it
// Published  none: the port's own promises (books.ts)
// Tolerance  exact
import { describe, expect, it, vi } from 'vitest';
import type { Books } from './books.ts';
import { openJsonBook } from './json-book.ts';

/** @param open gives books that nobody has written to; `again` is the same ones as another opens them */
export function booksContract(
  name: string,
  open: () => Promise<{ readonly books: Books; readonly again: () => Promise<Books> }>,
): void {
  describe(`books in ${name}`, () => {
    const listOf = (text: string | undefined): number[] => JSON.parse(text ?? '[]') as number[];

    it('have no text at first, then the one that was written, also for who opens them again', async () => {
      const { books, again } = await open();
      const book = books.book('people.json');
      expect(await book.read()).toBeUndefined();
      expect(await books.names()).toEqual([]);
      const text = 'Ä “quoted” \\ line\n and an end \u{1F9EA}';
      await book.change(() => text);
      expect(await book.read()).toBe(text);
      expect(await (await again()).book('people.json').read()).toBe(text);
      await books.book('tokens/a1b2.json').change(() => '{}');
      expect(await books.names()).toEqual(['people.json', 'tokens/a1b2.json']);
      expect(await books.remove('people.json')).toBe(true);
      expect(await books.remove('people.json')).toBe(false);
      expect(await books.names()).toEqual(['tokens/a1b2.json']);
    });

    it('stay as they are when a change gives nothing, or throws', async () => {
      const { books } = await open();
      const book = books.book('people.json');
      await book.change(() => 'first');
      await book.change(() => undefined);
      await expect(
        book.change(() => {
          throw new Error('planted failure');
        }),
      ).rejects.toThrow('planted failure');
      expect(await book.read()).toBe('first');
      await book.change((text) => `${text} and second`);
      expect(await book.read()).toBe('first and second');
    });

    it('lose no change of many that are made at once', async () => {
      const { books } = await open();
      const book = books.book('people.json');
      await Promise.all(
        Array.from({ length: 20 }, (_, index) =>
          book.change(async (text) => JSON.stringify([...listOf(text), index])),
        ),
      );
      expect(listOf(await book.read()).sort((one, other) => one - other)).toEqual(
        Array.from({ length: 20 }, (_, index) => index),
      );
    });

    it('tell who listens that one was changed, until they have enough', async () => {
      const { books } = await open();
      let told = 0;
      const stop = books.book('people.json').onChanged(() => (told += 1));
      await books.book('people.json').change(() => 'first');
      await vi.waitFor(() => expect(told).toBeGreaterThan(0), { interval: 2 });
      stop();
      const before = told;
      await books.book('people.json').change(() => 'second');
      expect(told).toBe(before);
    });

    it('give one value that follows every change, and keep it when a text does not read', async () => {
      const { books } = await open();
      const text = books.book('people.json');
      const failed: unknown[] = [];
      const options = {
        book: text,
        read: listOf,
        write: (value: number[]) => JSON.stringify(value),
        failed: (problem: unknown) => failed.push(problem),
      };
      const [one, other] = [await openJsonBook(options), await openJsonBook(options)];
      await Promise.all([
        one.change((value) => [...value, 1]),
        other.change((value) => [...value, 2]),
        one.change((value) => [...value, 3]),
      ]);
      expect([...(await one.newest())].sort()).toEqual([1, 2, 3]);
      expect(await other.newest()).toEqual(one.current());
      await text.change(() => '[7]');
      await vi.waitFor(() => expect([one.current(), other.current()]).toEqual([[7], [7]]), { interval: 2 });
      await text.change(() => 'not as it was written');
      await vi.waitFor(() => expect(failed.length).toBeGreaterThanOrEqual(2), { interval: 2 });
      expect(one.current()).toEqual([7]);
    });

    it('take no name that leads elsewhere', async () => {
      const { books } = await open();
      for (const bad of [
        '../people.json',
        '/people.json',
        'a/b/c.json',
        'people',
        '',
        'people.json/../x.json',
      ])
        expect(() => books.book(bad)).toThrow('another name');
    });
  });
}
