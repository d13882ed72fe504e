/**
 * The key to what can be read on this tablet. It is drawn by chance and stands nowhere by itself: only sealed for the
 * server's part (given to whoever is signed in and may read the same), and for each person whom the record has
 * accepted here, under a key worked out slowly from their PIN or secret and a device key that the page can use but not
 * read. In memory it is a key that cannot be taken out, and only while somebody is there.
 *
 * Shape     a box is 12 bytes of chance and then what was sealed, with its check
 * Source    PBKDF2: RFC 8018 (S-rfc-8018); 600,000 rounds of SHA-256: S-from-memory; AES-GCM by the platform
 */
import { controlIsOn } from '@ebbline/core/quantity';
import { joined, textOf, utf8, type Bytes, type IssuedVoucher } from '@ebbline/store/sealed';

export const usualRounds = 600_000;
const chanceBytes = 12;
const keyBytes = 32;

export type Means = 'pin' | 'secret';

/** The copy's key sealed for one person. */
export interface PersonWrap {
  readonly salt: Bytes;
  readonly rounds: number;
  readonly box: Bytes;
  /** It opens nothing from then on. */
  readonly untilMs: number;
}

const drawn = (count: number): Bytes => crypto.getRandomValues(new Uint8Array(count));
export const drawSalt = (): Bytes => drawn(16);
export const drawKey = (): Bytes => drawn(keyBytes);

export const makeDeviceKey = (): Promise<CryptoKey> =>
  crypto.subtle.generateKey({ name: 'HMAC', hash: 'SHA-256' }, false, ['sign']) as Promise<CryptoKey>;

export const importKey = (raw: Bytes): Promise<CryptoKey> =>
  crypto.subtle.importKey('raw', raw, 'AES-GCM', false, ['encrypt', 'decrypt']);

export async function sealBytes(key: CryptoKey, label: string, message: Bytes): Promise<Bytes> {
  if (!controlIsOn('H19-sealed-copy')) return message;
  const iv = drawn(chanceBytes);
  const sealed = await crypto.subtle.encrypt(
    { name: 'AES-GCM', iv, additionalData: utf8(label) },
    key,
    message,
  );
  return joined(iv, new Uint8Array(sealed));
}

/** Rejects when it was not sealed with this key under this label. */
export async function openBytes(key: CryptoKey, label: string, box: Bytes): Promise<Bytes> {
  if (!controlIsOn('H19-sealed-copy')) return box;
  return new Uint8Array(
    await crypto.subtle.decrypt(
      { name: 'AES-GCM', iv: box.slice(0, chanceBytes), additionalData: utf8(label) },
      key,
      box.slice(chanceBytes),
    ),
  );
}

export const sealValue = (key: CryptoKey, label: string, value: unknown): Promise<Bytes> =>
  sealBytes(key, label, utf8(JSON.stringify(value)));
export const openValue = async <Value>(key: CryptoKey, label: string, box: Bytes): Promise<Value> =>
  JSON.parse(textOf(await openBytes(key, label, box))) as Value;

/** What was typed, made slow to guess. */
export async function stretched(typed: string, salt: Bytes, rounds: number): Promise<Bytes> {
  const key = await crypto.subtle.importKey('raw', utf8(typed), 'PBKDF2', false, ['deriveBits']);
  return new Uint8Array(
    await crypto.subtle.deriveBits({ name: 'PBKDF2', hash: 'SHA-256', salt, iterations: rounds }, key, 256),
  );
}

/** Bound to this tablet by its device key. */
async function wrapKey(device: CryptoKey, material: Bytes): Promise<CryptoKey> {
  const bound = new Uint8Array(await crypto.subtle.sign('HMAC', device, material));
  return crypto.subtle.importKey('raw', bound, 'AES-GCM', false, ['encrypt', 'decrypt']);
}

const labelOf = (person: string, means: Means): string => JSON.stringify(['wrap', person, means]);

export async function wrapForPerson(options: {
  readonly device: CryptoKey;
  readonly person: string;
  readonly means: Means;
  readonly typed: string;
  readonly raw: Bytes;
  readonly voucher: IssuedVoucher;
  readonly untilMs: number;
  readonly rounds: number;
}): Promise<PersonWrap> {
  const { device, person, means, typed, raw, voucher, untilMs, rounds } = options;
  const salt = drawSalt();
  const key = await wrapKey(device, await stretched(typed, salt, rounds));
  const content = joined(raw, utf8(JSON.stringify(voucher)));
  return { salt, rounds, untilMs, box: await sealBytes(key, labelOf(person, means), content) };
}

/** The copy's key and the person's voucher; undefined when something else was typed. */
export async function openForPerson(
  device: CryptoKey,
  person: string,
  means: Means,
  typed: string,
  wrap: PersonWrap,
): Promise<{ readonly raw: Bytes; readonly voucher: IssuedVoucher } | undefined> {
  const key = await wrapKey(device, await stretched(typed, wrap.salt, wrap.rounds));
  try {
    const content = await openBytes(key, labelOf(person, means), wrap.box);
    return {
      raw: content.slice(0, keyBytes),
      voucher: JSON.parse(textOf(content.slice(keyBytes))) as IssuedVoucher,
    };
  } catch {
    return undefined;
  }
}

export const wrapForServer = async (device: CryptoKey, part: Bytes, raw: Bytes): Promise<Bytes> =>
  sealBytes(await wrapKey(device, part), 'wrap for the server', raw);

/** Undefined when the part belongs to another copy, or to somebody who may read something else. */
export async function openWithServer(device: CryptoKey, part: Bytes, box: Bytes): Promise<Bytes | undefined> {
  try {
    return await openBytes(await wrapKey(device, part), 'wrap for the server', box);
  } catch {
    return undefined;
  }
}
