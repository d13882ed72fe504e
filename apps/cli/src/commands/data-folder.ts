/**
 * The data folder as the import, export and report verbs see it: record.sqlite and directory.json, as `serve` keeps them.
 *
 * Errors    `cli/no-record`, `cli/data-in-use`; a directory that is no JSON is refused by the server's own reader
 */
import { existsSync, readFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import {
  instantMs,
  isRefusal,
  readInstant,
  RefusalError,
  refusalSentence,
  refuse,
  type Refusal,
} from '@ebbline/core/quantity';
import { defaultSettings, type Directory, type Entry, type KeptEntry, type Ward } from '@ebbline/core/record';
import { entriesOfWardLog, readWardLog } from '@ebbline/interop/wardlog';
import type { EntryStore } from '@ebbline/store';
import { exits, isFolder, readText } from './files.ts';

export function refuseAll(refusals: readonly Refusal[], most = 20): number {
  for (const one of refusals.slice(0, most)) process.stderr.write(`${refusalSentence(one)}\n`);
  if (refusals.length > most) process.stderr.write(`… and ${refusals.length - most} more.\n`);
  return exits.refused;
}

export interface RecordAt {
  readonly entries: readonly Entry[];
  readonly directory: Directory;
  readonly atMs: number;
}

export const dataFolder = (given: string, demo: boolean | undefined): string =>
  demo === true ? join(resolve(given), 'demo') : resolve(given);

/** True when a server runs on the folder; two writers would spoil the audit chain. */
export function inUse(folder: string): boolean {
  const lock = join(folder, 'serve.lock');
  if (!existsSync(lock)) return false;
  const holder = Number(readFileSync(lock, 'utf8'));
  if (!Number.isInteger(holder) || holder === process.pid) return false;
  try {
    process.kill(holder, 0);
    return true;
  } catch (problem) {
    return (problem as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/**
 * Whether the folder's demonstration is meant: when that was said, or when a server runs on it and none on the folder
 * itself, so that `token --data DIR` finds the server of `serve --demo --data DIR`.
 */
export const isDemo = (given: string, said: boolean | undefined): boolean =>
  said ?? (!inUse(resolve(given)) && inUse(join(resolve(given), 'demo')));

async function directoryOf(folder: string, demo: boolean | undefined): Promise<Directory> {
  if (demo === true) return (await import('@ebbline/simulate')).coastDirectory();
  const { fileDirectory } = await import('@ebbline/server');
  return (await fileDirectory(join(folder, 'directory.json'))).current();
}

export async function openStore(folder: string, organisation: string): Promise<EntryStore> {
  const { openSqliteStore } = await import('@ebbline/store/sqlite');
  return openSqliteStore({ path: join(folder, 'record.sqlite'), organisation });
}

const pageSize = 1000;

async function allKept(store: EntryStore): Promise<readonly KeptEntry[]> {
  const kept: KeptEntry[] = [];
  for (;;) {
    const page = await store.after(kept.at(-1)?.sequence ?? 0, pageSize);
    kept.push(...page);
    if (page.length < pageSize) return kept;
  }
}

export interface OpenData {
  readonly folder: string;
  readonly directory: Directory;
  readonly kept: readonly KeptEntry[];
}

/** Everything in a data folder, read and closed again. */
export async function readData(given: string, demo: boolean | undefined): Promise<OpenData> {
  const folder = dataFolder(given, demo);
  if (!existsSync(join(folder, 'record.sqlite'))) {
    throw new RefusalError(
      refuse('cli/no-record', {
        asked: 'Data folder',
        found: `no record.sqlite in ${folder}`,
        allowed: 'the folder that `serve` runs on',
        todo: 'Give it with --data, or import something first.',
      }),
    );
  }
  const directory = await directoryOf(folder, demo);
  const organisation =
    demo === true ? (await import('@ebbline/simulate')).organisation : directory.organisation;
  const store = await openStore(folder, organisation);
  try {
    return { folder, directory, kept: await allKept(store) };
  } finally {
    await store.close();
  }
}

export interface WardAbout {
  readonly ward: string;
  readonly zone: string;
}

/** ward.json beside a log. */
export function readWardAbout(folder: string): WardAbout {
  const file = join(folder, 'ward.json');
  const refused = (found: string): RefusalError =>
    new RefusalError(
      refuse('cli/ward-json', {
        asked: 'Ward folder',
        found,
        allowed: 'ward.json with format "wardlog-1", ward and zone',
        todo: 'Put such a ward.json beside log.ndjson.',
        where: 'ward.json',
      }),
    );
  let value: unknown;
  try {
    value = JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    throw refused(existsSync(file) ? 'a ward.json that is no JSON' : 'no ward.json');
  }
  const { format, ward, zone } = (value ?? {}) as Record<string, unknown>;
  if (format !== 'wardlog-1') throw refused(`format ${JSON.stringify(format) ?? 'nothing'}`);
  if (typeof ward !== 'string' || ward === '' || typeof zone !== 'string')
    throw refused('no ward or no zone');
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone }).format();
  } catch {
    throw refused(`zone "${zone.slice(0, 40)}"`);
  }
  return { ward, zone };
}

/** The same where the file may be missing: times are then told in UTC. A broken one is refused. */
export const wardAboutIfAny = (folder: string): { readonly ward?: string; readonly zone: string } =>
  existsSync(join(folder, 'ward.json')) ? readWardAbout(folder) : { zone: 'UTC' };

/** The log of a ward folder, or the file itself, and the folder in which its ward.json stands. */
export function wardLogAt(path: string): { readonly folder: string; readonly log: string } {
  return isFolder(path)
    ? { folder: path, log: join(path, 'log.ndjson') }
    : { folder: dirname(path), log: path };
}

/** A ward log (its folder, or the file with ward.json beside it) as entries of an organisation; the first broken line refuses it. */
export function readWardFolder(path: string, organisation: string) {
  const { folder, log: file } = wardLogAt(path);
  const about = readWardAbout(folder);
  const log = readWardLog(readText(file));
  if (isRefusal(log)) throw new RefusalError(log);
  return { about, ...entriesOfWardLog(log, { organisation, ...about }) };
}

export function atOf(given: string | undefined, otherwise: number): number {
  if (given === undefined) return otherwise;
  const ms = readInstant(given);
  if (isRefusal(ms)) throw new RefusalError({ ...ms, where: '--at' });
  return ms;
}

/** What was written down by an instant. Entries taken in from elsewhere count from when they were written there. */
export function recordAt(data: OpenData, atMs: number): RecordAt {
  return {
    entries: data.kept.map((one) => one.entry).filter((one) => instantMs(one.recordedAt) <= atMs),
    directory: data.directory,
    atMs,
  };
}

/** The ward of a directory, or a plain one when the directory does not know it yet. */
export function wardOrPlain(directory: Directory, id: string): Ward {
  return (
    directory.wards.find((one) => one.id === id) ?? {
      id,
      name: id,
      purpose: 'Not in the directory yet',
      hospital: directory.organisation,
      zone: directory.wards[0]?.zone ?? 'UTC',
      beds: [],
      settings: defaultSettings,
      shiftChanges: [],
    }
  );
}
