/**
 * Files that must be on the disk before they count, and what a disk says in words.
 *
 * Errors    `keep/disk-full`, `keep/no-permission`, `keep/disk-failed`
 */
import { createHash } from 'node:crypto';
import { closeSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs';
import { refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';

/** Test-only: called before each step, may throw what a disk would. */
export type DiskProbe = (step: string) => void;

export interface FileDigest {
  readonly bytes: number;
  readonly sha256: string;
}

const blockBytes = 1 << 20;

/** Puts a folder's list of names on the disk. */
export function syncFolder(folder: string): void {
  let file: number;
  try {
    file = openSync(folder, 'r');
  } catch (problem) {
    // Windows opens no folder; its renames are on the disk by themselves.
    if (process.platform === 'win32') return;
    throw problem;
  }
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** Puts a file's bytes on the disk. */
export function syncFile(path: string): void {
  const file = openSync(path, 'r+');
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** Reads a file once and gives its size and digest; every block goes to `each`. */
export function digestOf(path: string, each: (block: Uint8Array) => void = () => undefined): FileDigest {
  const from = openSync(path, 'r');
  try {
    const sum = createHash('sha256');
    const block = Buffer.allocUnsafe(blockBytes);
    let bytes = 0;
    for (let got = 0; (got = readSync(from, block)) > 0; bytes += got) {
      const part = block.subarray(0, got);
      sum.update(part);
      each(part);
    }
    return { bytes, sha256: sum.digest('hex') };
  } finally {
    closeSync(from);
  }
}

export function writeAll(file: number, part: Uint8Array): void {
  for (let done = 0; done < part.length; done += writeSync(file, part, done));
}

/** A new file with these bytes, on the disk when it returns. Refuses one that is there. */
export function writeNew(path: string, content: string | Uint8Array): void {
  const file = openSync(path, 'wx', 0o600);
  try {
    writeAll(file, typeof content === 'string' ? Buffer.from(content) : content);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** Copies a file to a new one, on the disk when it returns, and gives the digest of what was read. */
export function copyNew(from: string, to: string): FileDigest {
  const file = openSync(to, 'wx', 0o600);
  try {
    const digest = digestOf(from, (part) => writeAll(file, part));
    fsyncSync(file);
    return digest;
  } finally {
    closeSync(file);
  }
}

/** SQLITE_FULL, SQLITE_READONLY and SQLITE_CANTOPEN, the database's own codes. S-sqlite-result-codes */
const sqliteFull = 13;
const sqliteNoWay: ReadonlySet<unknown> = new Set([8, 14]);

const said = (code: string, found: string, allowed: string, todo: string): Refusal =>
  refuse(code, { asked: 'Copy', found, allowed, todo });

/** What a disk said, in words; anything else as it came. */
export function inWords(problem: unknown): unknown {
  const { code, errcode } = problem as { readonly code?: unknown; readonly errcode?: number };
  const full = code === 'ENOSPC' || code === 'EDQUOT' || code === 'EFBIG' || errcode === sqliteFull;
  if (full)
    return new RefusalError(
      said(
        'keep/disk-full',
        'a disk without room for it',
        'room for the whole record, and once more while a file is put together',
        'Make room, or choose another place with --to. Nothing was left that looks whole.',
      ),
    );
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS' || sqliteNoWay.has(errcode))
    return new RefusalError(
      said(
        'keep/no-permission',
        'a place that may not be read or written by this account',
        'folders and files that the account of the server may use',
        'Run the command as the account of the server, or choose another place.',
      ),
    );
  if (code === 'ENOENT' || code === 'ENOTDIR' || code === 'EIO' || code === 'ENAMETOOLONG')
    return new RefusalError(
      said(
        'keep/disk-failed',
        `a place that can't be used (${String(code)})`,
        'a path in a folder that exists',
        'Check the path and the disk.',
      ),
    );
  return problem;
}
