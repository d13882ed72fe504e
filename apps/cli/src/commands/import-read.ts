/**
 * What a file or folder given to `import` holds: a ward log, or entries as `export` writes them, by their content.
 *
 * Errors    `cli/unknown-file`, `cli/not-json`, those of the readers and of `checkEntry`, each with its line
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { isRefusal, RefusalError, refuse, type Refusal } from '@ebbline/core/quantity';
import { checkEntry, type Directory, type Entry } from '@ebbline/core/record';
import { readEntriesCsv } from '@ebbline/interop/csv';
import { readWardFolder } from './data-folder.ts';
import { isFolder, readText } from './files.ts';

export interface ImportRead {
  readonly format: 'wardlog-1' | 'csv' | 'entries';
  readonly entries: readonly Entry[];
  readonly lines: number;
  readonly refused: readonly Refusal[];
  readonly directory?: Directory;
}

const isWardFolder = (folder: string): boolean =>
  existsSync(join(folder, 'ward.json')) && existsSync(join(folder, 'log.ndjson'));

/** Entries of an NDJSON file: each line an entry, or an entry with the sequence and time at which a replica kept it. */
function readEntriesNdjson(text: string, nowMs: number): Pick<ImportRead, 'entries' | 'refused' | 'lines'> {
  const entries: Entry[] = [];
  const refused: Refusal[] = [];
  let lines = 0;
  for (const [index, row] of text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .entries()) {
    if (row.trim() === '') continue;
    lines += 1;
    const where = `line ${index + 1}`;
    let value: unknown;
    try {
      value = JSON.parse(row);
    } catch {
      refused.push(
        refuse('cli/not-json', {
          asked: 'Entry',
          found: `${row.length} characters that are no JSON`,
          allowed: 'one JSON object on each line',
          todo: 'Mend this line, or export the file again.',
          where,
        }),
      );
      continue;
    }
    const inner = typeof value === 'object' && value !== null && 'entry' in value ? value.entry : value;
    const entry = checkEntry(inner, nowMs);
    if (isRefusal(entry))
      refused.push({ ...entry, where: entry.where === undefined ? where : `${where}, ${entry.where}` });
    else entries.push(entry);
  }
  return { entries, refused, lines };
}

export function readImport(path: string, organisation: string, nowMs: number): ImportRead {
  const folder = isFolder(path);
  if (folder && !isWardFolder(path) && existsSync(join(path, 'entries.ndjson')))
    return readImport(join(path, 'entries.ndjson'), organisation, nowMs);
  const text = folder ? '' : readText(path);
  // An export's lines carry a payload, a ward log's never do. A file without a line is neither.
  const asLog =
    folder || (path.endsWith('.ndjson') && text.trim() !== '' && !/"payload"/.test(text.slice(0, 4000)));
  if (asLog) {
    const log = readWardFolder(path, organisation);
    const refused = log.entries.map((one) => checkEntry(one, nowMs)).filter(isRefusal);
    return { format: 'wardlog-1', entries: log.entries, lines: log.lines, refused, directory: log.directory };
  }
  if (path.endsWith('.csv')) {
    const csv = readEntriesCsv(text, nowMs);
    if (isRefusal(csv)) throw new RefusalError(csv);
    return {
      format: 'csv',
      entries: csv.entries,
      lines: csv.entries.length + csv.refused.length,
      refused: csv.refused,
    };
  }
  if (path.endsWith('.ndjson')) return { format: 'entries', ...readEntriesNdjson(text, nowMs) };
  throw new RefusalError(
    refuse('cli/unknown-file', {
      asked: 'Import',
      found: `the file ${path}`,
      allowed: 'a ward folder, a .csv of entries, or an .ndjson of entries',
      todo: 'Give one of these; docs/guide/formats.md describes them.',
    }),
  );
}
