/**
 * Text ↔ rows of cells, as RFC 4180 has it: comma, CRLF, quotes doubled inside quotes.
 *
 * A cell that a spreadsheet could take for a formula (first character = + - @, tab or carriage return) is written with
 * an apostrophe before it; so is a cell that begins with an apostrophe of its own. Reading takes one apostrophe off.
 *
 * Errors    a quote that never closes, or text after a closing quote, is refused with its line
 * Source    S-rfc-4180, S-csv-injection
 */
import { controlIsOn, refuse, type Refusal } from '@ebbline/core/quantity';

const risky = /^[=+\-@\t\r']/;

export function writeCell(text: string): string {
  const guarded = risky.test(text) && controlIsOn('H20-formula-cell') ? `'${text}` : text;
  return /[",\r\n\t]/.test(guarded) || guarded !== guarded.trim()
    ? `"${guarded.replaceAll('"', '""')}"`
    : guarded;
}

export function writeRows(rows: readonly (readonly string[])[]): string {
  return rows.map((row) => `${row.map(writeCell).join(',')}\r\n`).join('');
}

export interface CsvRow {
  readonly cells: readonly string[];
  /** 1-based line on which the row begins. */
  readonly line: number;
}

export function readRows(text: string): readonly CsvRow[] | Refusal {
  const rows: CsvRow[] = [];
  let cells: string[] = [];
  let cell = '';
  let line = 1;
  let rowLine = 1;
  let state: 'start' | 'plain' | 'quoted' | 'closed' = 'start';
  const endCell = (): void => {
    cells.push(cell.startsWith("'") ? cell.slice(1) : cell);
    cell = '';
    state = 'start';
  };
  const endRow = (): void => {
    endCell();
    if (cells.length > 1 || cells[0] !== '') rows.push({ cells, line: rowLine });
    cells = [];
  };
  const source = text.replace(/^\uFEFF/, '');
  for (let index = 0; index < source.length; index += 1) {
    const character = source[index] as string;
    if (state === 'quoted') {
      if (character === '\n') line += 1;
      if (character !== '"') cell += character;
      else if (source[index + 1] === '"') {
        cell += '"';
        index += 1;
      } else state = 'closed';
      continue;
    }
    if (character === ',') endCell();
    else if (character === '\n' || (character === '\r' && source[index + 1] === '\n')) {
      if (character === '\r') index += 1;
      endRow();
      line += 1;
      rowLine = line;
    } else if (character === '"' && state === 'start') state = 'quoted';
    else if (state === 'closed') {
      return refuse('csv/after-quote', {
        asked: 'CSV file',
        found: 'text after a closing quote',
        allowed: 'a comma or the end of the line after a closing quote',
        todo: 'Mend this line, or export the file again.',
        where: `line ${line}`,
      });
    } else {
      state = 'plain';
      cell += character;
    }
  }
  if ((state as string) === 'quoted') {
    return refuse('csv/open-quote', {
      asked: 'CSV file',
      found: 'a quote that never closes',
      allowed: 'quotes in pairs',
      todo: 'Mend the line where it opens, or export the file again.',
      where: `line ${rowLine}`,
    });
  }
  if (cell !== '' || cells.length > 0) endRow();
  return rows;
}
