/**
 * The acts on protocols as the server holds them: in memory for the demo and tests, in a file that is replaced whole
 * otherwise. Acts are added, never edited; what they come to is folded from them. Contents are compiled when read, so
 * that nothing derived is kept.
 */
import { createHash } from 'node:crypto';
import { isRefusal, readInstant, refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';
import { roles } from '@ebbline/core/record';
import {
  compileProtocol,
  foldVersions,
  readDmn,
  type CompiledProtocol,
  type ProtocolAct,
  type ProtocolVersion,
} from '@ebbline/protocol';
import { z } from 'zod';
import { readIfThere, replaceFile } from './accounts/account-book.ts';

const word = z.string().min(1).max(120);
export const signatureShape = z.strictObject({
  person: word,
  name: word,
  role: z.enum(roles),
  at: z.string().refine((text) => !isRefusal(readInstant(text)), { message: 'an instant with its offset' }),
});
const digest = z.string().regex(/^[0-9a-f]{64}$/);
const on = { id: word, version: z.number().int().min(1), by: signatureShape };
const actShape = z.discriminatedUnion('act', [
  z.strictObject({ act: z.literal('sent'), ...on, ward: word, dmn: z.string(), contentDigest: digest }),
  z.strictObject({ act: z.literal('published'), ...on, contentDigest: digest, reviewBy: word }),
  z.strictObject({
    act: z.literal('retired'),
    ...on,
    reason: z.string().min(1).max(600),
    replacedBy: z.number().int().optional(),
  }),
]);
const fileShape = z.array(actShape);

export const contentDigestOf = (dmn: string): string =>
  createHash('sha256').update(dmn, 'utf8').digest('hex');

export interface ProtocolBook {
  versions(): readonly ProtocolVersion[];
  /** How many acts there are: grows with every change, so that a tablet sees that it is behind. */
  count(): number;
  /**
   * Versions of the file that this release can't read any more. They are left out, so that nobody is advised by a table
   * that means something else by now; a watch under one is told to be moved.
   */
  unread(): readonly { readonly id: string; readonly version: number; readonly code: string }[];
  /** The file of a version, as it was sent. */
  dmnOf(id: string, version: number): string | undefined;
  /** Adds acts, all or none, and keeps them before it resolves. */
  add(acts: readonly ProtocolAct[]): Promise<void>;
}

async function compiledOf(dmn: string): Promise<CompiledProtocol | Refusal> {
  const model = await readDmn(dmn);
  return isRefusal(model) ? model : compileProtocol(model);
}

async function bookOf(
  first: readonly ProtocolAct[],
  save: (acts: readonly ProtocolAct[]) => Promise<void>,
): Promise<ProtocolBook> {
  let acts: readonly ProtocolAct[] | undefined;
  const unread: { id: string; version: number; code: string }[] = [];
  let versions: readonly ProtocolVersion[] = [];
  const compiled = new Map<string, CompiledProtocol>();
  const take = async (next: readonly ProtocolAct[], kept: () => Promise<void>): Promise<void> => {
    for (const act of next) {
      if (act.act !== 'sent' || compiled.has(act.contentDigest)) continue;
      if (contentDigestOf(act.dmn) !== act.contentDigest) throw new RefusalError(changedFile(act));
      const protocol = await compiledOf(act.dmn);
      if (!isRefusal(protocol)) compiled.set(act.contentDigest, protocol);
      else if (acts === undefined) unread.push({ id: act.id, version: act.version, code: protocol.code });
      else throw new RefusalError(protocol);
    }
    await kept();
    acts = [...(acts ?? []), ...next];
    versions = foldVersions(acts, compiled);
  };
  await take(first, async () => undefined);
  // One change after the other: two at once must not each write a file without the other's act.
  let turn: Promise<unknown> = Promise.resolve();
  return {
    versions: () => versions,
    count: () => acts?.length ?? 0,
    unread: () => unread,
    dmnOf: (id, version) => {
      const sent = acts?.find((one) => one.act === 'sent' && one.id === id && one.version === version);
      return sent?.act === 'sent' ? sent.dmn : undefined;
    },
    add: (next) => {
      const mine = turn.then(() => take(next, () => save([...(acts ?? []), ...next])));
      turn = mine.catch(() => undefined);
      return mine;
    },
  };
}

const changedFile = (act: { readonly id: string; readonly version: number }): Refusal =>
  refuse('server/protocols-file', {
    asked: 'Protocols',
    found: `a content of ${act.id}, version ${act.version}, that is not the one that was sent`,
    allowed: 'the file that this program wrote',
    todo: 'Bring protocols.json back from a backup.',
  });

export const memoryProtocols = (): Promise<ProtocolBook> => bookOf([], async () => undefined);

export async function fileProtocols(path: string): Promise<ProtocolBook> {
  const save = (acts: readonly ProtocolAct[]): Promise<void> =>
    replaceFile(path, `${JSON.stringify(acts, undefined, 1)}\n`);
  const text = readIfThere(path);
  if (text === undefined) return bookOf([], save);
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch {
    read = undefined;
  }
  const checked = fileShape.safeParse(read);
  if (!checked.success) {
    const [issue] = checked.error.issues;
    throw new RefusalError(
      refuse('server/protocols-file', {
        asked: 'Protocols',
        found: read === undefined ? 'text that is no JSON' : `${issue?.path.join('.')}: ${issue?.message}`,
        allowed: 'the file that this program wrote',
        todo: 'Bring protocols.json back from a backup.',
      }),
    );
  }
  return bookOf(checked.data as readonly ProtocolAct[], save);
}
