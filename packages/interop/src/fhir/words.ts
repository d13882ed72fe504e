// The record's stored words as text for a reader of the chart. Every concept that is sent carries text; these are
// the plain forms of words that are already plain (`cut-below` → "Cut below").
const own: Readonly<Record<string, string>> = {
  'no-window': 'no view of the bladder',
  'scanner-missing': 'no scanner at hand',
  'none-seen': 'no bladder seen',
  'in-out': 'in and out',
  'left-in': 'catheter left in',
  iv: 'into a vein',
  'at-least': 'at least',
  'injury-at-or-above-t6': 'injury at or above T6',
  'injury-below-t6': 'injury below T6',
  'not-performed': 'not done',
};

/** A stored word as text, first letter large: `lower-belly-pain` → "Lower belly pain". */
export function plain(word: string): string {
  const text = own[word] ?? word.replaceAll('-', ' ');
  return text.charAt(0).toUpperCase() + text.slice(1);
}
