/**
 * `volume PATH...`: images to millilitres, with interval and reasons.
 *
 * In        DICOM ultrasound files, or folders that hold `geometry.json` (planeset-1)
 * Out       one line a path on standard output, or one JSON value; a CSV file when asked
 * Exit      0 when any path was answered (none-seen is an answer), 2 bad usage, 3 all refused
 */
import { existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { isRefusal, refusalSentence, refuse, type Refusal } from '@ebbline/core/quantity';
import { traceBladder, type PlaneSet, type VolumeResult } from '@ebbline/imaging';
import { writeCell } from '@ebbline/interop/csv';
import { looksLikeDicom, planeSetOfImage, readUltrasound } from '@ebbline/interop/dicom';
import { readGeometry, readPlaneSet, type PlaneSetFile } from '@ebbline/interop/planeset';
import { Command } from 'commander';

export interface VolumeRow {
  readonly case: string;
  readonly result: VolumeResult;
}

interface Options {
  readonly json?: boolean;
  readonly csv?: string;
  readonly geometry?: string;
}

const mostBytes = 1e9;

export function volumeCommand(): Command {
  return new Command('volume')
    .description('Volume from ultrasound images, with a 90 % interval and the reasons to distrust it.')
    .argument('<path...>', 'a DICOM file, or a folder that holds geometry.json (planeset-1)')
    .option('--json', 'print one JSON value instead of lines')
    .option('--csv <file>', 'write case,volume_ml,lo,hi,answer,reasons')
    .option('--geometry <file>', 'scale and layout (planeset-1) where the file has none')
    .addHelpText('after', '\nExample:\n  npx ebbline volume examples/planes --csv volumes.csv\n')
    .exitOverride((error) => {
      process.exit(error.exitCode === 0 ? 0 : 2);
    })
    .action(async (paths: string[], options: Options) => {
      process.exitCode = await runVolume(paths, options);
    });
}

/** Answers every path; one that is refused does not stop the others. The exit code is returned. */
async function runVolume(paths: readonly string[], options: Options): Promise<number> {
  const given = options.geometry === undefined ? undefined : givenGeometry(options.geometry);
  if (isRefusal(given)) {
    process.stderr.write(`${refusalSentence(given)}\n`);
    return 3;
  }
  if (options.csv !== undefined && !existsSync(dirname(resolve(options.csv)))) {
    process.stderr.write(
      `CSV not written: the folder of ${options.csv} does not exist. Make it first. [cli/csv-folder-missing]\n`,
    );
    return 2;
  }
  const rows: VolumeRow[] = [];
  for (const [index, path] of paths.entries()) {
    if (process.stderr.isTTY)
      process.stderr.write(`\r${index + 1} of ${paths.length}: ${nameOf(path)}\u001b[K`);
    const set = await readSet(path, given);
    const result: VolumeResult = isRefusal(set)
      ? { answer: 'refused', reasons: [], planes: [], findings: {}, refusal: set }
      : traceBladder(set);
    rows.push({ case: nameOf(path), result });
  }
  if (process.stderr.isTTY) process.stderr.write('\r\u001b[K');
  if (options.csv !== undefined) {
    try {
      writeFileSync(options.csv, volumeCsv(rows));
    } catch {
      process.stderr.write(
        `CSV not written: ${options.csv} can not be written. Choose another file. [cli/csv-not-writable]\n`,
      );
      return 2;
    }
  }
  if (options.json === true) process.stdout.write(`${JSON.stringify(volumeJson(rows))}\n`);
  else for (const row of rows) process.stdout.write(`${volumeLine(row)}\n`);
  return rows.some((row) => row.result.answer !== 'refused') ? 0 : 3;
}

const nameOf = (path: string): string => {
  const name = basename(resolve(path));
  return name === 'geometry.json' ? basename(dirname(resolve(path))) : name;
};

function givenGeometry(file: string): PlaneSetFile | Refusal {
  try {
    return readGeometry(readFileSync(file, 'utf8'));
  } catch {
    return refuse('cli/geometry-not-read', {
      asked: 'Geometry of the planes',
      found: 'a file that can not be read',
      allowed: 'a JSON file of the form planeset-1',
      todo: 'Check the name after --geometry.',
    });
  }
}

async function readSet(path: string, given: PlaneSetFile | undefined): Promise<PlaneSet | Refusal> {
  const notRead = (found: string): Refusal =>
    refuse('cli/path-not-read', {
      asked: 'Volume from images',
      found,
      allowed: 'a DICOM file, or a folder that holds geometry.json',
      todo: 'Check the path.',
    });
  try {
    const stat = statSync(path);
    const folder = stat.isDirectory() ? path : basename(path) === 'geometry.json' ? dirname(path) : undefined;
    if (folder !== undefined) {
      return await readPlaneSet((name) => fileIn(folder, name), given);
    }
    if (stat.size > mostBytes) return notRead('a file of more than 1 GB');
    const bytes = new Uint8Array(readFileSync(path));
    if (!looksLikeDicom(bytes))
      return notRead('a file that is neither DICOM nor a folder with geometry.json');
    const image = await readUltrasound(bytes);
    return isRefusal(image) ? image : planeSetOfImage(image, given?.geometry, given?.image);
  } catch {
    return notRead('nothing there that can be read');
  }
}

function fileIn(folder: string, name: string): Uint8Array | undefined {
  const path = join(folder, name);
  try {
    return statSync(path).size > mostBytes ? undefined : new Uint8Array(readFileSync(path));
  } catch {
    return undefined;
  }
}

const mL = (value: number): string => value.toFixed(value < 20 ? 1 : 0);

/** One line for a person. */
export function volumeLine({ case: name, result }: VolumeRow): string {
  const reasons =
    result.reasons.length === 0
      ? ''
      : ` Reasons to distrust: ${result.reasons.map((one) => one.words).join('; ')}.`;
  if (result.answer === 'refused')
    return `${name}: ${result.refusal ? refusalSentence(result.refusal) : 'refused'}${reasons}`;
  if (result.answer === 'none-seen') return `${name}: no bladder seen.${reasons}`;
  const { volumeMl = 0, interval = { loMl: 0, hiMl: 0 } } = result;
  if (result.answer === 'at-least') {
    return `${name}: at least ${mL(result.boundMl ?? 0)} mL; completed estimate ${mL(volumeMl)} mL (90 % interval ${mL(interval.loMl)} to ${mL(interval.hiMl)} mL).${reasons}`;
  }
  return `${name}: ${mL(volumeMl)} mL (90 % interval ${mL(interval.loMl)} to ${mL(interval.hiMl)} mL).${reasons}`;
}

/** The JSON value: `{ format: "volume-1", results: [ … ] }`, each result as the tracer gives it, with its case. */
function volumeJson(rows: readonly VolumeRow[]): object {
  return { format: 'volume-1', results: rows.map((row) => ({ case: row.case, ...row.result })) };
}

/** CSV with header `case,volume_ml,lo,hi,answer,reasons`; volume empty when declined. */
export function volumeCsv(rows: readonly VolumeRow[]): string {
  const lines = ['case,volume_ml,lo,hi,answer,reasons'];
  for (const { case: name, result } of rows) {
    const said = result.reasons.map((one) => one.words);
    if (result.refusal) said.unshift(result.refusal.code);
    const number = (value: number | undefined): string => (value === undefined ? '' : value.toFixed(1));
    const lo = result.answer === 'at-least' ? result.boundMl : result.interval?.loMl;
    lines.push(
      [
        name,
        number(result.volumeMl),
        number(lo),
        number(result.interval?.hiMl),
        result.answer,
        said.join('; '),
      ]
        .map(writeCell)
        .join(','),
    );
  }
  return `${lines.join('\n')}\n`;
}
