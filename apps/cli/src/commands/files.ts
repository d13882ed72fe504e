/**
 * Files that the verbs read and write: an unusable one is refused in words, never shown as a fault of the system.
 *
 * Errors    `cli/file-not-read`, `cli/file-not-written`, `cli/not-a-folder`
 */
import { mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { RefusalError, refuse } from '@ebbline/core/quantity';

/** Exit codes of every verb. */
export const exits = { answered: 0, failed: 1, usage: 2, refused: 3 } as const;

/** Wrong words on the command line. */
export class Usage extends Error {}

/** Runs a verb's work and turns what went wrong into its exit code; reasons go to standard error. */
export async function answer(work: () => Promise<number> | number): Promise<void> {
  try {
    process.exitCode = await work();
  } catch (problem) {
    process.stderr.write(`${problem instanceof Error ? problem.message : String(problem)}\n`);
    process.exitCode =
      problem instanceof Usage ? exits.usage : problem instanceof RefusalError ? exits.refused : exits.failed;
  }
}

/** What stands in the way, in words. */
function obstacle(problem: unknown): string {
  const { code } = problem as NodeJS.ErrnoException;
  return code === 'ENOENT'
    ? 'nothing there'
    : code === 'EISDIR'
      ? 'a folder'
      : code === 'EACCES' || code === 'EPERM' || code === 'EROFS'
        ? 'no permission'
        : code === 'EEXIST' || code === 'ENOTDIR'
          ? 'a file where a folder should be'
          : `a fault of the file system (${code ?? 'unknown'})`;
}

const notRead = (path: string, problem: unknown, allowed: string): RefusalError =>
  new RefusalError(
    refuse('cli/file-not-read', {
      asked: 'File',
      found: `${obstacle(problem)} at ${path}`,
      allowed,
      todo: 'Check the path and its permissions.',
    }),
  );

export function readText(path: string): string {
  try {
    return readFileSync(path, 'utf8');
  } catch (problem) {
    throw notRead(path, problem, 'a file that can be read');
  }
}

export function isFolder(path: string): boolean {
  try {
    return statSync(path).isDirectory();
  } catch (problem) {
    throw notRead(path, problem, 'a file or a folder that can be read');
  }
}

/** @param option the option that named the file, for what to do */
const notWritten = (path: string, problem: unknown, option: string): RefusalError => {
  const { code } = problem as NodeJS.ErrnoException;
  return new RefusalError(
    refuse('cli/file-not-written', {
      asked: 'Output file',
      found: `${code === 'ENOENT' ? 'no folder to hold it' : obstacle(problem)} at ${path}`,
      allowed: 'a file name in a folder that exists and can be written to',
      todo: `Choose another with ${option}, or make the folder first.`,
    }),
  );
};

export function writeOut(path: string, content: string | Uint8Array, option: string): void {
  try {
    writeFileSync(path, content, { mode: 0o600 });
  } catch (problem) {
    throw notWritten(path, problem, option);
  }
}

export const notAFolder = (path: string, found: string, option: string): RefusalError =>
  new RefusalError(
    refuse('cli/not-a-folder', {
      asked: 'Folder',
      found: `${found} at ${path}`,
      allowed: 'a folder, or a path at which one can be made',
      todo: `Choose another with ${option}.`,
    }),
  );

/** Makes a folder that only its owner may enter, when it is not there yet. */
export function makeFolder(path: string, option: string): void {
  try {
    mkdirSync(path, { recursive: true, mode: 0o700 });
  } catch (problem) {
    throw notAFolder(path, obstacle(problem), option);
  }
}
