/**
 * Passkeys: a key pair that a person's own device keeps; the server keeps the public half. The device has to make sure
 * who holds it (user verification) each time. Which maker's device it is is not asked, so that no attestation is read.
 *
 * A challenge carries its own time and the server's mark, so that any server on the same books knows it; `tries` sees to
 * it that it is used once.
 *
 * Errors    `server/passkey-*` as refusals
 * Source    Web Authentication Level 3, sections 6.1 (authenticator data), 7.1 (registration), 7.2 (sign-in):
 *           S-server-webauthn; a challenge lives two minutes (S-common-practice)
 */
import { createHash, createHmac, createPublicKey, randomBytes, timingSafeEqual, verify } from 'node:crypto';
import { controlIsOn, isRefusal, minuteMs, refuse, type Refusal } from '@ebbline/core/quantity';
import { z } from 'zod';
import type { Tries } from './tries.ts';

export const challengeLifeMs = 2 * minuteMs;
/** ES256, Ed25519, RS256: the identifiers of COSE. S-server-webauthn */
export const algorithms = [-7, -8, -257] as const;

const base64url = z
  .string()
  .regex(/^[A-Za-z0-9_-]+$/)
  .max(8_192);
/** What a page sends after making one, as the platform's `toJSON` gives it; other members are passed over. */
export const registrationShape = z.object({
  id: base64url,
  response: z.object({
    clientDataJSON: base64url,
    authenticatorData: base64url,
    publicKey: base64url,
    publicKeyAlgorithm: z.number().int(),
  }),
});
/** What a page sends to sign in. */
export const assertionShape = z.object({
  id: base64url,
  response: z.object({
    clientDataJSON: base64url,
    authenticatorData: base64url,
    signature: base64url,
    userHandle: base64url.nullish(),
  }),
});

/** What the server keeps of one. */
export const passkeyShape = z.strictObject({
  id: base64url,
  publicKey: base64url,
  algorithm: z.number().int(),
  /** Times that the device has signed, where it counts; 0 where it does not. */
  counter: z.number().int().min(0),
  /** The name of the place that it was made for. */
  place: z.string(),
  name: z.string(),
  madeAt: z.string(),
  lastUsedAt: z.string().optional(),
});
export type Passkey = z.infer<typeof passkeyShape>;

/** Where the page stands, as its browser says it. */
export interface Site {
  /** `https://ward.example` */
  readonly origin: string;
  /** `ward.example` */
  readonly place: string;
}

export const siteOf = (origin: string): Site => ({ origin, place: new URL(origin).hostname });

/** What a challenge is good for: `sign-in`, or `register` for one person. */
export type Purpose = 'sign-in' | `register ${string}`;

const bytes = (text: string): Buffer => Buffer.from(text, 'base64url');
const sha256 = (data: Buffer | string): Buffer => createHash('sha256').update(data).digest();
const nonceBytes = 16;
const markBytes = 32;

const markOf = (secret: Uint8Array, purpose: Purpose, head: Buffer): Buffer =>
  createHmac('sha256', secret).update(`passkey challenge\n${purpose}\n`).update(head).digest();

export function makeChallenge(secret: Uint8Array, purpose: Purpose, nowMs: number): string {
  const head = Buffer.alloc(nonceBytes + 8);
  randomBytes(nonceBytes).copy(head);
  head.writeBigUInt64BE(BigInt(Math.trunc(nowMs)), nonceBytes);
  return Buffer.concat([head, markOf(secret, purpose, head)]).toString('base64url');
}

const refused = (code: string, found: string, todo = 'Try again, or sign in with the secret.'): Refusal =>
  refuse(`server/passkey-${code}`, {
    asked: 'Passkey',
    found,
    allowed: 'a passkey of this person for this server, used now',
    todo,
  });

async function useChallenge(
  challenge: string,
  secret: Uint8Array,
  purpose: Purpose,
  nowMs: number,
  used: Tries,
): Promise<Refusal | undefined> {
  const sent = bytes(challenge);
  const stale = refused('challenge', 'an answer to another question, or to one of too long ago');
  if (sent.length !== nonceBytes + 8 + markBytes) return stale;
  const head = sent.subarray(0, nonceBytes + 8);
  const ageMs = nowMs - Number(head.readBigUInt64BE(nonceBytes));
  if (!timingSafeEqual(sent.subarray(nonceBytes + 8), markOf(secret, purpose, head))) return stale;
  if (ageMs < 0 || ageMs > challengeLifeMs) return stale;
  const key = `challenge ${head.toString('base64url')}`;
  if (!(await used.beginOf(1, key, nowMs))) return stale;
  // Once it has lived its time nobody need remember it.
  setTimeout(() => void used.right(key).catch(() => undefined), challengeLifeMs).unref();
  return undefined;
}

interface AuthenticatorData {
  readonly userPresent: boolean;
  readonly userVerified: boolean;
  readonly counter: number;
  /** With a registration only. */
  readonly credentialId?: Buffer;
}

