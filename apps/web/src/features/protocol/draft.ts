/**
 * A draft of a protocol under edit: its tables, what it was made from, and every step that led here. Steps keep the
 * whole tables, so undo gives back exactly what was there. A row keeps its id for ever: a number once used is not
 * given again, also when its row was deleted.
 */
import type { CompiledProtocol, CompiledTable, CompiledTest, Scalar } from '@ebbline/protocol';

export type Row = CompiledTable['rows'][number];
export type Tables = readonly CompiledTable[];

export interface Draft {
  readonly id: string;
  readonly basedOn: { readonly id: string; readonly version: number };
  readonly protocol: CompiledProtocol;
  /** The highest row number ever used in this draft. */
  readonly lastNumber: number;
}

export interface DraftHistory {
  readonly now: Draft;
  readonly past: readonly Draft[];
  readonly future: readonly Draft[];
}

/** Steps that are kept for undo; older ones are let go. */
export const mostSteps = 200;

export const numberOf = (rowId: string): number => Number(/(\d+)$/.exec(rowId)?.[1] ?? 0);
const prefixOf = (table: CompiledTable): string => /^(.*?)\d*$/.exec(table.rows[0]?.id ?? '')?.[1] ?? '';

/** A draft of the next version of a protocol. A draft is never approved, whatever it was made from. */
export function draftOf(protocol: CompiledProtocol, id: string): Draft {
  const numbers = protocol.tables.flatMap((table) => table.rows.map((row) => numberOf(row.id)));
  return {
    id,
    basedOn: { id: protocol.id, version: protocol.version },
    protocol: { ...protocol, version: protocol.version + 1, approval: 'example-not-approved' },
    lastNumber: Math.max(0, ...numbers),
  };
}

export const startHistory = (now: Draft): DraftHistory => ({ now, past: [], future: [] });

export function step(history: DraftHistory, next: Draft): DraftHistory {
  if (next === history.now) return history;
  return { now: next, past: [...history.past, history.now].slice(-mostSteps), future: [] };
}

/** Numbers that were undone stay used: a row that is added after an undo gets a fresh one. */
export function undo(history: DraftHistory): DraftHistory {
  const before = history.past.at(-1);
  return before
    ? {
        now: { ...before, lastNumber: Math.max(before.lastNumber, history.now.lastNumber) },
        past: history.past.slice(0, -1),
        future: [...history.future, history.now],
      }
    : history;
}

export function redo(history: DraftHistory): DraftHistory {
  const after = history.future.at(-1);
  return after
    ? { now: after, past: [...history.past, history.now], future: history.future.slice(0, -1) }
    : history;
}

const withTable = (draft: Draft, decision: string, make: (table: CompiledTable) => CompiledTable): Draft => ({
  ...draft,
  protocol: {
    ...draft.protocol,
    tables: draft.protocol.tables.map((table) => (table.decision === decision ? make(table) : table)),
  },
});

const withRow = (draft: Draft, decision: string, rowId: string, make: (row: Row) => Row): Draft =>
  withTable(draft, decision, (table) => ({
    ...table,
    rows: table.rows.map((row) => (row.id === rowId ? make(row) : row)),
  }));

export const setTest = (
  draft: Draft,
  decision: string,
  rowId: string,
  column: number,
  test: CompiledTest,
): Draft => withRow(draft, decision, rowId, (row) => ({ ...row, tests: row.tests.with(column, test) }));

export const setValue = (
  draft: Draft,
  decision: string,
  rowId: string,
  column: number,
  value: Scalar,
): Draft => withRow(draft, decision, rowId, (row) => ({ ...row, values: row.values.with(column, value) }));

export const deleteRow = (draft: Draft, decision: string, rowId: string): Draft =>
  withTable(draft, decision, (table) => ({
    ...table,
    rows: table.rows.filter((row) => row.id !== rowId),
  }));

/** Moves a row up (−1) or down (1); at the end it stays where it is. */
export function moveRow(draft: Draft, decision: string, rowId: string, by: -1 | 1): Draft {
  const rows = draft.protocol.tables.find((table) => table.decision === decision)?.rows ?? [];
  const from = rows.findIndex((row) => row.id === rowId);
  const to = from + by;
  const [moved, other] = [rows[from], rows[to]];
  if (!moved || !other) return draft;
  return withTable(draft, decision, (table) => ({
    ...table,
    rows: table.rows.with(to, moved).with(from, other),
  }));
}

/**
 * Adds a row below another, or at the end. Its cells are what is given by name, else "any"; it answers nothing until
 * somebody fills it in, and the proof says so.
 */
export function addRow(
  draft: Draft,
  decision: string,
  below?: string,
  cells: Readonly<Record<string, CompiledTest>> = {},
): { readonly draft: Draft; readonly rowId: string } {
  const table = draft.protocol.tables.find((one) => one.decision === decision);
  const known = draft.protocol.tables.find((one) => one.rows.length > 0);
  const lastNumber = draft.lastNumber + 1;
  const prefix = table && table.rows.length > 0 ? prefixOf(table) : known ? prefixOf(known) : '';
  const rowId = `${prefix}${String(lastNumber).padStart(2, '0')}`;
  const next = withTable({ ...draft, lastNumber }, decision, (one) => {
    const row: Row = {
      id: rowId,
      tests: one.inputs.map((name) => cells[name] ?? 0),
      values: one.outputs.map((name) => (name === 'sourceId' ? 'unit choice' : null)),
    };
    const at = one.rows.findIndex((each) => each.id === below);
    const place = at < 0 ? one.rows.length : at + 1;
    return { ...one, rows: [...one.rows.slice(0, place), row, ...one.rows.slice(place)] };
  });
  return { draft: next, rowId };
}
