/**
 * What makes a sealed entry its author's own. At a sign-in or a change of hands the server gives a voucher: a readable
 * text that says who, in which role, until when, and a key that only the server can work out from that text. The key
 * is on the tablet while its author is there. Who carries the entry later has neither key nor anything to read.
 *
 * Errors    `readVoucher` gives undefined for what was never a voucher's text
 * Source    HMAC with SHA-256: RFC 2104 (S-store-rfc-2104)
 */
import { roles, type Role } from '@ebbline/core/record';
import { base64Of, bytesOf, joined, textOf, utf8, type Bytes } from './bytes.ts';

export interface Voucher {
  readonly person: string;
  readonly role: Role;
  /** The person's wards as they were then. */
  readonly wards: readonly string[];
  readonly issuedMs: number;
  /** It vouches for what was written down until then. */
  readonly untilMs: number;
}

/** As it goes to the tablet: `key` never travels again. */
export interface IssuedVoucher {
  readonly text: string;
  readonly key: string;
}

const macKey = (raw: Bytes): Promise<CryptoKey> =>
  crypto.subtle.importKey('raw', raw, { name: 'HMAC', hash: 'SHA-256' }, false, ['sign', 'verify']);

async function keyFor(secret: Bytes, text: string): Promise<Bytes> {
  return new Uint8Array(
    await crypto.subtle.sign('HMAC', await macKey(secret), joined(utf8('voucher\n'), utf8(text))),
  );
}

export async function issueVoucher(secret: Bytes, voucher: Voucher): Promise<IssuedVoucher> {
  const text = base64Of(utf8(JSON.stringify(voucher)));
  return { text, key: base64Of(await keyFor(secret, text)) };
}

export function readVoucher(text: string): Voucher | undefined {
  try {
    const read = JSON.parse(textOf(bytesOf(text))) as Partial<Record<keyof Voucher, unknown>>;
    const { person, role, wards, issuedMs, untilMs } = read;
    const known = roles.find((one) => one === role);
    if (typeof person !== 'string' || known === undefined || !Array.isArray(wards)) return undefined;
    if (typeof issuedMs !== 'number' || typeof untilMs !== 'number') return undefined;
    if (!wards.every((ward) => typeof ward === 'string')) return undefined;
    return { person, role: known, wards, issuedMs, untilMs };
  } catch {
    return undefined;
  }
}

/** The author's mark under an entry's text. */
export async function markOf(voucher: IssuedVoucher, text: string): Promise<string> {
  return base64Of(
    new Uint8Array(await crypto.subtle.sign('HMAC', await macKey(bytesOf(voucher.key)), utf8(text))),
  );
}

/** True when the mark was made with the key that belongs to the voucher's text. */
export async function markHolds(
  secret: Bytes,
  voucherText: string,
  mark: string,
  text: string,
): Promise<boolean> {
  try {
    const key = await macKey(await keyFor(secret, voucherText));
    return await crypto.subtle.verify('HMAC', key, bytesOf(mark), utf8(text));
  } catch {
    return false;
  }
}
