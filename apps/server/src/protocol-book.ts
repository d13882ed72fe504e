/**
 * The acts on protocols as the server holds them: in memory for the demo and tests, as a text that is replaced whole
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
import { fileBook, memoryBook, openJsonBook, type TextBook } from '@ebbline/store/books';
import { z } from 'zod';
import { AnswerError, changedMeanwhile } from './answers.ts';

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

function actsOf(text: string | undefined): readonly ProtocolAct[] {
  if (text === undefined) return [];
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch {
    read = undefined;
  }
  const checked = fileShape.safeParse(read);
  if (checked.success) return checked.data as readonly ProtocolAct[];
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

interface Kept {
  readonly acts: readonly ProtocolAct[];
  readonly versions: readonly ProtocolVersion[];
  readonly unread: readonly { readonly id: string; readonly version: number; readonly code: string }[];
}

export async function openProtocols(
  book: TextBook,
  failed?: (problem: unknown) => void,
): Promise<ProtocolBook> {
  /** By digest of the content; what does not compile is a refusal. */
  const known = new Map<string, CompiledProtocol | Refusal>();
  const foldOf = async (acts: readonly ProtocolAct[]): Promise<Kept> => {
    const compiled = new Map<string, CompiledProtocol>();
    const unread: { id: string; version: number; code: string }[] = [];
    for (const act of acts) {
      if (act.act !== 'sent') continue;
      if (contentDigestOf(act.dmn) !== act.contentDigest) throw new RefusalError(changedFile(act));
      const protocol = known.get(act.contentDigest) ?? (await compiledOf(act.dmn));
      known.set(act.contentDigest, protocol);
      if (isRefusal(protocol)) unread.push({ id: act.id, version: act.version, code: protocol.code });
      else compiled.set(act.contentDigest, protocol);
    }
    return { acts, versions: foldVersions(acts, compiled), unread };
  };
  const kept = await openJsonBook<Kept>({
    book,
    read: (text) => foldOf(actsOf(text)),
    write: ({ acts }) => `${JSON.stringify(acts, undefined, 1)}\n`,
    ...(failed === undefined ? {} : { failed }),
  });
  return {
    versions: () => kept.current().versions,
    count: () => kept.current().acts.length,
    unread: () => kept.current().unread,
    dmnOf: (id, version) => {
      const sent = kept
        .current()
        .acts.find((one) => one.act === 'sent' && one.id === id && one.version === version);
      return sent?.act === 'sent' ? sent.dmn : undefined;
    },
    add: async (next) => {
      const before = kept.current();
      await kept.change(async (found) => {
        // Whether an act may follow was asked of what stood there before.
        const meanwhile = found.acts.slice(before.acts.length);
        if (meanwhile.some((one) => next.some((act) => meet(one, act))))
          throw new AnswerError(409, changedMeanwhile('Protocols'));
        const after = await foldOf([...found.acts, ...next]);
        for (const act of next) {
          const protocol = act.act === 'sent' ? known.get(act.contentDigest) : undefined;
          if (protocol !== undefined && isRefusal(protocol)) throw new RefusalError(protocol);
        }
        return after;
      });
    },
  };
}

/** True when the one may decide whether the other is in order: two drafts of one protocol do not. */
const meet = (one: ProtocolAct, other: ProtocolAct): boolean =>
  one.id === other.id && (one.act !== 'sent' || other.act !== 'sent' || one.version === other.version);

const changedFile = (act: { readonly id: string; readonly version: number }): Refusal =>
  refuse('server/protocols-file', {
    asked: 'Protocols',
    found: `a content of ${act.id}, version ${act.version}, that is not the one that was sent`,
    allowed: 'the file that this program wrote',
    todo: 'Bring protocols.json back from a backup.',
  });

export const memoryProtocols = (): Promise<ProtocolBook> => openProtocols(memoryBook());
export const fileProtocols = (path: string): Promise<ProtocolBook> => openProtocols(fileBook(path));
