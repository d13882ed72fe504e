/** What a table before the last one can answer, in plain words: the starters' own names; any other as it is written. */
import type { CompiledTest, Scalar } from '../compile-table.ts';
import { inputWords, plain, testWords } from './cell-words.ts';

const states: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  Danger: {
    dysreflexia: 'signs of dysreflexia',
    spine: 'new leg weakness',
    fever: 'fever or rigors',
    clots: 'clots or blocked',
    trauma: 'an injury',
    kidneys: 'no urine or high potassium',
    'catheter-doubt': 'a catheter that may not drain',
    catheter: 'a catheter that drains',
    filled: 'filled through a catheter that is still in',
    none: 'no danger',
  },
  Number: {
    'read-much-drained-little': 'read much, drained little',
    'no-picture': 'no number came of it',
    none: 'nothing was read',
    'lower-bound': 'lower bound',
    doubtful: 'doubtful number',
    good: 'good number',
  },
  Limit: {
    'read-much-drained-little': 'read much, drained little',
    'no-picture': 'no number came of it',
    'look-now': 'perhaps full, not read now',
    below: 'under the limit',
    near: 'near the limit',
    over: 'at the limit, may be drained',
    'small-limit': 'at a small limit',
    'third-drain': 'full after two drains',
    'measure-again': 'too weak a number',
  },
};

/** `stateWords('Limit', 'near')` → `perhaps at the limit`. */
export const stateWords = (decision: string, value: Scalar): string =>
  states[decision]?.[String(value)] ?? plain(value);

/** What a table before the last one asks, as the head of a column that takes its answer. */
const names: Readonly<Record<string, string>> = {
  Danger: 'danger',
  Number: 'worth of the number',
  Limit: 'standing to the limit',
};
export const stateName = (decision: string): string | undefined => names[decision];

/** The head of any column: an input with its unit, or what a table before asks. */
export const headWords = (name: string): string => stateName(name) ?? inputWords(name);

/** One condition of a column in words; answers of a table before by their plain names. Empty when anything fits. */
export function columnTestWords(name: string, test: CompiledTest): string {
  if (test === 0 || stateName(name) === undefined) return testWords(test);
  const values = 'not' in test ? test.not : (test.in ?? []);
  return `${'not' in test ? 'not ' : ''}${values.map((value) => stateWords(name, value)).join(', or ')}`;
}
