/**
 * The server's keys for what tablets seal: a pair to which unsent entries are sealed, and a secret from which vouchers
 * and the server's part of a tablet's copy are worked out. Made at the first start; whoever has the file can open what
 * tablets keep unsent, so it is for the server's account alone (mode 600). It is in the backup, unlike the key of the
 * checkpoints: without it, entries that tablets still hold could never be opened again.
 *
 * Errors    `server/sealing-file`
 */
import { randomBytes } from 'node:crypto';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import {
  base64Of,
  bytesOf,
  joined,
  makeKeyPair,
  publicKeyOf,
  utf8,
  type Bytes,
  type SealingKeyPair,
} from '@ebbline/store/sealed';
import { fileBook, type TextBook } from '@ebbline/store/books';
import { z } from 'zod';

export interface SealingKey {
  /** Changes with the pair, so that a tablet sees that it holds another one. */
  readonly id: string;
  /** The public half, an uncompressed point in base64url. */
  readonly publicKey: string;
  readonly pair: SealingKeyPair;
  readonly voucherSecret: Bytes;
  /** The server's part of the key to a tablet's copy; the same for everybody who may read the same. */
  copyPart(copy: string, scope: string): Promise<string>;
}

const text = z.string().regex(/^[A-Za-z0-9_-]{43}$/);
const shape = z.strictObject({
  pair: z.strictObject({ x: text, y: text, d: text }),
  secret: text,
});
type Kept = z.infer<typeof shape>;

async function made(): Promise<Kept> {
  const { privateKey } = await makeKeyPair(true);
  const { x = '', y = '', d = '' } = await crypto.subtle.exportKey('jwk', privateKey);
  return { pair: { x, y, d }, secret: randomBytes(32).toString('base64url') };
}

const hmac = async (secret: Bytes, message: string): Promise<Bytes> => {
  const key = await crypto.subtle.importKey('raw', secret, { name: 'HMAC', hash: 'SHA-256' }, false, [
    'sign',
  ]);
  return new Uint8Array(await crypto.subtle.sign('HMAC', key, utf8(message)));
};

async function keyOf({ pair: { x, y, d }, secret }: Kept): Promise<SealingKey> {
  const point = joined(Uint8Array.of(4), bytesOf(x), bytesOf(y));
  const jwk = { kty: 'EC', crv: 'P-256', x, y, d };
  const curve = { name: 'ECDH', namedCurve: 'P-256' };
  const root = bytesOf(secret);
  return {
    id: base64Of(new Uint8Array(await crypto.subtle.digest('SHA-256', point))).slice(0, 16),
    publicKey: base64Of(point),
    pair: {
      publicKey: await publicKeyOf(point),
      privateKey: await crypto.subtle.importKey('jwk', jwk, curve, false, ['deriveBits']),
    },
    voucherSecret: await hmac(root, 'vouchers'),
    copyPart: async (copy, scope) => base64Of(await hmac(root, JSON.stringify(['copy', copy, scope]))),
  };
}

/** Lives as long as the process: the demo and tests. */
export const memorySealingKey = async (): Promise<SealingKey> => keyOf(await made());

/** The one in the book, the same for every server on it; made when there is none. */
export async function openSealingKey(book: TextBook): Promise<SealingKey> {
  await book.change(async (text) =>
    text === undefined ? `${JSON.stringify(await made(), undefined, 2)}\n` : undefined,
  );
  try {
    return await keyOf(shape.parse(JSON.parse((await book.read()) ?? '')));
  } catch {
    throw new RefusalError(
      refuse('server/sealing-file', {
        asked: 'Sealing key',
        found: 'a sealing-key.json that is not as it was written',
        allowed: 'the file that this program wrote',
        todo: 'Bring it back from a backup: without it, entries that tablets still hold cannot be opened.',
      }),
    );
  }
}

export const fileSealingKey = (path: string): Promise<SealingKey> => openSealingKey(fileBook(path));
