/**
 * Books as rows of a database, for every server on it. A change holds the row, so that none is written over another's;
 * all are told which one it was.
 */
import { checkedName, type Books, type TextBook } from '../books/books.ts';
import type { PostgresDatabase } from './database.ts';

/** What is told, with `schema organisation name`. */
export const bookChannel = 'ebbline_book';

export function postgresBooks(database: PostgresDatabase, organisation: string): Books {
  const { ask, schema } = database;
  const toldOf = (name: string): string => `${schema} ${organisation} ${name}`;
  const book = (name: string): TextBook => ({
    name: checkedName(name),
    read: async () =>
      ((
        await ask(
          'select content from {book} where organisation = $1 and name = $2',
          [organisation, name],
          'book',
        )
      )[0]?.['content'] as string | null | undefined) ?? undefined,
    change: (next) =>
      // `next` is asked again after a conflict, over what is newest then.
      database.inTransaction(async (inside) => {
        await inside.ask(
          'insert into {book} (organisation, name, content) values ($1, $2, null) on conflict do nothing',
          [organisation, name],
        );
        const [row] = await inside.ask(
          'select content from {book} where organisation = $1 and name = $2 for update',
          [organisation, name],
        );
        const text = await next((row?.['content'] as string | null | undefined) ?? undefined);
        if (text === undefined) return;
        await inside.ask('update {book} set content = $3 where organisation = $1 and name = $2', [
          organisation,
          name,
          text,
        ]);
        await inside.ask('select pg_notify($1, $2)', [bookChannel, toldOf(name)]);
      }),
    onChanged: (listener) =>
      database.onHeard(bookChannel, (told) => {
        if (told === undefined || told === toldOf(name)) listener();
      }),
  });
  return {
    book,
    names: async () =>
      (
        await ask(
          'select name from {book} where organisation = $1 and content is not null order by name collate "C"',
          [organisation],
        )
      ).map((row) => row['name'] as string),
    remove: (name) =>
      database.inTransaction(async (inside) => {
        const gone = await inside.ask(
          'delete from {book} where organisation = $1 and name = $2 and content is not null returning name',
          [organisation, checkedName(name)],
        );
        await inside.ask('select pg_notify($1, $2)', [bookChannel, toldOf(name)]);
        return gone.length > 0;
      }),
  };
}
