/** A cell under edit as a form: what fits, typed by what its column asks. */
import {
  dictionary,
  type CompiledProtocol,
  type CompiledTest,
  type InputName,
  type Scalar,
} from '@ebbline/protocol';

/** What a column asks for: a number with its unit, or one of a few words. */
export type ColumnKind =
  | {
      readonly kind: 'number';
      readonly unit: string;
      readonly min: number;
      readonly max: number;
      readonly optional: boolean;
    }
  | {
      readonly kind: 'words';
      readonly options: readonly Scalar[];
      /** The table before, when the column asks what that one answered. */
      readonly decision?: string;
    };

/** A column of the dictionary, or one that asks what a table before it answered. */
export function columnKind(protocol: CompiledProtocol, name: string): ColumnKind {
  const before = protocol.tables.find((table) => table.decision === name);
  if (before)
    return {
      kind: 'words',
      options: [...new Set(before.rows.map((row) => row.values[0] ?? null))],
      decision: name,
    };
  const entry = dictionary[name as InputName];
  if (entry.kind === 'flag') return { kind: 'words', options: [true, false] };
  if (entry.kind === 'choice') return { kind: 'words', options: entry.options ?? [] };
  const { unit = '', min = 0, max = 0, optional } = entry;
  return { kind: 'number', unit, min, max, optional };
}

/** One stretch of numbers as it is typed; an empty end is open. */
export interface Stretch {
  readonly from: string;
  readonly fromIn: boolean;
  readonly to: string;
  readonly toIn: boolean;
}

export interface NumberCell {
  readonly any: boolean;
  readonly unknown: boolean;
  readonly stretches: readonly Stretch[];
}

export const emptyStretch: Stretch = { from: '', fromIn: true, to: '', toIn: false };

export function numberCell(test: CompiledTest): NumberCell {
  if (test === 0 || 'not' in test) return { any: true, unknown: false, stretches: [emptyStretch] };
  const points = (test.in ?? []).filter((value) => typeof value === 'number');
  const stretches = [
    ...points.map((at) => ({ from: String(at), fromIn: true, to: String(at), toIn: true })),
    ...(test.ranges ?? []).map((range) => ({
      from: range.from === undefined ? '' : String(range.from),
      fromIn: range.from === undefined || range.fromIn === true,
      to: range.to === undefined ? '' : String(range.to),
      toIn: range.toIn === true,
    })),
  ];
  return {
    any: false,
    unknown: test.in?.includes(null) ?? false,
    stretches: stretches.length > 0 ? stretches : [emptyStretch],
  };
}

/** A typed number with point or comma; undefined when it is none. */
export function numberTyped(text: string): number | undefined {
  const plain = text.trim().replace(',', '.');
  return /^-?\d+(\.\d+)?$/.test(plain) ? Number(plain) : undefined;
}

/** The test of a typed cell; or, in words, what keeps it from being one. */
export function numberTest(
  cell: NumberCell,
  column: Extract<ColumnKind, { kind: 'number' }>,
): CompiledTest | string {
  if (cell.any) return 0;
  const ranges = [];
  for (const stretch of cell.stretches) {
    if (stretch.from.trim() === '' && stretch.to.trim() === '') continue;
    const from = stretch.from.trim() === '' ? undefined : numberTyped(stretch.from);
    const to = stretch.to.trim() === '' ? undefined : numberTyped(stretch.to);
    for (const [text, end] of [
      [stretch.from, from],
      [stretch.to, to],
    ] as const) {
      if (text.trim() !== '' && (end === undefined || end < column.min || end > column.max))
        return `“${text.trim()}” does not fit. Write a number from ${column.min} to ${column.max} ${column.unit}.`;
    }
    const both = from !== undefined && to !== undefined;
    if (both && (from > to || (from === to && !(stretch.fromIn && stretch.toIn))))
      return 'Nothing lies between these two numbers. Write the lower one first.';
    ranges.push({
      ...(from === undefined ? {} : { from, ...(stretch.fromIn ? { fromIn: true as const } : {}) }),
      ...(to === undefined ? {} : { to, ...(stretch.toIn ? { toIn: true as const } : {}) }),
    });
  }
  if (ranges.length === 0 && !cell.unknown) return 'Write a number, or choose “Anything”.';
  return {
    ...(cell.unknown ? { in: [null] } : {}),
    ...(ranges.length > 0 ? { ranges } : {}),
  };
}

export interface WordsCell {
  readonly mode: 'any' | 'in' | 'not';
  readonly chosen: readonly Scalar[];
}

export function wordsCell(test: CompiledTest): WordsCell {
  if (test === 0) return { mode: 'any', chosen: [] };
  return 'not' in test ? { mode: 'not', chosen: test.not } : { mode: 'in', chosen: test.in ?? [] };
}

export function wordsTest(cell: WordsCell): CompiledTest | string {
  if (cell.mode === 'any') return 0;
  if (cell.chosen.length === 0) return 'Choose at least one, or choose “Anything”.';
  return cell.mode === 'not' ? { not: cell.chosen } : { in: cell.chosen };
}
