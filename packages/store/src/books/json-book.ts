/**
 * One value kept as the text of a book, and at hand between two changes. It follows what others write: at once when the
 * book tells, and whenever somebody asks for the newest.
 */
import { inTurn, type TextBook } from './books.ts';

export interface JsonBook<Value> {
  /** As it was read last. */
  current(): Value;
  /** The newest, for what must not be a moment old. */
  newest(): Promise<Value>;
  /** Over the newest; a `next` that throws changes nothing. */
  change(next: (value: Value) => Value | Promise<Value>): Promise<Value>;
}

export interface JsonBookOptions<Value> {
  readonly book: TextBook;
  /** Throws a refusal for a text that is not as it was written; `undefined`: there is none yet. */
  readonly read: (text: string | undefined) => Value | Promise<Value>;
  readonly write: (value: Value) => string;
  /** Told when a text that somebody wrote could not be read; the value stays as it was. */
  readonly failed?: (problem: unknown) => void;
}

export async function openJsonBook<Value>({
  book,
  read,
  write,
  failed = () => undefined,
}: JsonBookOptions<Value>): Promise<JsonBook<Value>> {
  let text = await book.read();
  let value: Value = await read(text);
  // One look after the other, so that an older answer never takes the place of a newer.
  const turn = inTurn();
  const take = async (next: string | undefined): Promise<void> => {
    if (next === text) return;
    value = await read(next);
    text = next;
  };
  const newest = (): Promise<Value> =>
    turn(async () => {
      await take(await book.read());
      return value;
    });
  book.onChanged(() => void newest().catch(failed));
  return {
    current: () => value,
    newest,
    change: (next) =>
      turn(async () => {
        let written: string | undefined;
        let changed: Value = value;
        await book.change(async (found) => {
          await take(found);
          changed = (await next(value)) as Value;
          written = write(changed);
          return written;
        });
        value = changed;
        text = written;
        return value;
      }),
  };
}
