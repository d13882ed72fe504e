// Proves     frames come out whole and in order however the network cuts them; junk is counted; a frame without end is given up
// Published  none
// Tolerance  exact
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { frameOf, openFrames, type Framed } from './frames.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const joined = (parts: readonly Uint8Array[]): Uint8Array =>
  Uint8Array.from(parts.flatMap((part) => [...part]));
const texts = (out: readonly Framed[]): readonly string[] =>
  out.map((one) => (one.kind === 'message' ? new TextDecoder().decode(one.bytes) : one.kind));

describe('frames', () => {
  it('come out whole and in order, wherever the bytes are cut', () => {
    fc.assert(
      fc.property(
        fc.array(fc.uint8Array({ maxLength: 40 }), { maxLength: 6 }),
        fc.array(fc.integer({ min: 1, max: 7 }), { minLength: 1, maxLength: 50 }),
        (messages, cuts) => {
          // The two bytes that end a frame are no part of a message; each alone may be.
          const plain = messages.map((one) =>
            one.filter((byte, at) => byte !== 0x1c || one[at + 1] !== 0x0d),
          );
          const usable = plain.map((one) => (one.at(-1) === 0x1c ? one.slice(0, -1) : one));
          const fine = usable.filter((one) => !one.some((byte, at) => byte === 0x1c && one[at + 1] === 0x0d));
          const line = joined(fine.map(frameOf));
          const frames = openFrames(1_000);
          const out: Framed[] = [];
          for (let at = 0, turn = 0; at < line.length; turn += 1) {
            const size = cuts[turn % cuts.length] as number;
            out.push(...frames.take(line.subarray(at, at + size)));
            at += size;
          }
          expect(out).toEqual(fine.map((one) => ({ kind: 'message', bytes: one })));
        },
      ),
      { seed: 11, numRuns: 500 },
    );
  });

  it('stand between junk that is counted, and ends of line that are not', () => {
    const line = joined([bytes('hello'), frameOf(bytes('one')), bytes('\r\n'), frameOf(bytes('two'))]);
    expect(openFrames(100).take(line)).toEqual([
      { kind: 'junk', count: 5 },
      { kind: 'message', bytes: bytes('one') },
      { kind: 'message', bytes: bytes('two') },
    ]);
  });

  it('keep a byte of ending that ends nothing', () => {
    const frames = openFrames(100);
    expect(texts(frames.take(Uint8Array.of(0x0b, 65, 0x1c)))).toEqual([]);
    expect(texts(frames.take(Uint8Array.of(66, 0x1c, 0x0d)))).toEqual(['A\u001cB']);
  });

  it('without an end are given up at the cap, and nothing is held or given after that', () => {
    const frames = openFrames(1_000);
    expect(frames.take(Uint8Array.of(0x0b))).toEqual([]);
    let given: readonly Framed[] = [];
    for (let sent = 0; sent < 2_000 && given.length === 0; sent += 100)
      given = frames.take(new Uint8Array(100).fill(65));
    expect(given).toEqual([{ kind: 'too-long', mostBytes: 1_000 }]);
    expect(frames.take(frameOf(bytes('late')))).toEqual([]);
  });
});
