/**
 * Secrets and PINs as argon2id, by the platform's own crypto. What is kept is one text that carries its own
 * parameters, so that they can be raised later.
 *
 * Units     memory in KiB
 * Source    19 MiB, two passes, one lane: S-server-argon2id
 */
import { argon2, randomBytes, timingSafeEqual, type Argon2Parameters } from 'node:crypto';
import { promisify } from 'node:util';

const run = promisify(argon2) as (algorithm: 'argon2id', parameters: Argon2Parameters) => Promise<Buffer>;

const memoryKiB = 19_456;
const passes = 2;
const lanes = 1;
const tagBytes = 32;

const pattern = /^\$argon2id\$v=19\$m=(\d+),t=(\d+),p=(\d+)\$([A-Za-z0-9+/]+)\$([A-Za-z0-9+/]+)$/;
const bare = (bytes: Buffer): string => bytes.toString('base64').replace(/=+$/, '');

export async function hashSecret(secret: string): Promise<string> {
  const nonce = randomBytes(16);
  const tag = await run('argon2id', {
    message: secret.normalize('NFKC'),
    nonce,
    memory: memoryKiB,
    passes,
    parallelism: lanes,
    tagLength: tagBytes,
  });
  return `$argon2id$v=19$m=${memoryKiB},t=${passes},p=${lanes}$${bare(nonce)}$${bare(tag)}`;
}

/** Compares in constant time. A kept text that cannot be read matches nothing. */
export async function secretMatches(kept: string, secret: string): Promise<boolean> {
  const match = pattern.exec(kept);
  if (!match) return false;
  const expected = Buffer.from(match[5] as string, 'base64');
  const tag = await run('argon2id', {
    message: secret.normalize('NFKC'),
    nonce: Buffer.from(match[4] as string, 'base64'),
    memory: Number(match[1]),
    passes: Number(match[2]),
    parallelism: Number(match[3]),
    tagLength: expected.length,
  });
  return timingSafeEqual(tag, expected);
}
