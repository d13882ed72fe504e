/**
 * A set of sheets on a disk: written under another name, on the disk, and then renamed, so that a set is there whole or
 * not at all. Older sets of the ward go once there are more than are kept.
 *
 * Layout    <folder>/<ward>/<local time with offset>/<sheet>; what begins with a dot is not finished
 */
import { mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { controlIsOn, instantInZone } from '@ebbline/core/quantity';
import type { Sheet } from './sheets.ts';

/** `2026-05-12T09-00-00+0100`: sorts by time in all but the hour of a clock change, and says its offset there. */
export const setName = (atMs: number, zone: string): string =>
  instantInZone(Math.floor(atMs / 1000) * 1000, zone)
    .replace(/\.\d+/, '')
    .replaceAll(':', '-')
    .replace(/([+-]\d\d)-(\d\d)$/, '$1$2');

/** A ward's id as the name of a folder: no id leads out of the folder of prints. */
export const wardFolder = (ward: string): string => encodeURIComponent(ward).replaceAll('.', '%2E');

const isSet = (name: string): boolean => /^\d{4}-\d\d-\d\dT/.test(name);

async function writeOnDisk(path: string, bytes: Uint8Array): Promise<void> {
  const file = await open(path, 'wx', 0o600);
  try {
    await file.writeFile(bytes);
    await file.sync();
  } finally {
    await file.close();
  }
}

export interface SetToWrite {
  readonly folder: string;
  readonly ward: string;
  readonly name: string;
  readonly keep: number;
}

/** @returns where the set stands */
export async function writeSet(to: SetToWrite, sheets: readonly Sheet[]): Promise<string> {
  const ward = join(to.folder, wardFolder(to.ward));
  await mkdir(ward, { recursive: true, mode: 0o700 });
  const whole = join(ward, to.name);
  const writing = controlIsOn('H11-whole-print') ? join(ward, `.${to.name}-${process.pid}`) : whole;
  await rm(writing, { recursive: true, force: true });
  await mkdir(writing, { mode: 0o700 });
  try {
    for (const { name, bytes } of sheets) await writeOnDisk(join(writing, name), bytes);
    await rename(writing, whole);
  } catch (problem) {
    await rm(writing, { recursive: true, force: true }).catch(() => undefined);
    const { code } = problem as NodeJS.ErrnoException;
    // Another server has printed the same minute into the same folder: its set is as good.
    if (code !== 'ENOTEMPTY' && code !== 'EEXIST') throw problem;
  }
  const names = await readdir(ward);
  const sets = names.filter(isSet).toSorted();
  const old = sets.slice(0, Math.max(0, sets.length - to.keep));
  // What a killed process left unfinished goes too; what another process is writing now bears this set's name or a later one.
  const broken = names.filter(
    (name) => name.startsWith('.') && isSet(name.slice(1)) && name.slice(1) < to.name,
  );
  for (const name of [...old, ...broken]) await rm(join(ward, name), { recursive: true, force: true });
  return whole;
}
