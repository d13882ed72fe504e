/**
 * `ebbline report KIND`: the printed sheets, from a data folder or from a ward log.
 *
 * Kinds     ward (the board on paper), handover, patient, unit
 * Out       a PDF; one line about it on standard output
 * Exit      0 written · 1 failed inside · 2 bad usage · 3 refused (no such ward or patient, a log that is refused)
 */
import { Argument, Command } from 'commander';
import { dayMs, instantMs, instantOfMs, RefusalError, refuse } from '@ebbline/core/quantity';
import {
  deviceBook,
  entriesByPatient,
  foldPatient,
  foldWard,
  hitPairsOf,
  hitRateOf,
  unitFigures,
} from '@ebbline/core/facts';
import { handoverPdf, patientPdf, unitPdf, wardPdf } from '@ebbline/interop/pdf';
import {
  atOf,
  isDemo,
  readData,
  readWardFolder,
  recordAt,
  type RecordAt,
  wardOrPlain,
} from './data-folder.ts';
import { answer, exits, Usage, writeOut } from './files.ts';

interface Options {
  readonly pdf: string;
  readonly data: string;
  readonly demo?: boolean;
  readonly ward?: string;
  readonly patient?: string;
  readonly at?: string;
  readonly days: string;
  readonly json?: boolean;
}

const kinds = ['ward', 'handover', 'patient', 'unit'] as const;
type Kind = (typeof kinds)[number];

async function recordFor(log: string | undefined, options: Options, nowMs: number): Promise<RecordAt> {
  if (log === undefined)
    return recordAt(
      await readData(options.data, isDemo(options.data, options.demo)),
      atOf(options.at, nowMs),
    );
  const { entries, directory } = readWardFolder(log, 'ward-log');
  const atMs = atOf(
    options.at,
    entries.reduce((latest, one) => Math.max(latest, instantMs(one.recordedAt)), 0),
  );
  return { entries: entries.filter((one) => instantMs(one.recordedAt) <= atMs), directory, atMs };
}

function chosenWard({ directory, entries }: RecordAt, given: string | undefined): string {
  const named = new Set(
    entries.flatMap((one) =>
      one.kind === 'patient-registered' || one.kind === 'transferred' ? [one.payload.ward] : [],
    ),
  );
  const all = [...new Set([...directory.wards.map((one) => one.id), ...named])];
  if (given !== undefined) {
    if (all.includes(given)) return given;
    throw new RefusalError(
      refuse('cli/no-such-ward', {
        asked: 'Ward',
        found: `"${given.slice(0, 40)}"`,
        allowed: all.join(', ') || 'no ward: the record has none',
        todo: 'Choose one of these with --ward.',
      }),
    );
  }
  const [only] = all;
  if (all.length === 1 && only !== undefined) return only;
  throw new Usage(
    all.length === 0 ? 'The record has no ward yet.' : `Say which ward with --ward: ${all.join(', ')}`,
  );
}

