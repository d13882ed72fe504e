/** Rows of a ward in the order in which somebody has to act, and their groups. */
import { boardRowOf, type BoardRow } from '@ebbline/core/present';
import type { PatientFacts, WardFacts } from '@ebbline/core/facts';
import type { Directory } from '@ebbline/core/record';
import type { MarkName } from '../marks.tsx';

export const groups = ['now', 'within-the-hour', 'later', 'no-look-due'] as const;
export type Group = (typeof groups)[number];

const made = new WeakMap<
  PatientFacts,
  { readonly zone: string; readonly directory: Directory; readonly row: BoardRow }
>();
const settled = new Map<string, { readonly words: string; readonly row: BoardRow }>();

/** The row of one patient; the same object as before when nothing on it reads differently. */
export function rowOf(facts: PatientFacts, zone: string, directory: Directory): BoardRow {
  const held = made.get(facts);
  if (held && held.zone === zone && held.directory === directory) return held.row;
  const fresh = boardRowOf(facts, zone, directory);
  const key = `${facts.patient} ${zone} ${directory.people.length}`;
  const words = JSON.stringify({
    ...fresh,
    item: fresh.item?.key,
    overdue: fresh.item?.overdue,
    climbed: fresh.item?.climbed,
  });
  const before = settled.get(key);
  const row = before?.words === words ? before.row : fresh;
  settled.set(key, { words, row });
  made.set(facts, { zone, directory, row });
  return row;
}

export function rowsOf(
  ward: WardFacts,
  zone: string,
  directory: Directory,
  only?: (facts: PatientFacts) => boolean,
): readonly BoardRow[] {
  const order = new Map(groups.map((group, index) => [group, index]));
  return ward.patients
    .filter((facts) => only?.(facts) ?? true)
    .map((facts) => rowOf(facts, zone, directory))
    .map((row, index) => ({ row, index }))
    .sort((a, b) => (order.get(a.row.group) ?? 9) - (order.get(b.row.group) ?? 9) || a.index - b.index)
    .map(({ row }) => row);
}

/** The mark of a row: its shape says the state without its colour. */
export function markOf(row: BoardRow): MarkName {
  if (row.bar.kind === 'at-least' && (row.mark === 'due' || row.mark === 'crossing')) return 'part-seen';
  if (row.bar.kind === 'not-known' && row.mark === 'due') return 'by-asking';
  return (
    {
      overdue: 'overdue',
      due: 'due',
      call: 'no-reply',
      paused: 'paused',
      catheter: 'catheter',
      crossing: 'crossing',
      none: 'none-due',
    } as const
  )[row.mark];
}

/** The remark that goes with the mark. */
export function stateWords(row: BoardRow): string {
  if (row.mark === 'paused' && row.group !== 'now') return `back by ${row.dueTime}`;
  const words =
    row.dueWords === 'now' || row.dueWords.endsWith(' ago') ? `due ${row.dueWords}` : row.dueWords;
  if (markOf(row) === 'part-seen') return `${words}, part seen`;
  return row.mark === 'crossing' ? `${words}, crossing` : words;
}

/** The sentence of a row without what its time and its step say already. */
export function sentenceOf(row: BoardRow): string {
  const said = `${row.what} by ${row.dueTime}. `;
  const rest = row.sentence.startsWith(said) ? row.sentence.slice(said.length) : row.sentence;
  return rest.replace(/Brought forward from (.+) by the forecast\.$/, 'Protocol: $1.');
}

/** How many rows are in the two groups that somebody has to think of. */
export function countsOf(rows: readonly BoardRow[]): {
  readonly now: number;
  readonly withinTheHour: number;
} {
  return {
    now: rows.filter((row) => row.group === 'now').length,
    withinTheHour: rows.filter((row) => row.group === 'within-the-hour').length,
  };
}
