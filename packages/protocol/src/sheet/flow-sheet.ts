import { labels } from '@ebbline/core/present';
import type { WatchSetting } from '@ebbline/core/record';
import type { CompiledProtocol } from '../compile-protocol.ts';
import type { CompiledTable, CompiledTest, Scalar } from '../compile-table.ts';
import { valueWords } from '../words/index.ts';
import { stateWords } from '../words/state-words.ts';
import { conditionWords, rowWords } from './condition-words.ts';
import { shortRows, type MayDrop, type ShortRow } from './shorten.ts';

/** One row of the protocol as a line to act on. */
export interface SheetLine {
  readonly rowId: string;
  /** Empty when nothing more is asked. */
  readonly when: string;
  readonly step: string;
  /** `now`, `in 90 min`, `in 4 h`, `in 60 to 90 min`. */
  readonly due: string;
  readonly owner: string;
  readonly tell: string;
  readonly sources: string;
}

/** What a name means that the lines below use: any of its conditions. */
export interface SheetMeaning {
  readonly name: string;
  readonly conditions: readonly string[];
}

/** A protocol as one sheet to be read from the top. */
export interface FlowSheet {
  readonly id: string;
  readonly version: number;
  readonly title: string;
  readonly settings: string;
  readonly ages: string;
  readonly lowResidual: string;
  /** What comes before any number. */
  readonly first: readonly SheetLine[];
  /** Per table between the first and the last, what its answers mean. */
  readonly meanings: readonly { readonly decision: string; readonly names: readonly SheetMeaning[] }[];
  /** The steps, by where the bladder stands. */
  readonly steps: readonly { readonly heading: string; readonly lines: readonly SheetLine[] }[];
}

const ages: Readonly<Record<string, string>> = { child: 'children', adult: 'adults', 'over-75': 'over 75' };

/** Without these nobody needs to be told: the lines above have dealt with whoever has them. */
export const settledAbove: MayDrop = (name, test) =>
  test !== 0 &&
  ('not' in test ||
    (name === 'volumeMl' &&
      test.ranges?.length === 1 &&
      test.ranges[0]?.from === 0 &&
      test.ranges[0].to === undefined) ||
    (test.in?.length === 1 &&
      ((name === 'redFlag' && test.in[0] === 'none') ||
        ((name === 'discomfort' || name === 'catheterInPlace') && test.in[0] === false))));

/**
 * A protocol as a flow sheet, from the very tables that answer at the bedside: rows in their order, every row of the
 * last table once. Conditions are said in words; those that a line above has settled are left out (`shortRows`).
 *
 * Domain    compiled protocols
 * Not for   a protocol that is not proved: the sheet shows its rows, and says nothing of holes between them
 */
