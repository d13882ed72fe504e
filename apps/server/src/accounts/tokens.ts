/**
 * Bearer tokens for machines. One file a token under `tokens/` of the data folder, holding a digest only: a token can
 * be made while the server runs, and taken back by deleting its file.
 */
import { hash, randomBytes, timingSafeEqual } from 'node:crypto';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { dayMs } from '@ebbline/core/quantity';
import { roles, type Role } from '@ebbline/core/record';
import { z } from 'zod';
import { readIfThere, replaceFile } from './account-book.ts';

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

/** Makes a token, keeps its digest, gives the token. It is shown this once. */
export async function makeToken(folder: string, role: Role, days: number, nowMs: number): Promise<string> {
  const id = randomBytes(6).toString('hex');
  const secret = randomBytes(32).toString('base64url');
  mkdirSync(join(folder, 'tokens'), { recursive: true, mode: 0o700 });
  await replaceFile(
    join(folder, 'tokens', `${id}.json`),
    `${JSON.stringify({ role, digest: digestOf(secret), untilMs: nowMs + days * dayMs })}\n`,
  );
  return `ebb_${id}_${secret}`;
}

export function fileTokens(folder: string): TokenBook {
  return {
    find: async (bearer, nowMs) => {
      const match = shape.exec(bearer);
      if (!match) return undefined;
      const [, id = '', secret = ''] = match;
      const text = readIfThere(join(folder, 'tokens', `${id}.json`));
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