async function make(
  kind: Kind,
  record: RecordAt,
  options: Options,
  printedAtMs: number,
): Promise<{ readonly bytes: Uint8Array; readonly about: Record<string, unknown> }> {
  const { entries, directory, atMs } = record;
  if (kind === 'patient') {
    if (options.patient === undefined) throw new Usage('Say which patient with --patient.');
    const mine = entriesByPatient(entries).get(options.patient);
    if (mine === undefined)
      throw new RefusalError(
        refuse('cli/no-such-patient', {
          asked: 'Patient',
          found: 'no entry for that patient',
          allowed: 'a patient of this record',
          todo: 'Check the identifier.',
        }),
      );
    const place = mine.findLast(
      (one) =>
        one.patient === options.patient && (one.kind === 'patient-registered' || one.kind === 'transferred'),
    );
    const ward = wardOrPlain(
      directory,
      place?.kind === 'patient-registered' || place?.kind === 'transferred' ? place.payload.ward : 'no-ward',
    );
    const facts = foldPatient({
      patient: options.patient,
      entries: mine,
      nowMs: atMs,
      settings: ward.settings,
      zone: ward.zone,
      devices: deviceBook().of(entriesByPatient(entries), directory.wards),
    });
    return {
      bytes: await patientPdf({ facts, directory, zone: ward.zone, printedAtMs }),
      about: { patient: options.patient, openItems: facts.due.length },
    };
  }
  const id = chosenWard(record, options.ward);
  const ward = wardOrPlain(directory, id);
  if (kind === 'unit') {
    const days = Number(options.days);
    if (!Number.isInteger(days) || days < 1 || days > 3660)
      throw new Usage('--days is a whole number from 1 to 3660');
    const figures = unitFigures({
      entries,
      ward: id,
      fromMs: atMs - days * dayMs,
      toMs: atMs,
      settings: ward.settings,
      zone: ward.zone,
    });
    const wardOf = (of: string) => wardOrPlain(directory, of);
    const hits = hitRateOf(
      [...entriesByPatient(entries)]
        .flatMap(([patient, own]) => hitPairsOf({ patient, entries: own, wardOf }))
        .filter((one) => one.ward === id),
    );
    return {
      bytes: await unitPdf({ figures, ward: id, directory, zone: ward.zone, printedAtMs }),
      about: {
        ward: id,
        watches: figures.watches,
        cathetersAvoided: figures.paired.cathetersAvoided.count,
        lateDetections: figures.paired.lateDetections.count,
        estimateHeld: `${hits.within} of ${hits.of}`,
      },
    };
  }
  const facts = foldWard({
    ward: id,
    entries,
    nowMs: atMs,
    settings: ward.settings,
    zone: ward.zone,
    devices: deviceBook().of(entriesByPatient(entries), directory.wards),
  });
  const bytes = await (kind === 'ward' ? wardPdf : handoverPdf)({
    ward: facts,
    directory,
    zone: ward.zone,
    printedAtMs,
  });
  return {
    bytes,
    about: {
      ward: id,
      patients: facts.patients.length,
      openItems: facts.patients.reduce((sum, one) => sum + one.due.length, 0),
    },
  };
}

export async function runReport(
  kind: Kind,
  log: string | undefined,
  options: Options,
  nowMs: number,
): Promise<number> {
  const record = await recordFor(log, options, nowMs);
  const { bytes, about } = await make(kind, record, options, nowMs);
  writeOut(options.pdf, bytes, '--pdf');
  const value = { kind, pdf: options.pdf, bytes: bytes.byteLength, at: instantOfMs(record.atMs), ...about };
  process.stdout.write(
    options.json === true
      ? `${JSON.stringify(value)}\n`
      : `${kind} sheet written to ${options.pdf}: ${Object.entries(about)
          .map(([name, one]) => `${name} ${String(one)}`)
          .join(', ')}\n`,
  );
  return exits.answered;
}

export function reportCommand(): Command {
  return new Command('report')
    .description('Print a sheet as PDF: the ward, a handover, one patient, the unit’s figures.')
    .addArgument(new Argument('<kind>', 'which sheet').choices([...kinds]))
    .argument('[log]', 'a ward log (wardlog-1) instead of the data folder')
    .requiredOption('--pdf <file>', 'where the PDF goes')
    .option('--data <folder>', 'the folder that the server runs on', process.env['EBBLINE_DATA'] ?? './data')
    .option('--demo', 'from the server started with --demo')
    .option('--ward <id>', 'which ward, when there are several')
    .option('--patient <id>', 'which patient, for the patient sheet')
    .option('--at <instant>', 'as it was known at this instant, with offset')
    .option('--days <number>', 'days back, for the unit’s figures', '30')
    .option('--json', 'print one JSON value')
    .addHelpText(
      'after',
      '\nExample:\n  npx ebbline report handover --demo --ward ward-gull --pdf handover.pdf\n',
    )
    .action((kind: Kind, log: string | undefined, options: Options) =>
      answer(() => runReport(kind, log, options, Date.now())),
    );
}
