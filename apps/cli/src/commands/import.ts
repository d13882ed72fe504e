/**
 * `ebbline import FILE or WARD-FOLDER`: takes entries in, whole or not at all.
 *
 * In        a folder with ward.json and log.ndjson (wardlog-1); a CSV of entries; an NDJSON of entries as `export` writes it
 * Out       a summary on standard output; every refused line on standard error with its number
 * Exit      0 taken in · 1 failed inside · 2 bad usage · 3 refused, and nothing was taken in
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { Command } from 'commander';
import { instantOfMs, isRefusal, RefusalError, refuse, type Refusal } from '@ebbline/core/quantity';
import { checkEntry, type Directory, type Entry } from '@ebbline/core/record';
import { readEntriesCsv } from '@ebbline/interop/csv';
import { canonicalText } from '@ebbline/store';
import { dataFolder, inUse, openStore, readWardFolder, refuseAll } from './data-folder.ts';
import { answer, exits, isFolder, makeFolder, readText } from './files.ts';

interface Options {
  readonly data: string;
  readonly check?: boolean;
  readonly json?: boolean;
}

interface Read {
  readonly format: 'wardlog-1' | 'csv' | 'entries';
  readonly entries: readonly Entry[];
  readonly lines: number;
  readonly refused: readonly Refusal[];
  readonly directory?: Directory;
}

const isWardFolder = (folder: string): boolean =>
  existsSync(join(folder, 'ward.json')) && existsSync(join(folder, 'log.ndjson'));

/** Entries of an NDJSON file: each line an entry, or an entry with the sequence and time at which a replica kept it. */
function readEntriesNdjson(text: string, nowMs: number): Pick<Read, 'entries' | 'refused' | 'lines'> {
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

function read(path: string, organisation: string, nowMs: number): Read {
  const folder = isFolder(path);
  if (folder && !isWardFolder(path) && existsSync(join(path, 'entries.ndjson')))
    return read(join(path, 'entries.ndjson'), organisation, nowMs);
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

/** The directory with the wards, people and scanners that it did not have. What it has stays as it is. */
export function joined(directory: Directory, more: Directory): Directory {
  const add = <One extends { readonly id: string }>(
    here: readonly One[],
    there: readonly One[],
  ): readonly One[] => [...here, ...there.filter((one) => !here.some((known) => known.id === one.id))];
  return {
    ...directory,
    wards: add(directory.wards, more.wards),
    people: add(directory.people, more.people),
    scanners: add(directory.scanners, more.scanners),
  };
}

export async function runImport(path: string, options: Options, nowMs: number): Promise<number> {
  const folder = dataFolder(options.data, false);
  // First without touching anything: a file that is refused leaves no folder behind.
  const first = read(path, 'not-decided-yet', nowMs);
  if (first.refused.length > 0) return refuseAll(first.refused);
  if (first.entries.length === 0)
    throw new RefusalError(
      refuse('cli/nothing-in-it', {
        asked: 'Import',
        found: 'no entry',
        allowed: 'at least one entry',
        todo: 'Check the file.',
      }),
    );

  const summary = (more: Record<string, unknown>): void => {
    const counts: Record<string, number> = {};
    for (const { kind } of first.entries) counts[kind] = (counts[kind] ?? 0) + 1;
    const patients = new Set(first.entries.map((one) => one.patient)).size;
    const value = {
      format: first.format,
      lines: first.lines,
      entries: first.entries.length,
      patients,
      refused: 0,
      ...more,
      kinds: counts,
    };
    if (options.json === true) process.stdout.write(`${JSON.stringify(value)}\n`);
    else
      process.stdout.write(
        `${first.lines} lines read, 0 refused: ${first.entries.length} entries of ${patients} patients.\n${Object.entries(
          more,
        )
          .map(([name, one]) => `${name}: ${String(one)}`)
          .join(', ')}\n${Object.entries(counts)
          .map(([kind, count]) => `  ${kind} ${count}`)
          .join('\n')}\n`,
      );
  };
  if (options.check === true) {
    summary({ kept: 0, known: 0, checkedOnly: true });
    return exits.answered;
  }
  if (inUse(folder))
    throw new RefusalError(
      refuse('cli/data-in-use', {
        asked: 'Data folder',
        found: 'a server that runs on it',
        allowed: 'a folder that nobody writes to now',
        todo: 'Stop the server, import, and start it again.',
      }),
    );

  makeFolder(folder, '--data');
  const { fileDirectory } = await import('@ebbline/server');
  const book = await fileDirectory(join(folder, 'directory.json'));
  const { organisation } = book.current();
  const { entries, directory } = first.format === 'wardlog-1' ? read(path, organisation, nowMs) : first;
  const foreign = entries.find((one) => one.organisation !== organisation);
  if (foreign !== undefined)
    throw new RefusalError(
      refuse('cli/other-organisation', {
        asked: 'Import',
        found: `entries of the organisation "${foreign.organisation}"`,
        allowed: `entries of "${organisation}", whose folder this is`,
        todo: 'Choose the folder of that organisation with --data, or set its name in directory.json before the first import.',
      }),
    );

  const store = await openStore(folder, organisation);
  try {
    // Whole or not at all: an id that is taken by something else is found before anything is written.
    const taken: Refusal[] = [];
    for (const entry of entries) {
      const before = await store.byId(entry.id);
      if (before !== undefined && canonicalText(before.entry) !== canonicalText(entry))
        taken.push(
          refuse('store/id-reused', {
            asked: 'Entry',
            found: 'an id that is kept already, with other content',
            allowed: 'a new id, or the same entry word for word',
            todo: 'Make a new entry that corrects the old one.',
            where: entry.id,
          }),
        );
    }
    if (taken.length > 0) return refuseAll(taken);
    const result = await store.append(entries, { receivedAt: instantOfMs(nowMs), actor: 'import' });
    if (result.refused.length > 0)
      return refuseAll(result.refused.map((one) => ({ ...one.refusal, where: one.id })));
    if (directory !== undefined) {
      const next = joined(book.current(), directory);
      if (canonicalText(next) !== canonicalText(book.current())) await book.replace(next);
    }
    const wards = new Set(
      entries.flatMap((one) =>
        one.kind === 'patient-registered' || one.kind === 'transferred' ? [one.payload.ward] : [],
      ),
    );
    for (const ward of wards)
      if (!book.current().wards.some((one) => one.id === ward))
        process.stderr.write(`Ward ${ward} is not in directory.json yet; add it so that its board shows.\n`);
    const known = result.kept.filter((one) => one.known).length;
    summary({ kept: result.kept.length - known, known });
    return exits.answered;
  } finally {
    await store.close();
  }
}

export function importCommand(): Command {
  return new Command('import')
    .description(
      'Take entries in: a ward log (wardlog-1), a CSV or an NDJSON of entries. Whole or not at all.',
    )
    .argument('<path>', 'a ward folder with ward.json and log.ndjson, or a file of entries (.csv, .ndjson)')
    .option('--data <folder>', 'the folder that the server runs on', process.env['EBBLINE_DATA'] ?? './data')
    .option('--check', 'read and check only; nothing is written')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline import examples/ward --data ./data\n')
    .action((path: string, options: Options) => answer(() => runImport(path, options, Date.now())));
}
