// Other programs that read and write DICOM, run on files in a folder of their own. A test that needs one is skipped, and
// says so, where it is not installed.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';

export type Program =
  | 'dcmcjpeg'
  | 'dcmdjpeg'
  | 'dcmcjpls'
  | 'dcmcrle'
  | 'dcmconv'
  | 'gdcmconv'
  | 'dsrdump'
  | 'dcmdump'
  | 'dciodvfy';

const known = new Map<Program, boolean>();

/** True when the program can be started; debian calls the packages dcmtk, libgdcm-tools and dicom3tools. */
export function has(program: Program): boolean {
  const before = known.get(program);
  if (before !== undefined) return before;
  const found = spawnSync(program, ['--version'], { timeout: 10_000 }).error === undefined;
  known.set(program, found);
  return found;
}

export interface Answer {
  readonly status: number | null;
  /** What it printed, on both streams. */
  readonly said: string;
  readonly out: Uint8Array | undefined;
}

/** Runs `program … in.dcm out.dcm` on these bytes. */
export function run(program: Program, words: readonly string[], bytes: Uint8Array, writes = true): Answer {
  const folder = mkdtempSync(path.join(tmpdir(), 'dicom-'));
  try {
    const from = path.join(folder, 'in.dcm');
    const to = path.join(folder, 'out.dcm');
    writeFileSync(from, bytes);
    const done = spawnSync(program, [...words, from, ...(writes ? [to] : [])], { timeout: 30_000 });
    let out: Uint8Array | undefined;
    if (writes) {
      try {
        out = new Uint8Array(readFileSync(to));
      } catch {
        out = undefined;
      }
    }
    const said = `${done.stdout.toString('utf8')}${done.stderr.toString('utf8')}`.replaceAll(folder, '');
    return { status: done.status, said, out };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
