// Proves     the small part of YAML that our data files use is read exactly, and anything else is an error with its line
// Tolerance  exact
import { describe, expect, it } from 'vitest';
// @ts-expect-error a plain script without types
import { readYaml } from './read-yaml.mjs';

describe('the data files of hazards', () => {
  it('are read with mappings, lists, numbers and quotes', () => {
    const text =
      'id: H5\nseverity: 4\nlikelihood:\n  before: 4\n  after: 1\ncauses:\n  - "One: with a colon"\n  - Two\ncontrols:\n  - id: a\n    tests:\n      - file: x.test.ts\n        name: "is \\"so\\" [a]"\n  - id: b\n    tests: []\nstate: open\n';
    expect(readYaml(text)).toEqual({
      id: 'H5',
      severity: 4,
      likelihood: { before: 4, after: 1 },
      causes: ['One: with a colon', 'Two'],
      controls: [
        { id: 'a', tests: [{ file: 'x.test.ts', name: 'is "so" [a]' }] },
        { id: 'b', tests: [] },
      ],
      state: 'open',
    });
  });

  it.each([
    ['a name twice', 'id: H1\nid: H2\n', /line 2: id stands twice/],
    ['a name without a value', 'id:\n', /line 1: id has no value/],
    ['a line that is no pair', 'id: H1\nnonsense\n', /line 2/],
    ['a wrong indentation', 'id: H1\n    more: 2\n', /line 2/],
    ['another kind of YAML', 'id: [a, b]\n', /line 1: .* use double quotes/],
    ['a colon without quotes', 'harm: one: two\n', /line 1: put double quotes/],
  ])('are refused for %s', (_what, text, message) => {
    expect(() => readYaml(text)).toThrow(message);
  });
});
