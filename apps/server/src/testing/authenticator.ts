// A made-up device that keeps passkeys, for tests: it answers as the standard says, or as a test wants it to lie.
import { createHash, generateKeyPairSync, randomBytes, sign, type KeyObject } from 'node:crypto';

const sha256 = (data: Buffer | string): Buffer => createHash('sha256').update(data).digest();
const text = (data: Buffer): string => data.toString('base64url');

export interface Lies {
  readonly origin?: string;
  readonly place?: string;
  readonly type?: string;
  readonly challenge?: string;
  /** Present 1, verified 4. */
  readonly flags?: number;
  readonly counter?: number;
  readonly crossOrigin?: boolean;
  readonly userHandle?: string;
  readonly otherKey?: boolean;
}

export function authenticator(origin: string, kind: 'es256' | 'ed25519' | 'rs256' = 'es256') {
  const pair = (): { publicKey: KeyObject; privateKey: KeyObject } =>
    kind === 'es256'
      ? generateKeyPairSync('ec', { namedCurve: 'P-256' })
      : kind === 'ed25519'
        ? generateKeyPairSync('ed25519')
        : generateKeyPairSync('rsa', { modulusLength: 2048 });
  const { publicKey, privateKey } = pair();
  const other = pair();
  const id = randomBytes(24);
  let counter = 0;
  const place = new URL(origin).hostname;
  const client = (type: string, challenge: string, lies: Lies): Buffer =>
    Buffer.from(
      JSON.stringify({
        type: lies.type ?? type,
        challenge: lies.challenge ?? challenge,
        origin: lies.origin ?? origin,
        crossOrigin: lies.crossOrigin ?? false,
      }),
    );
  const head = (flags: number, lies: Lies): Buffer => {
    const data = Buffer.alloc(37);
    sha256(lies.place ?? place).copy(data);
    data[32] = (lies.flags ?? 5) | flags;
    data.writeUInt32BE(lies.counter ?? counter, 33);
    return data;
  };
  return {
    id: text(id),
    create: (options: Record<string, unknown>, lies: Lies = {}) => {
      const length = Buffer.alloc(2);
      length.writeUInt16BE(id.length);
      const { x, y, n } = publicKey.export({ format: 'jwk' });
      const key = Buffer.concat(
        [x, y, n].filter((part) => part !== undefined).map((part) => Buffer.from(part, 'base64url')),
      );
      const told = lies.otherKey === true ? other.publicKey : publicKey;
      return {
        id: text(id),
        rawId: text(id),
        type: 'public-key',
        response: {
          clientDataJSON: text(client('webauthn.create', options['challenge'] as string, lies)),
          authenticatorData: text(Buffer.concat([head(0x40, lies), Buffer.alloc(16), length, id, key])),
          publicKey: text(told.export({ format: 'der', type: 'spki' })),
          publicKeyAlgorithm: { es256: -7, ed25519: -8, rs256: -257 }[kind],
        },
      };
    },
    get: (options: Record<string, unknown>, person: string, lies: Lies = {}) => {
      counter += 1;
      const clientData = client('webauthn.get', options['challenge'] as string, lies);
      const data = head(0, lies);
      const key = lies.otherKey === true ? other.privateKey : privateKey;
      return {
        id: text(id),
        response: {
          clientDataJSON: text(clientData),
          authenticatorData: text(data),
          signature: text(
            sign(kind === 'ed25519' ? null : 'sha256', Buffer.concat([data, sha256(clientData)]), key),
          ),
          userHandle: text(Buffer.from(lies.userHandle ?? person)),
        },
      };
    },
  };
}
