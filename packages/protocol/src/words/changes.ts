/** What one version of a protocol changes against another, in words. */
import { labels } from '@ebbline/core/present';
import type { WatchSetting } from '@ebbline/core/record';
import type { CompiledProtocol } from '../compile-protocol.ts';
import type { CompiledTable, CompiledTest, Scalar } from '../compile-table.ts';
import { plain } from './cell-words.ts';
import { columnTestWords } from './state-words.ts';
import { columnTitle, outputTitle, tableTitle, valueWords } from './table-words.ts';

type Row = CompiledTable['rows'][number];

export interface RowChange {
  readonly decision: string;
  /** The row; for what concerns a whole table or the protocol, its name. */
  readonly rowId: string;
  /** False when the row is no longer there. */
  readonly here: boolean;
  readonly words: string;
}

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

/** What stands in a column of a row, by the column's name: columns may stand elsewhere, or be new or gone. */
const testIn = (table: CompiledTable, row: Row, name: string): CompiledTest =>
  row.tests[table.inputs.indexOf(name)] ?? 0;
const valueIn = (table: CompiledTable, row: Row, name: string): Scalar =>
  row.values[table.outputs.indexOf(name)] ?? null;

const bothNames = (before: readonly string[], now: readonly string[]): readonly string[] => [
  ...new Set([...now, ...before]),
];

function cellChanges(old: CompiledTable, was: Row, table: CompiledTable, row: Row): readonly string[] {
  const tests = bothNames(old.inputs, table.inputs).flatMap((name) => {
    const [before, now] = [testIn(old, was, name), testIn(table, row, name)];
    return same(before, now)
      ? []
      : [
          `${columnTitle(name)}: ${columnTestWords(name, before) || 'any'}, now ${columnTestWords(name, now) || 'any'}`,
        ];
  });
  const values = bothNames(old.outputs, table.outputs).flatMap((name) => {
    const [before, now] = [valueIn(old, was, name), valueIn(table, row, name)];
    return same(before, now)
      ? []
      : [
          `${outputTitle(name)}: ${valueWords(name, before) || 'none'}, now ${valueWords(name, now) || 'none'}`,
        ];
  });
  return [...tests, ...values];
}

/** What concerns all tables: whom it is for, and what it calls a low residual. */
function aboutChanges(before: CompiledProtocol, now: CompiledProtocol): readonly RowChange[] {
  const settingWords = (one: CompiledProtocol): string =>
    one.settings.map((setting) => labels.settings[setting as WatchSetting].toLowerCase()).join(', ');
  const pairs: readonly (readonly [name: string, before: string, now: string])[] = [
    ['title', before.title, now.title],
    ['for', settingWords(before), settingWords(now)],
    ['ages', before.ageBands.map(plain).join(', '), now.ageBands.map(plain).join(', ')],
    ['a low residual is under', `${before.lowResidualBelowMl} mL`, `${now.lowResidualBelowMl} mL`],
    ['low residuals to end', String(before.lowResidualsToEnd), String(now.lowResidualsToEnd)],
  ];
  return pairs.flatMap(([name, old, next]) =>
    old === next
      ? []
      : [{ decision: '', rowId: 'Whole protocol', here: false, words: `${name}: ${old}, now ${next}` }],
  );
}

const policyWords: Readonly<Record<CompiledTable['hitPolicy'], string>> = {
  UNIQUE: 'exactly one row fits',
  FIRST: 'the first row that fits counts',
};

/** What concerns a table as a whole. */
function tableChanges(old: CompiledTable, now: CompiledTable): readonly string[] {
  const names = (before: readonly string[], after: readonly string[], title: (name: string) => string) => [
    ...after.filter((name) => !before.includes(name)).map((name) => `new column: ${title(name)}`),
    ...before.filter((name) => !after.includes(name)).map((name) => `column taken away: ${title(name)}`),
  ];
  return [
    ...(old.hitPolicy === now.hitPolicy
      ? []
      : [`${policyWords[old.hitPolicy]}, now ${policyWords[now.hitPolicy]}`]),
    ...names(old.inputs, now.inputs, columnTitle),
    ...names(old.outputs, now.outputs, outputTitle),
  ];
}

/**
 * Everything that differs, so that who signs misses nothing: first what concerns the whole protocol, then table by table
 * its own changes, the rows of `now` in their order, and those that are gone. A row that only moved is said to have moved.
 */
export function changesBetween(before: CompiledProtocol, now: CompiledProtocol): readonly RowChange[] {
  const whole = (decision: string, words: string): RowChange => ({
    decision,
    rowId: tableTitle(decision),
    here: false,
    words,
  });
  const order = (tables: CompiledProtocol['tables'], others: CompiledProtocol['tables']): string =>
    tables
      .map((table) => table.decision)
      .filter((name) => others.some((one) => one.decision === name))
      .join(' ');
  return [
    ...aboutChanges(before, now),
    ...(order(before.tables, now.tables) !== order(now.tables, before.tables)
      ? [
          {
            decision: '',
            rowId: 'Whole protocol',
            here: false,
            words: 'the tables are asked in another order',
          },
        ]
      : []),
    ...before.tables
      .filter((old) => !now.tables.some((table) => table.decision === old.decision))
      .map((old) => whole(old.decision, 'the table was taken away')),
    ...now.tables.flatMap((table): readonly RowChange[] => {
      const { decision } = table;
      const old = before.tables.find((one) => one.decision === decision);
      if (!old) return [whole(decision, 'a new table')];
      return [...tableChanges(old, table).map((words) => whole(decision, words)), ...rowChanges(old, table)];
    }),
  ];
}

/** `, if volume, mL under 250: Step Look again, Whose Nurse`; nothing for a row that nobody has filled in yet. */
function rowSays(table: CompiledTable, row: Row): string {
  const asked = table.inputs.flatMap((name) => {
    const words = columnTestWords(name, testIn(table, row, name));
    return words === '' ? [] : [`${columnTitle(name)} ${words}`];
  });
  const given = table.outputs.flatMap((name) => {
    const words = name === 'sourceId' ? '' : valueWords(name, valueIn(table, row, name));
    return words === '' ? [] : [`${outputTitle(name)} ${words}`];
  });
  if (given.length === 0) return '';
  return `, ${asked.length === 0 ? 'for anybody' : `if ${asked.join(' and ')}`}: ${given.join('; ')}`;
}

function rowChanges(old: CompiledTable, table: CompiledTable): readonly RowChange[] {
  const { decision } = table;
  const kept = old.rows.filter((row) => table.rows.some((one) => one.id === row.id)).map((row) => row.id);
  const order = table.rows.filter((row) => kept.includes(row.id)).map((row) => row.id);
  const here = table.rows.flatMap((row): readonly RowChange[] => {
    const was = old.rows.find((one) => one.id === row.id);
    if (!was) return [{ decision, rowId: row.id, here: true, words: `new row${rowSays(table, row)}` }];
    const moved = kept.indexOf(row.id) === order.indexOf(row.id) ? [] : ['moved'];
    const words = [...cellChanges(old, was, table, row), ...moved];
    return words.length === 0 ? [] : [{ decision, rowId: row.id, here: true, words: words.join('; ') }];
  });
  const gone = old.rows
    .filter((row) => !kept.includes(row.id))
    .map((row) => ({ decision, rowId: row.id, here: false, words: 'deleted' }));
  return [...here, ...gone];
}
