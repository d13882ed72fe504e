import type { CompiledProtocol } from '../compile-protocol.ts';
import { outputTitle, tableTitle, valueWords } from '../words/index.ts';
import { stateName, stateWords } from '../words/state-words.ts';
import { rowWords } from './condition-words.ts';

/** One table of a protocol, ready to print: a column for all conditions, one for each answer. */
export interface SheetTable {
  readonly title: string;
  /** True when the first row that fits answers, though others may fit too. */
  readonly firstCounts: boolean;
  readonly columns: readonly { readonly head: string; readonly share: number }[];
  readonly rows: readonly (readonly string[])[];
}

/** How wide an answer's column is beside the others. */
const shares: Readonly<Record<string, number>> = {
  step: 13,
  dueInMin: 7,
  noLaterThanMin: 8,
  ownerRole: 8,
  tell: 14,
  why: 25,
  record: 15,
  sourceId: 15,
};

/** Every table with every row; nothing is left out or shortened. */
export const sheetTables = (protocol: CompiledProtocol): readonly SheetTable[] =>
  protocol.tables.map((table) => ({
    title: tableTitle(table.decision),
    firstCounts: table.hitPolicy === 'FIRST',
    columns: [
      { head: 'Row', share: 9 },
      { head: 'When', share: table.outputs.length > 1 ? 24 : 70 },
      ...table.outputs.map((name) => ({
        head: table.outputs.length > 1 ? outputTitle(name) : capital(stateName(name) ?? name),
        share: shares[name] ?? 25,
      })),
    ],
    rows: table.rows.map((row) => [
      row.id,
      rowWords(table.inputs, row.tests) || 'anything else',
      ...row.values.map((value, column) => {
        const name = table.outputs[column] ?? '';
        return name === table.decision ? stateWords(name, value) : valueWords(name, value);
      }),
    ]),
  }));

const capital = (words: string): string => words.slice(0, 1).toUpperCase() + words.slice(1);
