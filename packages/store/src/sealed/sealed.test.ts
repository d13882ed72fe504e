// Proves     a box opens for its receiver, purpose and label alone; a mark holds for its author's text alone
// Published  HPKE: RFC 9180 appendix A.3.1, DHKEM(P-256, HKDF-SHA256), HKDF-SHA256, AES-128-GCM, base mode (S-store-rfc-9180)
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import { base64Of, bytesOf, textOf, utf8, type Bytes } from './bytes.ts';
import { makeKeyPair, openBox, publicKeyOf, sealBox, type SealingKeyPair } from './hpke.ts';
import { openSealed, sealEntry } from './sealed-entry.ts';
import { issueVoucher, markHolds, markOf, readVoucher } from './voucher.ts';
import { entryMaker } from '../testing/entries.ts';

const fromHex = (text: string): Bytes =>
  Uint8Array.from(text.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
const toHex = (bytes: Bytes): string => Buffer.from(bytes).toString('hex');

/** A pair from its published halves. */
async function pairOf(privateHex: string, publicHex: string): Promise<SealingKeyPair> {
  const point = fromHex(publicHex);
  const jwk = {
    kty: 'EC',
    crv: 'P-256',
    x: base64Of(point.slice(1, 33)),
    y: base64Of(point.slice(33)),
    d: base64Of(fromHex(privateHex)),
  };
  return {
    publicKey: await publicKeyOf(point),
    privateKey: await crypto.subtle.importKey('jwk', jwk, { name: 'ECDH', namedCurve: 'P-256' }, false, [
      'deriveBits',
    ]),
  };
}

describe('a sealed box', () => {
  const senderHex =
    '04a92719c6195d5085104f469a8b9814d5838ff72b60501e2c4466e5e67b325ac98536d7b61a1af4b78e5b7f951c0900be863c403ce65c9bfcb9382657222d18c4';
  const receiverHex =
    '04fe8c19ce0905191ebc298a9245792531f26f0cece2460639e8bc39cb7f706a826a779b4cf969b8a0e539c7f62fb3d30ad6aa8f80e30f1d128aafd68a2ce72ea0';
  const sealedHex =
    '5ad590bb8baa577f8619db35a36311226a896e7342a6d836d8b7bcd2f20b6c7f9076ac232e3ab2523f39513434';
  const info = fromHex('4f6465206f6e2061204772656369616e2055726e');
  const label = fromHex('436f756e742d30');
  const message = fromHex('4265617574792069732074727574682c20747275746820626561757479');

  it('is byte for byte as the standard prints it', async () => {
    const sender = await pairOf(
      '4995788ef4b9d6132b249ce59a77281493eb39af373d236a1fe415cb0c2d7beb',
      senderHex,
    );
    const box = await sealBox(await publicKeyOf(fromHex(receiverHex)), info, label, message, sender);
    expect(toHex(box)).toBe(senderHex + sealedHex);
  });

  it('of the standard is opened', async () => {
    const receiver = await pairOf(
      'f3ce7fdae57e1a310d87f1ebbde6f328be0a99cdbcadf4d6589cf29de4b8ffd2',
      receiverHex,
    );
    expect(toHex(await openBox(receiver, info, label, fromHex(senderHex + sealedHex)))).toBe(toHex(message));
  });

  it('is opened by nobody else, under no other purpose or label, and not when a byte was changed', async () => {
    const [receiver, other] = [await makeKeyPair(false), await makeKeyPair(false)];
    const box = await sealBox(receiver.publicKey, info, label, message);
    await expect(openBox(other, info, label, box)).rejects.toThrow();
    await expect(openBox(receiver, utf8('else'), label, box)).rejects.toThrow();
    await expect(openBox(receiver, info, utf8('else'), box)).rejects.toThrow();
    for (const at of [1, 40, 66, box.length - 1]) {
      const changed = box.slice();
      changed[at] = (changed[at] ?? 0) ^ 1;
      await expect(openBox(receiver, info, label, changed)).rejects.toThrow();
    }
    await expect(openBox(receiver, info, label, box.slice(0, 30))).rejects.toThrow();
  });
});

describe('a voucher', () => {
  const secret = utf8('a secret of the server, 32 bytes');
  const heron = {
    person: 'heron',
    role: 'nurse',
    wards: ['harbour-3'],
    issuedMs: 1,
    untilMs: 9,
  } as const;

  it('holds for the very text that its key marked, and says who and in which role', async () => {
    const voucher = await issueVoucher(secret, heron);
    expect(readVoucher(voucher.text)).toEqual(heron);
    const mark = await markOf(voucher, 'drained 400 mL');
    expect(await markHolds(secret, voucher.text, mark, 'drained 400 mL')).toBe(true);
    expect(await markHolds(secret, voucher.text, mark, 'drained 300 mL')).toBe(false);
    expect(
      await markHolds(utf8('another server, another secret..'), voucher.text, mark, 'drained 400 mL'),
    ).toBe(false);
  });

  it('does not hold when it names somebody else, another role or a later end', async () => {
    const voucher = await issueVoucher(secret, heron);
    const mark = await markOf(voucher, 'text');
    for (const change of [{ person: 'plover' }, { role: 'charge-nurse' }, { untilMs: 99 }]) {
      const forged = base64Of(utf8(JSON.stringify({ ...heron, ...change })));
      expect(readVoucher(forged)).toBeDefined();
      expect(await markHolds(secret, forged, mark, 'text')).toBe(false);
    }
  });

  it('is not read out of what never was one', () => {
    for (const text of [
      '',
      '!',
      base64Of(utf8('{}')),
      base64Of(utf8('{"person":"a","role":"king","wards":[]}')),
    ])
      expect(readVoucher(text)).toBeUndefined();
  });
});

describe('a sealed entry', () => {
  it('shows its id and nothing of its content, and comes back word for word', async () => {
    const pair = await makeKeyPair(false);
    const entry = entryMaker(3).registered('p-9');
    const voucher = await issueVoucher(utf8('secret'), {
      person: 'heron',
      role: 'nurse',
      wards: [],
      issuedMs: 0,
      untilMs: 1,
    });
    const sealed = await sealEntry(entry, { id: 'k1', key: pair.publicKey }, voucher);
    expect(Object.keys(sealed)).toEqual(['id', 'key', 'box']);
    const readable = textOfLatin(bytesOf(sealed.box));
    for (const word of ['p-9', 'heron', 'payload']) expect(readable).not.toContain(word);
    const opened = await openSealed(sealed, pair);
    expect(JSON.parse(opened?.text ?? '')).toEqual(entry);
    expect(
      await markHolds(utf8('secret'), opened?.voucher ?? '', opened?.mark ?? '', opened?.text ?? ''),
    ).toBe(true);
    expect(await openSealed({ ...sealed, id: 'another' }, pair)).toBeUndefined();
    expect(await openSealed({ ...sealed, box: '???' }, pair)).toBeUndefined();
  });

  it('is text again after base64url', () => {
    const bytes = Uint8Array.from({ length: 70_000 }, (_, at) => at % 251);
    expect(bytesOf(base64Of(bytes))).toEqual(bytes);
    expect(textOf(utf8('µ, ½'))).toBe('µ, ½');
  });
});

const textOfLatin = (bytes: Bytes): string => Buffer.from(bytes).toString('latin1');
