/**
 * `ebbline export --to DIR`: everything out, in open formats that docs/guide/formats.md describes.
 *
 * Out       entries.ndjson, entries.csv, directory.json, protocols.json, protocols/ID-VERSION.dmn, wardlog/WARD/, fhir/PATIENT.json, fhir/code-system.json, about.json
 * Exit      0 written · 1 failed inside · 2 bad usage · 3 refused: a folder that holds something, no record, a faulty bundle
 */
import { copyFileSync, existsSync, mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { Command } from 'commander';
import { instantOfMs, RefusalError, refuse } from '@ebbline/core/quantity';
import { deviceBook, entriesByPatient, foldPatient, resolveEntries } from '@ebbline/core/facts';
import { entriesCsv } from '@ebbline/interop/csv';
import { checkBundle, localCodeSystem, patientBundle } from '@ebbline/interop/fhir';
import { wardLogOfEntries } from '@ebbline/interop/wardlog';
import { isDemo, readData, refuseAll, wardOrPlain } from './data-folder.ts';
import { answer, exits, isFolder, makeFolder, notAFolder } from './files.ts';

interface Options {
  readonly to: string;
  readonly data: string;
  readonly demo?: boolean;
  readonly json?: boolean;
}

const safeName = (text: string): string =>
  text.replaceAll(/[^A-Za-z0-9._-]/g, (character) => `_${(character.codePointAt(0) as number).toString(16)}`);

/** The acts on protocols as they are kept, and each version as a DMN file; nothing where nothing was ever sent. */
async function writeProtocols(folder: string, to: string): Promise<void> {
  const path = join(folder, 'protocols.json');
  if (!existsSync(path)) return;
  const { fileProtocols } = await import('@ebbline/server');
  const book = await fileProtocols(path);
  copyFileSync(path, join(to, 'protocols.json'));
  mkdirSync(join(to, 'protocols'), { recursive: true });
  for (const { protocol } of book.versions())
    writeFileSync(
      join(to, 'protocols', `${safeName(protocol.id)}-${protocol.version}.dmn`),
      book.dmnOf(protocol.id, protocol.version) ?? '',
      { mode: 0o600 },
    );
}

export async function runExport(options: Options, nowMs: number): Promise<number> {
  const to = resolve(options.to);
  if (existsSync(to) && !isFolder(to)) throw notAFolder(to, 'a file where a folder should be', '--to');
  if (existsSync(to) && readdirSync(to).length > 0)
    throw new RefusalError(
      refuse('cli/not-empty', {
        asked: 'Export',
        found: 'a folder that holds something',
        allowed: 'a new or an empty folder',
        todo: 'Choose another folder with --to.',
      }),
    );
  const demo = isDemo(options.data, options.demo);
  const { kept, directory } = await readData(options.data, demo);
  const entries = kept.map((one) => one.entry);
  makeFolder(to, '--to');
  const write = (name: string, text: string): void => writeFileSync(join(to, name), text, { mode: 0o600 });

  write(
    'entries.ndjson',
    kept
      .map(
        (one) =>
          `${JSON.stringify({ sequence: one.sequence, receivedAt: one.receivedAt, entry: one.entry })}\n`,
      )
      .join(''),
  );
  write('entries.csv', entriesCsv(entries));
  write('directory.json', `${JSON.stringify(directory, undefined, 2)}\n`);

  if (!demo) await writeProtocols(resolve(options.data), to);

  const { logs, leftOut } = wardLogOfEntries(entries, directory);
  for (const log of logs) {
    const folder = join(to, 'wardlog', safeName(log.ward));
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, 'ward.json'), `${JSON.stringify(log.about, undefined, 1)}\n`);
    writeFileSync(join(folder, 'log.ndjson'), log.text);
  }

  mkdirSync(join(to, 'fhir'), { recursive: true });
  write(join('fhir', 'code-system.json'), `${JSON.stringify(localCodeSystem(), undefined, 1)}\n`);
  const groups = entriesByPatient(entries);
  const devices = deviceBook().of(groups, directory.wards);
  const faults = [];
  let resources = 0;
  for (const [patient, mine] of groups) {
    const resolution = resolveEntries(mine);
    const place = (resolution.byPatient.get(patient) ?? []).findLast(
      (one) =>
        one.standing.state === 'live' &&
        (one.entry.kind === 'patient-registered' || one.entry.kind === 'transferred'),
    )?.entry;
    const ward = wardOrPlain(
      directory,
      place?.kind === 'patient-registered' || place?.kind === 'transferred' ? place.payload.ward : 'no-ward',
    );
    const facts = foldPatient({
      patient,
      entries: mine,
      nowMs,
      settings: ward.settings,
      zone: ward.zone,
      resolution,
      devices,
    });
    const bundle = patientBundle({ facts, directory, organisation: directory.organisation, zone: ward.zone });
    faults.push(...checkBundle(bundle));
    resources += bundle.entry.length;
    write(join('fhir', `${safeName(patient)}.json`), `${JSON.stringify(bundle)}\n`);
  }
  const about = {
    format: 'ebbline-export-1',
    writtenAt: instantOfMs(nowMs),
    organisation: directory.organisation,
    entries: entries.length,
    patients: groups.size,
    wardLogs: logs.map(({ ward, lines }) => ({ ward, lines })),
    leftOutOfWardLogs: leftOut,
    fhirResources: resources,
  };
  write('about.json', `${JSON.stringify(about, undefined, 1)}\n`);
  if (faults.length > 0) return refuseAll(faults);
  if (options.json === true) process.stdout.write(`${JSON.stringify(about)}\n`);
  else {
    process.stdout.write(
      `${entries.length} entries of ${groups.size} patients written to ${to}: entries.ndjson, entries.csv, directory.json, ${logs.length} ward logs, ${groups.size} FHIR bundles.\n`,
    );
    const missing = Object.entries(leftOut);
    if (missing.length > 0)
      process.stderr.write(
        `The ward logs have no place for: ${missing.map(([what, count]) => `${what} (${count})`).join(', ')}. entries.ndjson holds everything.\n`,
      );
  }
  return exits.answered;
}

export function exportCommand(): Command {
  return new Command('export')
    .description('Write everything out in open formats: entries as NDJSON and CSV, ward logs, FHIR bundles.')
    .requiredOption('--to <folder>', 'a new or an empty folder')
    .option('--data <folder>', 'the folder that the server runs on', process.env['EBBLINE_DATA'] ?? './data')
    .option('--demo', 'from the server started with --demo')
    .option('--json', 'print one JSON value')
    .addHelpText('after', '\nExample:\n  npx ebbline export --data ./data --to ./out\n')
    .action((options: Options) => answer(() => runExport(options, Date.now())));
}
