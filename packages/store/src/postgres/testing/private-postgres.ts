/**
 * A PostgreSQL of a test's own: a cluster in a folder for temporary files, on a free port of the loopback. One for a
 * process, started when first asked for. A watcher beside it holds a pipe of this process: when that closes, however
 * the process ended, the cluster is stopped and its folder deleted. What an earlier watcher could not clear away is
 * swept at the next start.
 *
 * Durability is off unless asked for: never for a record that counts.
 */
import { spawn, spawnSync, type SpawnSyncOptions } from 'node:child_process';
import {
  chownSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';

export interface PrivatePostgres {
  readonly port: number;
  /** Makes an empty database and gives its address. */
  newDatabase(): Promise<string>;
  /** Runs statements as the owner of everything, in a database of its own. */
  administer(statement: string): Promise<readonly Record<string, unknown>[]>;
  stop(): void;
}

export interface NoPostgres {
  /** Why there is none. */
  readonly missing: string;
}

const folderName = 'ebbline-postgres-';
const programs = '/usr/lib/postgresql';
const isRoot = process.getuid?.() === 0;

const newestPrograms = (): string | undefined =>
  existsSync(programs)
    ? readdirSync(programs)
        .map((name) => join(programs, name, 'bin'))
        .filter((bin) => existsSync(join(bin, 'initdb')))
        .sort((one, other) => Number(one.split('/')[4]) - Number(other.split('/')[4]))
        .at(-1)
    : undefined;

/** PostgreSQL refuses to run as root: its own user then. */
function otherUser(): { readonly uid: number; readonly gid: number } | undefined {
  if (!isRoot) return undefined;
  const line = readFileSync('/etc/passwd', 'utf8')
    .split('\n')
    .find((one) => one.startsWith('postgres:'))
    ?.split(':');
  return { uid: Number(line?.[2] ?? 65_534), gid: Number(line?.[3] ?? 65_534) };
}

const freePort = (): Promise<number> =>
  new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = server.address() as AddressInfo;
      server.close(() => resolve(port));
    });
  });

function isRunning(id: number): boolean {
  try {
    process.kill(id, 0);
    return true;
  } catch (problem) {
    return (problem as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** Clears away clusters whose process is gone. Ends only a server that runs on exactly that folder. */
function sweep(): void {
  for (const name of readdirSync(tmpdir()).filter((one) => one.startsWith(folderName))) {
    const folder = join(tmpdir(), name);
    try {
      if (isRunning(Number(readFileSync(join(folder, 'owner'), 'utf8')))) continue;
      const held = join(folder, 'data', 'postmaster.pid');
      const id = existsSync(held) ? Number(readFileSync(held, 'utf8').split('\n')[0]) : Number.NaN;
      const words = `/proc/${id}/cmdline`;
      if (existsSync(words) && readFileSync(words, 'utf8').includes(folder)) process.kill(id, 'SIGQUIT');
      rmSync(folder, { recursive: true, force: true });
    } catch {
      // Somebody else's, or cleared away meanwhile.
    }
  }
}

async function start(durable: boolean, settings: readonly string[]): Promise<PrivatePostgres | NoPostgres> {
  if (newestPrograms() === undefined && isRoot) {
    spawnSync('apt-get', ['update'], { stdio: 'ignore' });
    spawnSync('apt-get', ['install', '-y', '--no-install-recommends', 'postgresql-15'], {
      stdio: 'ignore',
      env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
    });
  }
  const bin = newestPrograms();
  if (bin === undefined)
    return { missing: `no PostgreSQL under ${programs}; install postgresql-15 to run these tests` };
  sweep();
  const user = otherUser();
  const base = mkdtempSync(join(tmpdir(), folderName));
  writeFileSync(join(base, 'owner'), String(process.pid));
  if (user) chownSync(base, user.uid, user.gid);
  const data = join(base, 'data');
  const port = await freePort();
  const run = (program: string, words: readonly string[], options: SpawnSyncOptions = {}): void => {
    const { status, stderr } = spawnSync(join(bin, program), words, {
      encoding: 'utf8',
      cwd: base,
      env: { PATH: process.env['PATH'], LANG: 'C.UTF-8' },
      ...user,
      ...options,
    });
    if (status !== 0) throw new Error(`${program} ended with ${status}: ${String(stderr ?? '')}`);
  };
  run('initdb', ['-D', data, '-U', 'app', '-A', 'trust', '-E', 'UTF8', '--locale=C.UTF-8', '--no-sync']);
  const forTests = durable ? [] : ['fsync=off', 'synchronous_commit=off', 'full_page_writes=off'];
  const set = ['shared_buffers=64MB', 'max_connections=60', ...forTests, ...settings]
    .map((one) => `-c ${one}`)
    .join(' ');
  // The server keeps what it is given: a pipe would never end.
  run(
    'pg_ctl',
    [
      '-D',
      data,
      '-w',
      '-t',
      '60',
      '-l',
      join(base, 'log'),
      '-o',
      `-h 127.0.0.1 -p ${port} -k ${base} ${set}`,
      'start',
    ],
    { stdio: 'ignore' },
  );
  const watcher = spawn(
    '/bin/sh',
    [
      '-c',
      'cat >/dev/null; "$1/pg_ctl" -D "$2/data" -m immediate -w -t 20 stop; rm -rf "$2"',
      'watch',
      bin,
      base,
    ],
    { stdio: ['pipe', 'ignore', 'ignore'], detached: true, cwd: '/', ...user },
  );
  watcher.unref();
  (watcher.stdin as unknown as { unref(): void }).unref();

  const urlOf = (database: string): string => `postgres://app@127.0.0.1:${port}/${database}`;
  const administer = async (statement: string): Promise<readonly Record<string, unknown>[]> => {
    const client = new pg.Client({ connectionString: urlOf('postgres') });
    await client.connect();
    try {
      return (await client.query(statement)).rows as Record<string, unknown>[];
    } finally {
      await client.end();
    }
  };
  let count = 0;
  return {
    port,
    newDatabase: async () => {
      const name = `made_up_${(count += 1)}`;
      await administer(`create database ${name}`);
      return urlOf(name);
    },
    administer,
    stop: () => watcher.stdin.end(),
  };
}

let shared: Promise<PrivatePostgres | NoPostgres> | undefined;

/** The cluster of this process; it runs until the process ends. */
export function privatePostgres(): Promise<PrivatePostgres | NoPostgres> {
  shared ??= start(false, []).then((found) => {
    if ('missing' in found) process.stderr.write(`skipped: ${found.missing}\n`);
    return found;
  });
  return shared;
}

/** One that keeps its promises at a power cut, for measuring. The caller stops it. */
export const durablePostgres = (settings: readonly string[] = []): Promise<PrivatePostgres | NoPostgres> =>
  start(true, settings);
