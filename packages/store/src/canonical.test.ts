// Proves     canonicalText is JSON, the same for the same content in any order of keys, and different for other content
// Published  none
// Tolerance  exact; JSON is judged by the platform's parser
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { canonicalText } from './canonical.ts';

const shuffled = (value: unknown): unknown => {
  if (value === null || typeof value !== 'object') return value;
  if (Array.isArray(value)) return value.map(shuffled);
  return Object.fromEntries(
    Object.entries(value)
      .reverse()
      .map(([name, member]) => [name, shuffled(member)]),
  );
};

describe('the canonical text', () => {
  it('is written with names in order, nothing undefined, and empties as empties', () => {
    expect(canonicalText({ b: [1, null, 'x"y'], a: { d: undefined, c: true }, e: {}, f: [], g: [[]] })).toBe(
      '{"a":{"c":true},"b":[1,null,"x\\"y"],"e":{},"f":[],"g":[[]]}',
    );
  });

  it('is JSON of the same content, and one text whatever the order of names', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        const text = canonicalText(value);
        expect(JSON.parse(text)).toEqual(JSON.parse(JSON.stringify(value)));
        expect(canonicalText(shuffled(value))).toBe(text);
      }),
      { seed: 7, numRuns: 300 },
    );
  });
});
