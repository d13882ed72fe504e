/**
 * What whoever looks after the server wants to know, one named check each: no path, no address, no patient, no secret.
 * A store that can't keep an entry takes the server out of service; everything else is said and leaves it in service,
 * since wards are better off with a server whose prints fail than with none.
 */
import { statfs } from 'node:fs/promises';
import { hourMs, minuteMs } from '@ebbline/core/quantity';
import { duration } from '@ebbline/core/present';
import type { EntryStore } from '@ebbline/store';
import { lateAfterMs, type Downtime } from '../downtime/downtime.ts';
import type { Checkpoints } from '../keeping/checkpoints.ts';

export const checkNames = ['store', 'disk', 'schema', 'checkpoint', 'downtime-prints'] as const;

export interface Check {
  readonly name: (typeof checkNames)[number];
  readonly state: 'good' | 'failed' | 'not-used';
  /** What was found, in words. */
  readonly found: string;
  /** What to do; only with `failed`. */
  readonly todo?: string;
}
export type HealthCheck = (nowMs: number) => Promise<Check>;

const ago = (ms: number): string => `${duration(ms / minuteMs)} old`;

/** Writes to the store for real: a disk that is full or read-only still answers reads. */
export const storeCheck =
  (store: Pick<EntryStore, 'setBookmark'>): HealthCheck =>
  async (nowMs) => {
    await store.setBookmark('ready', Math.floor(nowMs / 1000));
    return { name: 'store', state: 'good', found: 'writes' };
  };

/** Room below which a disk is called nearly full: minutes to hours of entries, and a write-ahead log. S-common-practice */
const leastFreeBytes = 256 * 1024 * 1024;
const inGb = (bytes: number): string => `${(bytes / 1e9).toFixed(1)} GB`;

/** @param room what a folder's disk has, bytes; the platform's own when left out */
export const diskCheck =
  (
    folder: string,
    room: (folder: string) => Promise<{ readonly freeBytes: number; readonly allBytes: number }> = roomOf,
  ): HealthCheck =>
  async () => {
    const { freeBytes, allBytes } = await room(folder);
    const found = `${inGb(freeBytes)} of ${inGb(allBytes)} free`;
    return freeBytes >= leastFreeBytes
      ? { name: 'disk', state: 'good', found }
      : { name: 'disk', state: 'failed', found, todo: 'Make room on the disk of the data folder now.' };
  };

async function roomOf(folder: string): Promise<{ freeBytes: number; allBytes: number }> {
  const { bsize, bavail, blocks } = await statfs(folder);
  return { freeBytes: bsize * bavail, allBytes: bsize * blocks };
}

/** Once an hour the audit is signed when it has grown; so long without is one hour missed. */
const checkpointLateMs = 2 * hourMs;

export const checkpointCheck =
  (checkpoints: Pick<Checkpoints, 'newest'>, store: Pick<EntryStore, 'auditHead'>): HealthCheck =>
  async (nowMs) => {
    const newest = checkpoints.newest();
    const { auditRows } = await store.auditHead();
    if (newest === undefined)
      return auditRows === 0
        ? { name: 'checkpoint', state: 'good', found: 'nothing to sign yet' }
        : { name: 'checkpoint', state: 'failed', found: 'none', todo: 'Look at the log: signing fails.' };
    const ageMs = nowMs - newest.atMs;
    const found = `number ${newest.number}, ${ago(ageMs)}`;
    return ageMs > checkpointLateMs && auditRows > newest.auditRows
      ? { name: 'checkpoint', state: 'failed', found, todo: 'Look at the log: signing fails.' }
      : { name: 'checkpoint', state: 'good', found };
  };

export const schemaCheck =
  (version: number): HealthCheck =>
  async () => ({ name: 'schema', state: 'good', found: `version ${version}` });

export const downtimeCheck =
  (downtime: Pick<Downtime, 'status'> | undefined): HealthCheck =>
  async (nowMs) => {
    if (downtime === undefined)
      return { name: 'downtime-prints', state: 'not-used', found: 'no folder is set' };
    const { printedAtMs, failure, wards } = downtime.status();
    const age = printedAtMs === undefined ? 'none yet' : `${wards} wards, ${ago(nowMs - printedAtMs)}`;
    if (failure !== undefined)
      return {
        name: 'downtime-prints',
        state: 'failed',
        found: `${age}; the last round failed: ${failure.found} [${failure.code}]`,
        todo: 'Look at the folder of the prints: its disk, its rights, its network share.',
      };
    if (printedAtMs === undefined) return { name: 'downtime-prints', state: 'good', found: age };
    return nowMs - printedAtMs > lateAfterMs
      ? {
          name: 'downtime-prints',
          state: 'failed',
          found: age,
          todo: 'Look at the log: the hourly print does not run.',
        }
      : { name: 'downtime-prints', state: 'good', found: age };
  };

const failedTodo: Readonly<Record<Check['name'], string>> = {
  store: 'Look at the disk and the data folder, or at the database.',
  disk: 'Look at the disk of the data folder.',
  schema: 'Look at the log.',
  checkpoint: 'Look at the log.',
  'downtime-prints': 'Look at the log.',
};

export interface Health {
  /** Every check, in the order of `checkNames`; at most one round a second, however many ask. */
  checks(nowMs: number): Promise<readonly Check[]>;
}

export function createHealth(
  named: Readonly<Partial<Record<Check['name'], HealthCheck>>>,
  failed: (name: Check['name'], problem: unknown) => void,
): Health {
  let last: { readonly atMs: number; readonly answer: Promise<readonly Check[]> } | undefined;
  const all = async (nowMs: number): Promise<readonly Check[]> => {
    const found: Check[] = [];
    for (const name of checkNames) {
      const check = named[name];
      if (check === undefined) {
        found.push({ name, state: 'not-used', found: 'not kept here' });
        continue;
      }
      try {
        found.push(await check(nowMs));
      } catch (problem) {
        failed(name, problem);
        found.push({ name, state: 'failed', found: 'does not answer', todo: failedTodo[name] });
      }
    }
    return found;
  };
  return {
    checks: (nowMs) => {
      if (last === undefined || Math.abs(nowMs - last.atMs) >= 1000)
        last = { atMs: nowMs, answer: all(nowMs) };
      return last.answer;
    },
  };
}
