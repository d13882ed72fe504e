/**
 * Entries as one table: a row an entry, a column for every field that any kind has, units in the column names.
 *
 * Columns   id, organisation, patient, kind, effectiveAt, timeQuality, recordedAt, author, madeOn, corrects, copiedFrom, then the
 *           payload's fields (docs/guide/formats.md). An empty cell means not charted. Lists are joined with `;`;
 *           what has parts of its own (`evidence`) stands as JSON.
 * Errors    a wrong header refuses the file; wrong rows are each refused with their line, and the caller decides
 * Source    S-rfc-4180, S-csv-injection
 */
import { isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import {
  checkEntry,
  entryKinds,
  envelopeFields,
  payloadShapes,
  type Entry,
  type EntryKind,
} from '@ebbline/core/record';
import { readRows, writeRows } from './cells.ts';

interface FieldSchema {
  readonly type?: string;
  readonly items?: { readonly type?: string };
}

const fieldsOf = (kind: EntryKind): Readonly<Record<string, FieldSchema>> =>
  payloadShapes[kind].jsonSchema['properties'] as Readonly<Record<string, FieldSchema>>;

/** Every column, in the order in which they are written. */
export const csvColumns: readonly string[] = [
  ...envelopeFields,
  ...new Set(entryKinds.flatMap((kind) => Object.keys(fieldsOf(kind)))),
];

const written = (value: unknown): string => {
  if (value === undefined) return '';
  if (Array.isArray(value)) return value.map(String).join(';');
  return typeof value === 'object' && value !== null ? JSON.stringify(value) : String(value);
};

/** JSON as it was written; what is none stays text, so that the check names it. */
function parsed(cell: string): unknown {
  try {
    return JSON.parse(cell);
  } catch {
    return cell;
  }
}

export function entriesCsv(entries: readonly Entry[]): string {
  const rows = entries.map((entry) => {
    const cells: Readonly<Record<string, unknown>> = {
      ...(entry.payload as Record<string, unknown>),
      ...Object.fromEntries(envelopeFields.map((name) => [name, entry[name]])),
    };
    return csvColumns.map((column) => written(cells[column]));
  });
  return writeRows([csvColumns, ...rows]);
}

/** A cell as its field's type has it. What is no number stays text, so that the check names it. */
function typed(cell: string, field: FieldSchema | undefined): unknown {
  const number = (text: string): unknown => (/^\d+(\.\d+)?(e[+-]?\d+)?$/i.test(text) ? Number(text) : text);
  switch (field?.type) {
    case 'integer':
    case 'number':
      return number(cell);
    case 'boolean':
      return cell === 'true' ? true : cell === 'false' ? false : cell;
    case 'array':
      return cell.split(';').map((one) => (field.items?.type === 'string' ? one : number(one)));
    case 'object':
      return parsed(cell);
    default:
      return cell;
  }
}

export interface ReadCsv {
  readonly entries: readonly Entry[];
  /** Rows that were not accepted, each with its line. */
  readonly refused: readonly Refusal[];
}

/** Columns that an older file may lack. */
const mayBeLeftOut: ReadonlySet<string> = new Set(['corrects', 'timeQuality', 'copiedFrom']);

/** Entries of a table that `entriesCsv` wrote, or one written by hand with the same columns. */
export function readEntriesCsv(text: string, nowMs: number): ReadCsv | Refusal {
  const rows = readRows(text);
  if (isRefusal(rows)) return rows;
  const [head, ...body] = rows;
  const header = (found: string, todo: string): Refusal =>
    refuse('csv/header', {
      asked: 'CSV file',
      found,
      allowed: `the columns ${csvColumns.join(', ')}`,
      todo,
      where: 'line 1',
    });
  if (head === undefined) return header('an empty file', 'Give a file with a header and at least one row.');
  const columns = head.cells.map((one) => one.trim());
  const unknown = columns.find((one) => !csvColumns.includes(one));
  if (unknown !== undefined)
    return header(
      `the column "${unknown.slice(0, 40)}"`,
      unknown.includes(';')
        ? 'Separate columns with commas.'
        : 'Use these names; the unit stands in the name.',
    );
  const missing = envelopeFields.find((one) => !mayBeLeftOut.has(one) && !columns.includes(one));
  if (missing !== undefined) return header(`no column ${missing}`, `Add the column ${missing}.`);
  const twice = columns.find((one, index) => columns.indexOf(one) !== index);
  if (twice !== undefined) return header(`the column ${twice} twice`, 'Keep one of them.');

  const entries: Entry[] = [];
  const refused: Refusal[] = [];
  for (const { cells, line } of body) {
    const where = `line ${line}`;
    if (cells.length !== columns.length) {
      refused.push(
        refuse('csv/cells', {
          asked: 'CSV row',
          found: `${cells.length} cells`,
          allowed: `${columns.length} cells, one for each column`,
          todo: 'Mend this line.',
          where,
        }),
      );
      continue;
    }
    const given = Object.fromEntries(
      columns.map((name, index) => [name, cells[index] as string]).filter(([, cell]) => cell !== ''),
    );
    const kind = given['kind'] as EntryKind;
    const fields = Object.hasOwn(payloadShapes, kind) ? fieldsOf(kind) : {};
    const payload: Record<string, unknown> = {};
    for (const [name, cell] of Object.entries(given))
      if (!(envelopeFields as readonly string[]).includes(name))
        payload[name] = typed(cell as string, fields[name]);
    for (const [name, field] of Object.entries(fields)) {
      // A list that must be there may be empty: `doubts` of a reading nobody doubted.
      if (
        field.type === 'array' &&
        payload[name] === undefined &&
        (payloadShapes[kind].jsonSchema['required'] as readonly string[]).includes(name)
      )
        payload[name] = [];
    }
    const carried = Object.fromEntries(
      envelopeFields.filter((name) => given[name] !== undefined).map((name) => [name, given[name]]),
    );
    const entry = checkEntry({ ...carried, payload }, nowMs);
    if (isRefusal(entry))
      refused.push({
        ...entry,
        where: entry.where === undefined ? where : `${where}, ${entry.where.replace(/^payload\./, '')}`,
      });
    else entries.push(entry);
  }
  return { entries, refused };
}
