/**
 * Bearer tokens for machines. One book a token under `tokens/`, holding a digest only: a token can be made while servers
 * run, and taken back by deleting its file, or its row in a database.
 */
import { hash, randomBytes, timingSafeEqual } from 'node:crypto';
import { dayMs } from '@ebbline/core/quantity';
import { roles, type Role } from '@ebbline/core/record';
import type { Books } from '@ebbline/store/books';
import { z } from 'zod';

export interface Machine {
  readonly id: string;
  readonly role: Role;
}

export interface TokenBook {
  find(bearer: string, nowMs: number): Promise<Machine | undefined>;
}

const kept = z.strictObject({ role: z.enum(roles), digest: z.string().length(64), untilMs: z.number() });
const shape = /^ebb_([a-z0-9]{12})_([A-Za-z0-9_-]{43})$/;
const digestOf = (secret: string): string => hash('sha256', secret);

export const noTokens: TokenBook = { find: async () => undefined };

const nameOf = (id: string): string => `tokens/${id}.json`;

/** Makes a token, keeps its digest, gives the token. It is shown this once. */
export async function makeToken(books: Books, role: Role, days: number, nowMs: number): Promise<string> {
  const id = randomBytes(6).toString('hex');
  const secret = randomBytes(32).toString('base64url');
  await books
    .book(nameOf(id))
    .change(() => `${JSON.stringify({ role, digest: digestOf(secret), untilMs: nowMs + days * dayMs })}\n`);
  return `ebb_${id}_${secret}`;
}

/** Every look is at what is kept now: a token that was taken back is good for nothing at once. */
export function openTokens(books: Books): TokenBook {
  return {
    find: async (bearer, nowMs) => {
      const match = shape.exec(bearer);
      if (!match) return undefined;
      const [, id = '', secret = ''] = match;
      const text = await books.book(nameOf(id)).read();
      if (text === undefined) return undefined;
      let read: z.infer<typeof kept>;
      try {
        read = kept.parse(JSON.parse(text));
      } catch {
        return undefined;
      }
      const same = timingSafeEqual(Buffer.from(read.digest), Buffer.from(digestOf(secret)));
      return same && nowMs < read.untilMs ? { id: `machine-${id}`, role: read.role } : undefined;
    },
  };
}