export function flowSheet(protocol: CompiledProtocol): FlowSheet {
  const last = protocol.tables.at(-1);
  const chained = protocol.tables.slice(0, -1);
  const [first, ...middle] = chained;
  const short = new Map(chained.map((table) => [table.decision, shortRows(protocol, table, settledAbove)]));
  const rows = last?.rows ?? [];
  const testOf = (row: CompiledTable['rows'][number], name: string): CompiledTest =>
    row.tests[last?.inputs.indexOf(name) ?? -1] ?? 0;
  const comesFirst = rows.filter(
    (row) =>
      first !== undefined &&
      testOf(row, first.decision) !== 0 &&
      middle.every((table) => testOf(row, table.decision) === 0),
  );
  const rest = rows.filter((row) => !comesFirst.includes(row));
  const commonFirst = first === undefined ? '' : JSON.stringify(testOf(rest[0] ?? emptyRow, first.decision));

  const own = (row: CompiledTable['rows'][number], leaveOut: readonly string[]): string =>
    rowWords(
      last?.inputs ?? [],
      row.tests.map((test, column) => (leaveOut.includes(last?.inputs[column] ?? '') ? 0 : test)),
    );
  const lineOf = (row: CompiledTable['rows'][number], when: string): SheetLine => {
    const value = (name: string): Scalar => row.values[last?.outputs.indexOf(name) ?? -1] ?? null;
    return {
      rowId: row.id,
      when,
      step: valueWords('step', value('step')),
      due: dueWords(Number(value('dueInMin')), value('noLaterThanMin')),
      owner: valueWords('ownerRole', value('ownerRole')).toLowerCase(),
      tell: valueWords('tell', value('tell')),
      sources: valueWords('sourceId', value('sourceId')),
    };
  };

  const groups: { heading: string; key: string; lines: SheetLine[] }[] = [];
  for (const row of rest) {
    const asked = middle.filter((table) => testOf(row, table.decision) !== 0);
    const heading = asked
      .map((table) => conditionWords(table.decision, testOf(row, table.decision)))
      .join(', ');
    const leaveOut = [
      ...asked.map((table) => table.decision),
      ...(first !== undefined && JSON.stringify(testOf(row, first.decision)) === commonFirst
        ? [first.decision]
        : []),
    ];
    const line = lineOf(row, own(row, leaveOut));
    const group = groups.find((one) => one.key === heading);
    if (group) group.lines.push(line);
    else groups.push({ heading, key: heading, lines: [line] });
  }
  return {
    id: protocol.id,
    version: protocol.version,
    title: protocol.title,
    settings: protocol.settings.map((one) => labels.settings[one as WatchSetting].toLowerCase()).join('; '),
    ages: protocol.ageBands.map((band) => ages[band] ?? band).join(' and '),
    lowResidual: `A low residual is under ${protocol.lowResidualBelowMl} mL`,
    first: comesFirst.map((row) => {
      const test = first === undefined ? 0 : testOf(row, first.decision);
      const reached = (short.get(first?.decision ?? '') ?? []).filter((one) => answers(test, one));
      const before = reached.map((one) => rowWords(first?.inputs ?? [], one.tests));
      const more = own(row, first === undefined ? [] : [first.decision]);
      return lineOf(
        row,
        [before.filter((words) => words !== '').join('; or '), more]
          .filter((words) => words !== '')
          .join(', '),
      );
    }),
    meanings: middle.map((table) => ({
      decision: table.decision,
      names: meaningsOf(table, short.get(table.decision) ?? []),
    })),
    steps: groups.map(({ heading, lines }) => ({ heading, lines })),
  };
}

const emptyRow: CompiledTable['rows'][number] = { id: '', tests: [], values: [] };

const answers = (test: CompiledTest, row: ShortRow): boolean =>
  test !== 0 && ('not' in test ? !test.not.includes(row.answer) : (test.in?.includes(row.answer) ?? false));

function meaningsOf(table: CompiledTable, rows: readonly ShortRow[]): readonly SheetMeaning[] {
  const meanings: { name: string; conditions: string[] }[] = [];
  for (const row of rows) {
    const name = stateWords(table.decision, row.answer);
    const words = rowWords(table.inputs, row.tests);
    const group = meanings.find((one) => one.name === name);
    if (group) group.conditions.push(words);
    else meanings.push({ name, conditions: [words] });
  }
  // A name that only hands on an earlier one needs no line of its own.
  return meanings.filter(({ name, conditions }) => conditions.some((one) => one !== name));
}

/** `now`, `in 90 min`, `in 4 h`, `in 60 to 90 min`. */
export function dueWords(dueInMin: number, noLaterThanMin: Scalar = null): string {
  if (typeof noLaterThanMin === 'number' && noLaterThanMin > dueInMin)
    return `in ${dueInMin} to ${noLaterThanMin} min`;
  if (dueInMin === 0) return 'now';
  return dueInMin > 120 && dueInMin % 60 === 0 ? `in ${dueInMin / 60} h` : `in ${dueInMin} min`;
}
