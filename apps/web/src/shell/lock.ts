/**
 * When a shared tablet locks, and the check of a PIN without the network.
 *
 * The check keeps a salted, slow digest (PBKDF2, SHA-256) of a PIN that the ward's record accepted on this tablet.
 * It guards a screen that somebody left, nothing else: what is sent still needs the record's own sign-in.
 *
 * Source    PBKDF2: RFC 8018 (S-rfc-8018); 310,000 rounds: S-from-memory
 */
import { controlIsOn } from '@ebbline/core/quantity';

export interface Touch {
  readonly lastTouchMs: number;
  readonly nowMs: number;
  readonly lockAfterS: number;
}

/** True when nobody has touched this tablet for as long as the unit allows. A clock set back locks too. */
export function shouldLock({ lastTouchMs, nowMs, lockAfterS }: Touch): boolean {
  if (!controlIsOn('H12-lock')) return false;
  const idleMs = nowMs - lastTouchMs;
  return idleMs >= lockAfterS * 1000 || idleMs < -5000;
}

/** What stands in the page: the content only while somebody is there. */
export function maySeeContent(state: { readonly locked: boolean }): boolean {
  return !state.locked || !controlIsOn('H12-lock');
}

export interface PinDigest {
  readonly saltHex: string;
  readonly digestHex: string;
  readonly rounds: number;
}

const rounds = 310_000;

const hexOf = (bytes: Uint8Array): string =>
  Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
const bytesOf = (hex: string): Uint8Array<ArrayBuffer> =>
  Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));

async function digest(pin: string, saltHex: string, count: number): Promise<string> {
  const key = await crypto.subtle.importKey('raw', new TextEncoder().encode(pin), 'PBKDF2', false, [
    'deriveBits',
  ]);
  const bits = await crypto.subtle.deriveBits(
    { name: 'PBKDF2', hash: 'SHA-256', salt: bytesOf(saltHex), iterations: count },
    key,
    256,
  );
  return hexOf(new Uint8Array(bits));
}

/** Undefined where the browser has no digest to offer (a page that is not served over a secure line). */
export async function digestPin(
  pin: string,
  salt: Uint8Array,
  count = rounds,
): Promise<PinDigest | undefined> {
  if (globalThis.crypto?.subtle === undefined) return undefined;
  const saltHex = hexOf(salt);
  return { saltHex, digestHex: await digest(pin, saltHex, count), rounds: count };
}

export async function pinMatches(pin: string, kept: PinDigest): Promise<boolean> {
  if (globalThis.crypto?.subtle === undefined) return false;
  const given = await digest(pin, kept.saltHex, kept.rounds);
  let different = given.length ^ kept.digestHex.length;
  for (let index = 0; index < given.length; index += 1)
    different |= given.charCodeAt(index) ^ (kept.digestHex.charCodeAt(index) || 0);
  return different === 0;
}

/** Seconds to wait after so many wrong PINs in a row: none for the first four, then 30 and doubling to a quarter of an hour. S-common-practice */
export function waitAfterWrong(wrong: number): number {
  return wrong < 5 ? 0 : Math.min(900, 30 * 2 ** (wrong - 5));
}
