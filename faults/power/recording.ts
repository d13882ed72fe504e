/**
 * What a program asked of its disk, in order, as the system's own tracer saw it: every write with its bytes, every
 * cut, new name and "is it on the disk now?", and between them what it said on its standard output.
 *
 * Needs     strace; installed when it is missing and the tests run as root
 */
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

export type Asked =
  | { readonly what: 'write'; readonly path: string; readonly offset: number; readonly bytes: Buffer }
  | { readonly what: 'truncate'; readonly path: string; readonly length: number }
  | { readonly what: 'create'; readonly path: string }
  | { readonly what: 'rename'; readonly path: string; readonly to: string }
  | { readonly what: 'unlink'; readonly path: string }
  | { readonly what: 'sync'; readonly path: string }
  | { readonly what: 'said'; readonly line: string };

const calls =
  'openat,write,pwrite64,writev,pwritev,fsync,fdatasync,ftruncate,rename,renameat,renameat2,unlink,unlinkat';

/** True when the tracer is here, after an attempt to bring it here. */
export function tracerIsHere(): boolean {
  const here = (): boolean => spawnSync('strace', ['-V']).status === 0;
  if (here()) return true;
  if (process.getuid?.() === 0)
    spawnSync('apt-get', ['install', '-y', '--no-install-recommends', 'strace'], { stdio: 'ignore' });
  return here();
}

/** Runs a program under the tracer and reads what it asked of the files in a folder. */
export function record(folder: string, program: readonly string[]): readonly Asked[] {
  const trace = join(folder, '..', `${folder.split('/').at(-1)}.trace`);
  const done = spawnSync(
    'strace',
    [
      '-f',
      '-qq',
      '-xx',
      '-y',
      '-s',
      '10000000',
      '-e',
      `trace=${calls}`,
      '-e',
      'signal=none',
      '-o',
      trace,
      ...program,
    ],
    { encoding: 'utf8', maxBuffer: 1e8 },
  );
  if (done.status !== 0)
    throw new Error(`the program ended with ${done.status}: ${done.stderr.slice(0, 400)}`);
  return readTrace(readFileSync(trace, 'latin1'), folder);
}

const bytesOf = (hex: string): Buffer => Buffer.from(hex.replaceAll('\\x', ''), 'hex');

/** A name in a trace is written in hex, whole or not. */
const textOf = (written: string): string =>
  written.includes('\\x') ? bytesOf(written).toString('utf8') : written;

export function readTrace(text: string, folder: string): readonly Asked[] {
  const asked: Asked[] = [];
  const begun = new Map<string, string>();
  const known = new Set<string>();
  const sizes = new Map<string, number>();
  /** Where the next plain write goes, by file descriptor. */
  const places = new Map<string, number>();
  const appending = new Set<string>();
  for (const line of text.split('\n')) {
    const match = /^(\d+)\s+(.*)$/.exec(line);
    if (!match) continue;
    const [, task = '', rest = ''] = match;
    if (rest.endsWith('<unfinished ...>')) {
      begun.set(task, rest.slice(0, -'<unfinished ...>'.length));
      continue;
    }
    const resumed = /^<\.\.\. \w+ resumed>(.*)$/s.exec(rest);
    const whole = resumed ? `${begun.get(task) ?? ''}${resumed[1]}` : rest;
    take(whole);
  }
  return asked;

  function take(call: string): void {
    const read = /^(\w+)\((.*)\)\s+= (-?\d+)/s.exec(call);
    if (!read) return;
    const [, name = '', inside = '', result = ''] = read;
    if (Number(result) < 0) return;
    const file = /^(\d+)<([^>]*)>/.exec(inside);
    const descriptor = file?.[1] ?? '';
    const path = textOf(file?.[2] ?? '');
    const strings = [...inside.matchAll(/"([^"]*)"/g)].map(([, one = '']) => one);
    const numbers = inside.split(', ').map(Number);
    const ours = path.startsWith(`${folder}/`) || path === folder;
    switch (name) {
      case 'openat': {
        const opened = textOf(strings[0] ?? '');
        if (!opened.startsWith(`${folder}/`)) return;
        places.set(result, 0);
        if (inside.includes('O_APPEND')) appending.add(result);
        else appending.delete(result);
        if (inside.includes('O_TRUNC') && known.has(opened)) truncate(opened, 0);
        if (inside.includes('O_CREAT') && !known.has(opened)) {
          known.add(opened);
          asked.push({ what: 'create', path: opened });
        }
        return;
      }
      case 'pwrite64':
        if (ours) write(path, numbers.at(-1) ?? 0, bytesOf(strings[0] ?? '').subarray(0, Number(result)));
        return;
      case 'write': {
        const bytes = bytesOf(strings[0] ?? '').subarray(0, Number(result));
        if (descriptor === '1')
          for (const line of bytes.toString().trimEnd().split('\n')) asked.push({ what: 'said', line });
        else if (ours) {
          const offset = appending.has(descriptor) ? (sizes.get(path) ?? 0) : (places.get(descriptor) ?? 0);
          places.set(descriptor, offset + bytes.length);
          write(path, offset, bytes);
        }
        return;
      }
      case 'writev':
      case 'pwritev':
        if (ours) throw new Error(`${name} is not read here`);
        return;
      case 'ftruncate':
        if (ours) truncate(path, numbers.at(-1) ?? 0);
        return;
      case 'fsync':
      case 'fdatasync':
        if (ours) asked.push({ what: 'sync', path });
        return;
      case 'unlink':
      case 'unlinkat': {
        const gone = textOf(strings[0] ?? '');
        if (!gone.startsWith(`${folder}/`)) return;
        known.delete(gone);
        sizes.delete(gone);
        asked.push({ what: 'unlink', path: gone });
        return;
      }
      default: {
        const [from = '', to = ''] = strings.map(textOf);
        if (!from.startsWith(`${folder}/`)) return;
        known.delete(from);
        known.add(to);
        sizes.set(to, sizes.get(from) ?? 0);
        asked.push({ what: 'rename', path: from, to });
      }
    }
  }
  function write(path: string, offset: number, bytes: Buffer): void {
    sizes.set(path, Math.max(sizes.get(path) ?? 0, offset + bytes.length));
    asked.push({ what: 'write', path, offset, bytes });
  }
  function truncate(path: string, length: number): void {
    sizes.set(path, length);
    asked.push({ what: 'truncate', path, length });
  }
}
