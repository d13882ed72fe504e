import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { CompiledTable } from './compile-table.ts';
import { dictionary } from './dictionary.ts';

/**
 * Why a chain of tables never comes to an answer: a column that asks a table which has not answered yet, itself, or
 * nobody at all; or two tables of one name, of which the second would answer the first again. Undefined when it ends.
 *
 * Errors    protocol/chain-does-not-end
 */
export function chainTrouble(tables: readonly CompiledTable[]): Refusal | undefined {
  const answered = new Set<string>();
  for (const { decision, inputs } of tables) {
    const open = inputs.find((name) => !answered.has(name) && !Object.hasOwn(dictionary, name));
    if (open !== undefined)
      return endless(`"${decision}" asks "${open}", which has not answered by then`, decision);
    if (answered.has(decision)) return endless(`"${decision}" stands twice`, decision);
    answered.add(decision);
  }
  return undefined;
}

const endless = (found: string, where: string): Refusal =>
  refuse('protocol/chain-does-not-end', {
    asked: 'Protocol',
    found,
    allowed: 'tables that ask the inputs, and tables before them',
    todo: 'Decide without the protocol now, and tell its owner that the tables go in a circle.',
    where,
  });
