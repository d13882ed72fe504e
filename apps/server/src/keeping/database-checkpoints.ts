/**
 * Signed checkpoints of a record in a database: the lines and the public halves are books beside the record, the private
 * key stays in the server's own folder. Of several servers one signs the hour; each with its own key.
 */
import { hourMs } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';
import type { Books } from '@ebbline/store/books';
import {
  checkpointNames,
  privateKeyIn,
  publicHalf,
  readCheckpoints,
  signedLine,
  type Checkpoint,
  type Checkpoints,
} from './checkpoints.ts';

export async function openDatabaseCheckpoints(
  books: Books,
  folder: string,
  store: EntryStore,
): Promise<Checkpoints> {
  const linesBook = books.book(checkpointNames.lines);
  const keysBook = books.book(checkpointNames.publicKeys);
  const newestIn = (text: string | undefined): Checkpoint | undefined =>
    readCheckpoints(text ?? '').lines.at(-1);
  let newest = newestIn(await linesBook.read());
  /** @param wanted asked of the newest line there is, while nobody else can add one */
  const add = async (nowMs: number, wanted: (last: Checkpoint | undefined) => boolean): Promise<void> => {
    const key = privateKeyIn(folder);
    const half = publicHalf(key);
    if (!((await keysBook.read()) ?? '').includes(half))
      await keysBook.change((text = '') => (text.includes(half) ? undefined : text + half));
    await linesBook.change(async (text = '') => {
      newest = newestIn(text);
      const { auditRows, chain } = await store.auditHead();
      if (auditRows === 0 || !wanted(newest)) return undefined;
      if (newest?.auditRows === auditRows && newest.chain === chain) return undefined;
      newest = signedLine({ before: newest, organisation: store.organisation, auditRows, chain, nowMs, key });
      return `${text}${JSON.stringify(newest)}\n`;
    });
  };
  return {
    tick: async (nowMs) => {
      const hour = Math.floor(nowMs / hourMs);
      const due = (last: Checkpoint | undefined): boolean =>
        last === undefined || Math.floor(Date.parse(last.at) / hourMs) !== hour;
      if (due(newest)) await add(nowMs, due);
    },
    now: (nowMs) => add(nowMs, () => true),
    newest: () =>
      newest && { number: newest.number, auditRows: newest.auditRows, atMs: Date.parse(newest.at) },
    stillHeld: async () => {
      newest = newestIn(await linesBook.read());
      if (newest === undefined) return true;
      const [row] = await store.auditAfter(newest.auditRows - 1, 1);
      return row?.sequence === newest.auditRows && row.chain === newest.chain;
    },
  };
}
