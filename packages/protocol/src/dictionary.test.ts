// Proves     an input is taken only with the names, types, ranges and values of the dictionary, and volume and kind
//            in keeping. Tolerance exact.
import { isRefusal } from '@ebbline/core/quantity';
import { describe, expect, it } from 'vitest';
import { dictionary, inputNames, readInput } from './dictionary.ts';
import { comfortable } from './testing/patients.ts';

const code = (given: unknown): string => {
  const read = readInput(given);
  return isRefusal(read) ? `${read.code} ${read.where ?? ''}`.trim() : 'taken';
};

describe('protocol input', () => {
  it('of a comfortable adult is taken as it is', () => expect(readInput(comfortable)).toEqual(comfortable));
  it.each([
    ['a name with another unit', { ...comfortable, volumeCl: 24 }, 'protocol/unknown-input volumeCl'],
    ['a number as text', { ...comfortable, volumeMl: '240' }, 'protocol/input-type volumeMl'],
    ['not a number', { ...comfortable, volumeMl: Number.NaN }, 'protocol/input-type volumeMl'],
    ['a negative volume', { ...comfortable, volumeMl: -1 }, 'protocol/input-range volumeMl'],
    ['an extra zero', { ...comfortable, volumeMl: 24_000 }, 'protocol/input-range volumeMl'],
    ['a limit of nothing', { ...comfortable, limitMl: 0 }, 'protocol/input-range limitMl'],
    ['a word that is no trust', { ...comfortable, trust: 'fair' }, 'protocol/input-not-allowed trust'],
    ['yes instead of true', { ...comfortable, discomfort: 'yes' }, 'protocol/input-type discomfort'],
    ['a missing age band', { ...comfortable, ageBand: undefined }, 'protocol/input-missing ageBand'],
    [
      'a kind without its volume',
      { ...comfortable, volumeMl: undefined },
      'protocol/inputs-disagree volumeMl',
    ],
    [
      'a volume of kind missing',
      { ...comfortable, volumeKind: 'missing' },
      'protocol/inputs-disagree volumeMl',
    ],
    ['a list', [], 'protocol/input-type'],
  ])('with %s is refused', (_name, given, expected) => expect(code(given)).toBe(expected));
  it('may leave out what is not known', () => {
    const optional = inputNames.filter((name) => dictionary[name].optional);
    expect(optional).toContain('crossingInMin');
    expect(code({ ...comfortable, crossingInMin: null })).toBe('taken');
  });
});

describe('dictionary', () => {
  it.each(inputNames)('%s has a sentence, and its unit in the name when it has one', (name) => {
    const entry = dictionary[name];
    expect(entry.sentence).toMatch(/\.$/);
    const endings: Readonly<Record<string, RegExp>> = {
      mL: /Ml$/,
      min: /Min$/,
      '%': /Percent$/,
      h: /hour/,
      times: /SoFar$|InARow$/,
    };
    if (entry.unit !== undefined) expect(name).toMatch(endings[entry.unit] as RegExp);
  });
});
