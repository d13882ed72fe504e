// Proves     sha256Hex is SHA-256
// Published  FIPS 180-4's own sample messages "abc", the 448-bit message (S-store-fips-180-4); lengths around the
//            block edge against the platform's implementation
// Tolerance  exact
import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { sha256Hex } from './sha256.ts';

describe('SHA-256', () => {
  it("of the standard's samples is as printed", () => {
    expect(sha256Hex('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
    expect(sha256Hex('abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq')).toBe(
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    );
  });

  it("equals the platform's for every length from 0 to 200, and for text beyond ASCII", () => {
    for (let length = 0; length <= 200; length += 1) {
      const text = 'x'.repeat(length);
      expect(sha256Hex(text)).toBe(createHash('sha256').update(text).digest('hex'));
    }
    const text = 'Łękołody 430 mL ± 20 %, ≥ 2 h · Ωμέγα';
    expect(sha256Hex(text)).toBe(createHash('sha256').update(text).digest('hex'));
  });
});
