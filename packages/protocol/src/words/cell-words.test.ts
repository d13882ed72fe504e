// Proves     a condition of a table reads as words, with its unit, and never with a sign before a volume.
import { describe, expect, it } from 'vitest';
import { starterProtocols } from '../starters.ts';
import { inputWords, testWords } from './cell-words.ts';

describe('a condition in words', () => {
  it('says ranges, lists and their opposites', () => {
    expect(testWords({ ranges: [{ from: 250, fromIn: true, to: 400, toIn: true }] })).toBe('from 250 to 400');
    expect(testWords({ in: [null], ranges: [{ to: 250 }] })).toBe('not known, or under 250');
    expect(testWords({ ranges: [{ from: 400 }] })).toBe('above 400');
    expect(testWords({ not: ['drained'] })).toBe('not drained');
    expect(testWords({ in: [true] })).toBe('yes');
    expect(testWords(0)).toBe('');
  });
  it('names an input with its unit', () => {
    expect(inputWords('volumeMl')).toBe('volume, mL');
    expect(inputWords('sinceVoidMin')).toBe('since void, min');
    expect(inputWords('redFlag')).toBe('red flag');
  });
  it('writes every cell of every shipped protocol without a comparison sign', () => {
    for (const protocol of starterProtocols)
      for (const table of protocol.tables)
        for (const row of table.rows)
          for (const test of row.tests) expect(testWords(test)).not.toMatch(/[<>=]/);
  });
});
