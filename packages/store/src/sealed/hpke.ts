/**
 * Hybrid public key encryption, base mode, one message: DHKEM(P-256, HKDF-SHA256), HKDF-SHA256, AES-128-GCM. Whoever
 * has the public half can seal; only who has the private half can open. It says nothing about who sealed: see
 * voucher.ts for that. By the platform's own WebCrypto, in browsers and on the server alike.
 *
 * Shape     a box is the sender's one-time public key (65 bytes, uncompressed point) followed by the sealed message
 * Errors    `openBox` rejects on anything that was not sealed for this key under this purpose and label
 * Source    RFC 9180 (S-store-rfc-9180)
 */
import { joined, utf8, type Bytes } from './bytes.ts';

const curve = { name: 'ECDH', namedCurve: 'P-256' } as const;
const pointBytes = 65;
const kemSuite = joined(utf8('KEM'), Uint8Array.of(0x00, 0x10));
const suite = joined(utf8('HPKE'), Uint8Array.of(0x00, 0x10, 0x00, 0x01, 0x00, 0x01));
const none: Bytes = new Uint8Array(0);
const keyBytes = 16;
const nonceBytes = 12;

export interface SealingKeyPair {
  readonly publicKey: CryptoKey;
  readonly privateKey: CryptoKey;
}

/** HMAC takes no empty key in WebCrypto; an empty salt is a salt of zeros (RFC 5869 section 2.2). */
async function extract(salt: Bytes, material: Bytes): Promise<Bytes> {
  const key = salt.length === 0 ? new Uint8Array(32) : salt;
  return hmac(key, material);
}

async function hmac(key: Bytes, message: Bytes): Promise<Bytes> {
  const held = await crypto.subtle.importKey('raw', key, { name: 'HMAC', hash: 'SHA-256' }, false, ['sign']);
  return new Uint8Array(await crypto.subtle.sign('HMAC', held, message));
}

/** At most 32 bytes are asked of it, which is one round. */
async function expand(pseudorandom: Bytes, info: Bytes, length: number): Promise<Bytes> {
  return (await hmac(pseudorandom, joined(info, Uint8Array.of(1)))).slice(0, length);
}

const labeledExtract = (id: Bytes, salt: Bytes, label: string, material: Bytes): Promise<Bytes> =>
  extract(salt, joined(utf8('HPKE-v1'), id, utf8(label), material));
const labeledExpand = (
  id: Bytes,
  pseudorandom: Bytes,
  label: string,
  info: Bytes,
  length: number,
): Promise<Bytes> =>
  expand(
    pseudorandom,
    joined(Uint8Array.of(length >> 8, length & 255), utf8('HPKE-v1'), id, utf8(label), info),
    length,
  );

const rawPublic = async (key: CryptoKey): Promise<Bytes> =>
  new Uint8Array(await crypto.subtle.exportKey('raw', key));

/** The shared secret of one sender and one receiver. */
async function shared(own: CryptoKey, theirs: CryptoKey, sender: Bytes, receiver: Bytes): Promise<Bytes> {
  const agreed = new Uint8Array(await crypto.subtle.deriveBits({ name: 'ECDH', public: theirs }, own, 256));
  const pseudorandom = await labeledExtract(kemSuite, none, 'eae_prk', agreed);
  return labeledExpand(kemSuite, pseudorandom, 'shared_secret', joined(sender, receiver), 32);
}

async function schedule(secret: Bytes, info: Bytes): Promise<{ key: CryptoKey; nonce: Bytes }> {
  const context = joined(
    Uint8Array.of(0),
    await labeledExtract(suite, none, 'psk_id_hash', none),
    await labeledExtract(suite, none, 'info_hash', info),
  );
  const pseudorandom = await labeledExtract(suite, secret, 'secret', none);
  const [key, nonce] = await Promise.all([
    labeledExpand(suite, pseudorandom, 'key', context, keyBytes),
    labeledExpand(suite, pseudorandom, 'base_nonce', context, nonceBytes),
  ]);
  return {
    key: await crypto.subtle.importKey('raw', key, 'AES-GCM', false, ['encrypt', 'decrypt']),
    nonce,
  };
}

/** @param extractable true only for the server's own pair, which is written to its file */
export const makeKeyPair = (extractable: boolean): Promise<SealingKeyPair> =>
  crypto.subtle.generateKey(curve, extractable, ['deriveBits']) as Promise<SealingKeyPair>;

export const publicKeyOf = (raw: Bytes): Promise<CryptoKey> =>
  crypto.subtle.importKey('raw', raw, curve, true, []);

/**
 * @param purpose what the message is for; opened under the same purpose alone
 * @param label   bound to the message without being hidden
 * @param once    test-only: the one-time pair of a published sample
 */
export async function sealBox(
  receiver: CryptoKey,
  purpose: Bytes,
  label: Bytes,
  message: Bytes,
  once?: SealingKeyPair,
): Promise<Bytes> {
  const pair = once ?? (await makeKeyPair(false));
  const [sender, receiverRaw] = await Promise.all([rawPublic(pair.publicKey), rawPublic(receiver)]);
  const { key, nonce } = await schedule(
    await shared(pair.privateKey, receiver, sender, receiverRaw),
    purpose,
  );
  const sealed = await crypto.subtle.encrypt(
    { name: 'AES-GCM', iv: nonce, additionalData: label },
    key,
    message,
  );
  return joined(sender, new Uint8Array(sealed));
}

export async function openBox(
  receiver: SealingKeyPair,
  purpose: Bytes,
  label: Bytes,
  box: Bytes,
): Promise<Bytes> {
  const sender = box.slice(0, pointBytes);
  const secret = await shared(
    receiver.privateKey,
    await publicKeyOf(sender),
    sender,
    await rawPublic(receiver.publicKey),
  );
  const { key, nonce } = await schedule(secret, purpose);
  return new Uint8Array(
    await crypto.subtle.decrypt(
      { name: 'AES-GCM', iv: nonce, additionalData: label },
      key,
      box.slice(pointBytes),
    ),
  );
}