/** S-server-webauthn section 6.1: digest of the place (32), flags (1), counter (4), then 16, 2 and the id of the key. */
function readAuthenticatorData(data: Buffer, place: string): AuthenticatorData | Refusal {
  if (data.length < 37) return refused('unreadable', 'an answer that breaks off');
  if (!data.subarray(0, 32).equals(sha256(place)))
    return refused('other-place', 'a passkey of another place');
  const flags = data[32] as number;
  const seen = {
    userPresent: (flags & 0x01) !== 0,
    userVerified: (flags & 0x04) !== 0,
    counter: data.readUInt32BE(33),
  };
  if ((flags & 0x40) === 0) return seen;
  if (data.length < 55) return refused('unreadable', 'an answer that breaks off');
  const idEnd = 55 + data.readUInt16BE(53);
  if (data.length < idEnd) return refused('unreadable', 'an answer that breaks off');
  return { ...seen, credentialId: data.subarray(55, idEnd) };
}

/** What holds for both: the browser's own account of what was asked, and a device that made sure of its holder. */
async function readAnswer(
  response: { readonly clientDataJSON: string; readonly authenticatorData: string },
  type: 'webauthn.create' | 'webauthn.get',
  site: Site,
  challenge: (text: string) => Promise<Refusal | undefined>,
): Promise<AuthenticatorData | Refusal> {
  let client: { type?: unknown; challenge?: unknown; origin?: unknown; crossOrigin?: unknown };
  try {
    client = JSON.parse(bytes(response.clientDataJSON).toString('utf8')) as typeof client;
  } catch {
    return refused('unreadable', 'an answer that does not read');
  }
  if (client === null || typeof client !== 'object' || client.type !== type)
    return refused('unreadable', 'an answer of another kind');
  if (client.origin !== site.origin || client.crossOrigin === true)
    return refused('other-origin', 'an answer given to a page from another address');
  if (typeof client.challenge !== 'string') return refused('unreadable', 'an answer of another kind');
  const stale = await challenge(client.challenge);
  if (stale) return stale;
  const data = readAuthenticatorData(bytes(response.authenticatorData), site.place);
  if (isRefusal(data)) return data;
  if (!data.userPresent || !data.userVerified)
    return refused(
      'not-verified',
      'a device that did not make sure who holds it',
      'Set a PIN, a fingerprint or a face on the device, then try again.',
    );
  return data;
}

interface Asked {
  readonly site: Site;
  readonly secret: Uint8Array;
  readonly nowMs: number;
  readonly used: Tries;
}

/** The passkey to keep; its name and time are the caller's to add. */
export async function checkRegistration(
  given: z.infer<typeof registrationShape>,
  person: string,
  { site, secret, nowMs, used }: Asked,
): Promise<Pick<Passkey, 'id' | 'publicKey' | 'algorithm' | 'counter' | 'place'> | Refusal> {
  const { response } = given;
  const data = await readAnswer(response, 'webauthn.create', site, (text) =>
    useChallenge(text, secret, `register ${person}`, nowMs, used),
  );
  if (isRefusal(data)) return data;
  const algorithm = response.publicKeyAlgorithm;
  if (!(algorithms as readonly number[]).includes(algorithm))
    return refused('algorithm', 'a key of a kind that this server does not check');
  if (data.credentialId === undefined || data.credentialId.toString('base64url') !== given.id)
    return refused('unreadable', 'an answer whose parts do not belong together');
  // The key that the page tells has to stand in what the device said.
  const said = bytes(response.authenticatorData);
  let parts: (string | undefined)[];
  try {
    const { x, y, n } = createPublicKey({
      key: bytes(response.publicKey),
      format: 'der',
      type: 'spki',
    }).export({ format: 'jwk' });
    parts = [x, y, n];
  } catch {
    return refused('unreadable', 'a key that does not read');
  }
  const told = parts.filter((part) => part !== undefined);
  if (told.length === 0 || !told.every((part) => said.includes(bytes(part))))
    return refused('unreadable', 'an answer whose parts do not belong together');
  return { id: given.id, publicKey: response.publicKey, algorithm, counter: data.counter, place: site.place };
}

/** The device's count after this sign-in, or why it is none. */
export async function checkAssertion(
  given: z.infer<typeof assertionShape>,
  passkey: Passkey,
  { site, secret, nowMs, used }: Asked,
): Promise<number | Refusal> {
  const { response } = given;
  const data = await readAnswer(response, 'webauthn.get', site, (text) =>
    useChallenge(text, secret, 'sign-in', nowMs, used),
  );
  if (isRefusal(data)) return data;
  if (passkey.place !== site.place) return refused('other-place', 'a passkey of another place');
  const signed = Buffer.concat([bytes(response.authenticatorData), sha256(bytes(response.clientDataJSON))]);
  const key = createPublicKey({ key: bytes(passkey.publicKey), format: 'der', type: 'spki' });
  if (!verify(passkey.algorithm === -8 ? null : 'sha256', signed, key, bytes(response.signature)))
    return refused('signature', 'an answer that this passkey did not sign');
  return data.counter;
}

/** True when a device that counts has not counted on: somebody may hold a copy of it. */
export const countsBack = (kept: number, now: number): boolean =>
  (kept > 0 || now > 0) && now <= kept && controlIsOn('H12-passkey-copy');

export const passkeyCountedBack = (): Refusal =>
  refused(
    'counted-back',
    'a device that has signed more often before than now: there may be a copy of it',
    'Sign in with the secret, take this passkey away and make a new one. Tell whoever looks after the server.',
  );
export const unknownPasskey = (): Refusal =>
  refused('unknown', 'a passkey that nobody here has', 'Sign in with the secret, and add the passkey anew.');
