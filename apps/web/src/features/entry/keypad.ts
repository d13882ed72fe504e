/**
 * The number pad as a state: what was typed, exactly as typed, and what it means. A slip stays visible so that
 * the refusal can say what was found; nothing is corrected behind a person's back.
 *
 * Units     whatever the form says beside the figure (mL, g, Ch)
 * Errors    `entry/not-a-number` for a sign, a point or a letter; limits are the record's to check
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';

/** One sign more than the largest volume that can be charted has, so that a digit too many can be seen. */
export const longest = 6; // S-entry-longest

/** What a key does. Digits and signs are themselves. */
export type PadKey =
  | '0'
  | '1'
  | '2'
  | '3'
  | '4'
  | '5'
  | '6'
  | '7'
  | '8'
  | '9'
  | '-'
  | '.'
  | ','
  | 'erase'
  | 'clear';

const signs = new Set(['0', '1', '2', '3', '4', '5', '6', '7', '8', '9', '-', '.', ',']);

/** The pad key that a key of a keyboard stands for. */
export function padKeyOf(keyboardKey: string): PadKey | undefined {
  if (signs.has(keyboardKey)) return keyboardKey as PadKey;
  if (keyboardKey === 'Backspace') return 'erase';
  if (keyboardKey === 'Delete') return 'clear';
  return undefined;
}

/** What stands in the window after a key. A leading nought is replaced by the next digit. */
export function press(typed: string, key: PadKey): string {
  if (key === 'clear') return '';
  if (key === 'erase') return typed.slice(0, -1);
  const before = typed === '0' && /\d/.test(key) ? '' : typed;
  return before.length >= longest ? before : before + key;
}

/** The number that was typed; `undefined` when nothing was; a refusal when it is not a whole number. */
export function numberTyped(typed: string, asked: string, unit: string): number | undefined | Refusal {
  const trimmed = typed.trim();
  if (trimmed === '') return undefined;
  if (/^-?\d+$/.test(trimmed)) return Number(trimmed);
  return refuse('entry/not-a-number', {
    asked,
    found: `"${trimmed}"`,
    allowed: `a whole number in ${unit}`,
    todo: `Enter it again in ${unit}, digits only.`,
  });
}
