/** Words of a protocol's tables: titles of tables and columns, and what an answer says. */
import { labels } from '@ebbline/core/present';
import type { Role, Step } from '@ebbline/core/record';
import { headWords, stateName, stateWords } from './state-words.ts';

export const tableTitles: Readonly<Record<string, string>> = {
  Danger: 'First: is anything dangerous?',
  Number: 'Second: what is the number worth?',
  Limit: 'Third: how does it stand to this person’s limit?',
  Advice: 'Then: the step',
};

export const outputTitles: Readonly<Record<string, string>> = {
  step: 'Step',
  dueInMin: 'Due in, min',
  noLaterThanMin: 'At the latest, min',
  ownerRole: 'Whose',
  tell: 'Tell',
  why: 'Rule',
  record: 'Write down',
  sourceId: 'Source',
};

export const tableTitle = (decision: string): string => tableTitles[decision] ?? decision;
export const outputTitle = (output: string): string => outputTitles[output] ?? 'is called';
/** A column that asks what a table before it answered is named after that table. */
export const columnTitle = (name: string): string => headWords(name);

export function valueWords(output: string, value: string | number | boolean | null): string {
  if (value === null) return '';
  if (stateName(output) !== undefined) return stateWords(output, value);
  if (output === 'step') return labels.steps[value as Step] ?? String(value);
  if (output === 'ownerRole') return labels.roles[value as Role] ?? String(value);
  return String(value);
}
