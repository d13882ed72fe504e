/**
 * A backup as one file: POSIX ustar, plain files only, so that any tar program opens it without this one.
 *
 * Units     sizes in bytes; blocks of 512
 * Domain    paths of at most 100 ASCII characters, files below 8 GiB
 * Errors    `keep/not-a-backup` for what is no such file, or is cut short; `keep/too-large`
 * Source    S-server-ustar
 */
import { closeSync, fstatSync, fsyncSync, mkdirSync, openSync, readSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { digestOf, writeAll, writeNew } from './disk.ts';
import { isBackedUp, manifestName, notABackup } from './manifest.ts';

const blockBytes = 512;
const pathBytes = 100;
const sizeAt = 124;
const sizeDigits = 11;
const sumAt = 148;
const sumBytes = 8;
const mostBytes = 8 ** sizeDigits;

const sumOf = (header: Buffer): number => {
  let sum = 0;
  for (const [at, byte] of header.entries()) sum += at >= sumAt && at < sumAt + sumBytes ? 0x20 : byte;
  return sum;
};
const octal = (value: number, digits: number): string => value.toString(8).padStart(digits, '0');

function headerOf(path: string, bytes: number): Buffer {
  if (bytes >= mostBytes)
    throw new RefusalError(
      refuse('keep/too-large', {
        asked: 'Copy',
        found: `${path} of ${bytes} bytes`,
        allowed: 'less than 8 GiB for each file of a .tar',
        todo: 'Give a folder with --to instead.',
      }),
    );
  const header = Buffer.alloc(blockBytes);
  header.write(path, 0, 'latin1');
  header.write(`${octal(0o600, 7)}\0${octal(0, 7)}\0${octal(0, 7)}\0`, pathBytes, 'latin1');
  header.write(`${octal(bytes, sizeDigits)}\0${octal(0, 11)}\0`, sizeAt, 'latin1');
  header.write('0', 156, 'latin1');
  header.write('ustar\x0000', 257, 'latin1');
  header.write(`${octal(sumOf(header), 6)}\0 `, sumAt, 'latin1');
  return header;
}

/** Puts files of a folder into a new file, on the disk when it returns. */
export function packTar(folder: string, paths: readonly string[], to: string): void {
  const file = openSync(to, 'wx', 0o600);
  try {
    for (const path of paths) {
      const { bytes } = digestOf(join(folder, path));
      writeAll(file, headerOf(path, bytes));
      const copied = digestOf(join(folder, path), (part) => writeAll(file, part)).bytes;
      writeAll(file, Buffer.alloc((blockBytes - (copied % blockBytes)) % blockBytes));
    }
    writeAll(file, Buffer.alloc(2 * blockBytes));
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

/** Takes the files of a backup out into a folder. A name that no backup has is refused before anything is written for it. */
export function unpackTar(from: string, folder: string): void {
  const file = openSync(from, 'r');
  try {
    const whole = fstatSync(file).size;
    const header = Buffer.alloc(blockBytes);
    for (let at = 0; ;) {
      if (readSync(file, header, 0, blockBytes, at) < blockBytes)
        throw notABackup('a file that is cut short');
      if (header.every((byte) => byte === 0)) return;
      if (Number.parseInt(header.toString('latin1', sumAt, sumAt + sumBytes), 8) !== sumOf(header))
        throw notABackup('a file that is no tar, or a damaged one');
      const [path = ''] = header.toString('latin1', 0, pathBytes).split('\0');
      if (path !== manifestName && !isBackedUp(path)) throw notABackup('a file in it that no backup has');
      const size = Number.parseInt(header.toString('latin1', sizeAt, sizeAt + sizeDigits), 8);
      at += blockBytes;
      if (!(size >= 0) || at + size > whole) throw notABackup('a file that is cut short');
      mkdirSync(dirname(join(folder, path)), { recursive: true, mode: 0o700 });
      takeOut(file, at, size, join(folder, path));
      at += Math.ceil(size / blockBytes) * blockBytes;
    }
  } finally {
    closeSync(file);
  }
}

function takeOut(file: number, at: number, size: number, to: string): void {
  writeNew(to, '');
  const out = openSync(to, 'r+');
  try {
    const part = Buffer.allocUnsafe(1 << 20);
    for (let done = 0; done < size;) {
      const got = readSync(file, part, 0, Math.min(part.length, size - done), at + done);
      if (got === 0) throw notABackup('a file that is cut short');
      writeAll(out, part.subarray(0, got));
      done += got;
    }
    fsyncSync(out);
  } finally {
    closeSync(out);
  }
}
