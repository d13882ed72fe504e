/**
 * `ebbline import FILE or WARD-FOLDER`: takes entries in, whole or not at all.
 *
 * In        a folder with ward.json and log.ndjson (wardlog-1); a CSV of entries; an NDJSON of entries as `export` writes it
 * Out       a summary on standard output; every refused line on standard error with its number
 * Exit      0 taken in · 1 failed inside · 2 bad usage · 3 refused, and nothing was taken in
 */
import { join } from 'node:path';
import { Command } from 'commander';
import { instantOfMs, RefusalError, refuse, type Refusal } from '@ebbline/core/quantity';
import type { Directory, Entry } from '@ebbline/core/record';
import { canonicalText, type EntryStore } from '@ebbline/store';
import { dataFolder, inUse, openStore, refuseAll } from './data-folder.ts';
import { answer, exits, makeFolder } from './files.ts';
import { readImport, type ImportRead } from './import-read.ts';

interface Options {
  readonly data: string;
  readonly check?: boolean;
  readonly json?: boolean;
}

/** The directory with the wards, people and scanners that it did not have. What it has stays as it is. */
function joined(directory: Directory, more: Directory): Directory {
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

/** Tells what was read and kept: one JSON value, or lines. */
function tell(first: ImportRead, more: Readonly<Record<string, unknown>>, asJson: boolean): void {
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
  if (asJson) process.stdout.write(`${JSON.stringify(value)}\n`);
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
}

/** Ids that the store keeps already, with other content. */
async function takenIds(store: EntryStore, entries: readonly Entry[]): Promise<readonly Refusal[]> {
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
  return taken;
}

function warnOfUnknownWards(entries: readonly Entry[], directory: Directory): void {
  const wards = new Set(
    entries.flatMap((one) =>
      one.kind === 'patient-registered' || one.kind === 'transferred' ? [one.payload.ward] : [],
    ),
  );
  for (const ward of wards)
    if (!directory.wards.some((one) => one.id === ward))
      process.stderr.write(`Ward ${ward} is not in directory.json yet; add it so that its board shows.\n`);
}

export async function runImport(path: string, options: Options, nowMs: number): Promise<number> {
  const folder = dataFolder(options.data, false);
  const asJson = options.json === true;
  // First without touching anything: a file that is refused leaves no folder behind.
  const first = readImport(path, 'not-decided-yet', nowMs);
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
  if (options.check === true) {
    tell(first, { kept: 0, known: 0, checkedOnly: true }, asJson);
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
  const { entries, directory } = first.format === 'wardlog-1' ? readImport(path, organisation, nowMs) : first;
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
    const taken = await takenIds(store, entries);
    if (taken.length > 0) return refuseAll(taken);
    const result = await store.append(entries, { receivedAt: instantOfMs(nowMs), actor: 'import' });
    if (result.refused.length > 0)
      return refuseAll(result.refused.map((one) => ({ ...one.refusal, where: one.id })));
    if (directory !== undefined) {
      const next = joined(book.current(), directory);
      if (canonicalText(next) !== canonicalText(book.current())) await book.replace(next);
    }
    warnOfUnknownWards(entries, book.current());
    const known = result.kept.filter((one) => one.known).length;
    tell(first, { kept: result.kept.length - known, known }, asJson);
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
