/**
 * Rows keyed in from a paper form: each one event with its own day and time. Plain data, kept as a draft of their author.
 *
 * Errors   `entry/no-time`, `entry/time-twice` in the hour that a clock change repeats, `entry/no-such-time`
 */
import { controlIsOn, isRefusal, refuse, type Refusal } from '@ebbline/core/quantity';
import { paperForms, type FormSpec } from '@ebbline/core/present';
import { emptyDraft, type Draft } from './draft.ts';
import { instantsTyped } from './moment-box.tsx';

export interface PaperRow {
  readonly key: number;
  /** Days from today: 0, -1, -2. */
  readonly day: number;
  readonly typed: string;
  /** Which of two, where the clock showed the time twice. */
  readonly second?: boolean;
  readonly draft: Draft;
}

/** The form under which rows are kept as a draft. */
export const paperDraftForm = 'from-paper';

export const paperFormOf = (id: string): FormSpec | undefined => paperForms.find((form) => form.id === id);

/** A new row begins where the one above left off: the same form, the same day, nothing else. */
export function nextRow(patient: string, rows: readonly PaperRow[], first: string): PaperRow {
  const last = rows.at(-1);
  return {
    key: Math.max(0, ...rows.map((row) => row.key)) + 1,
    day: last?.day ?? 0,
    typed: '',
    draft: emptyDraft(last?.draft.form ?? first, patient),
  };
}

/** Nothing was said in it: it is left out without a word. */
export const isBlank = (row: PaperRow): boolean =>
  row.typed.trim() === '' &&
  row.draft.repeats.length === 0 &&
  Object.values(row.draft.values).every((value) => value === '') &&
  Object.values(row.draft.chosen).every((list) => list.length === 0);

const noTime = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(code, { asked: 'Time', found, allowed, todo, where: 'time' });

/** When a row happened, or why that can't be said. */
export function instantOf(row: PaperRow, nowMs: number, zone: string): number | Refusal {
  const found = instantsTyped(row.typed, row.day, nowMs, zone);
  if (found === undefined)
    return noTime(
      'entry/no-time',
      row.typed.trim() === '' ? 'no time' : `"${row.typed.trim()}"`,
      'a time as 18:30 or 1830',
      'Write the time that stands on the paper.',
    );
  if (found.length === 0)
    return noTime(
      'entry/no-such-time',
      'a time that the clock left out that night',
      'a time that was shown',
      'The clock was put forward over it. Choose another.',
    );
  if (found.length > 1 && row.second === undefined)
    return noTime(
      'entry/time-twice',
      'a time that the clock showed twice that night',
      'the first or the second',
      'Say which of the two it was.',
    );
  return found[row.second === true ? 1 : 0] ?? (found[0] as number);
}

export interface TimedRow {
  readonly row: PaperRow;
  readonly draft: Draft;
}

/** Rows that say something, by when they happened; rows of the same minute keep the order in which they were written. */
export function inEventOrder(
  rows: readonly PaperRow[],
  nowMs: number,
  zone: string,
): readonly TimedRow[] | { readonly row: number; readonly refusal: Refusal } {
  const timed: { row: PaperRow; draft: Draft; atMs: number }[] = [];
  for (const row of rows) {
    if (isBlank(row)) continue;
    const atMs = instantOf(row, nowMs, zone);
    if (isRefusal(atMs)) return { row: row.key, refusal: atMs };
    timed.push({ row, atMs, draft: { ...row.draft, atMs } });
  }
  // Keyed in as it lies on the desk, recorded as it happened: a residual is measured from the void before it.
  return controlIsOn('H5-event-order') ? timed.toSorted((a, b) => a.atMs - b.atMs) : timed;
}

/** Rows as a draft, and back: kept, locked away and forgotten with every other draft of their author. */
export const draftOfRows = (patient: string, rows: readonly PaperRow[]): Draft => ({
  ...emptyDraft(paperDraftForm, patient),
  values: rows.every(isBlank) ? {} : { rows: JSON.stringify(rows) },
});
export function rowsOfDraft(draft: Draft | undefined): readonly PaperRow[] | undefined {
  const text = draft?.values['rows'];
  return text === undefined ? undefined : (JSON.parse(text) as readonly PaperRow[]);
}
