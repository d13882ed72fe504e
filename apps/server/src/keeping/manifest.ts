/**
 * What a backup says of itself: manifest.json, written last. Names of files are a closed list, so that no manifest can
 * put a file elsewhere.
 *
 * Errors    `keep/not-a-backup`, `store/newer-version`
 */
import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { newerVersion, schemaVersion } from '@ebbline/store/sqlite';
import { z } from 'zod';
import { checkpointNames } from './checkpoints.ts';
import { digestOf } from './disk.ts';

export const manifestName = 'manifest.json';
export const recordName = 'record.sqlite';
/** Beside the record, those that are there. The private key stays where it is. */
export const booksInOrder = [
  'directory.json',
  'accounts.json',
  'sign-in-ways.json',
  'protocols.json',
  'sealing-key.json',
  'held-entries.json',
  'feed.ndjson',
  'results-aside.json',
] as const;
const tokenFile = /^tokens\/[a-z0-9]{12}\.json$/;
const backedUp: ReadonlySet<string> = new Set<string>([
  recordName,
  checkpointNames.lines,
  checkpointNames.publicKeys,
  ...booksInOrder,
]);
export const isBackedUp = (path: string): boolean => backedUp.has(path) || tokenFile.test(path);

const digest = z.string().regex(/^[0-9a-f]{64}$/);
const count = z.number().int().min(0);
const shape = z.strictObject({
  format: z.literal('ebbline-backup-1'),
  madeAt: z.string(),
  schemaVersion: count,
  organisations: z.array(
    z.strictObject({ organisation: z.string(), entries: count, auditRows: count, chain: digest }),
  ),
  checkpoints: count,
  files: z
    .array(z.strictObject({ path: z.string().refine(isBackedUp), bytes: count, sha256: digest }))
    .refine((files) => new Set(files.map(({ path }) => path)).size === files.length)
    .refine((files) => files.some(({ path }) => path === recordName)),
});
export type Manifest = z.infer<typeof shape>;

export const notABackup = (found: string): RefusalError =>
  new RefusalError(
    refuse('keep/not-a-backup', {
      asked: 'Backup',
      found,
      allowed: 'a folder or a .tar file as `backup` writes it, whole and unchanged',
      todo: 'Take another backup. Do not use this one.',
    }),
  );

export function readManifest(folder: string): Manifest {
  let read: unknown;
  try {
    read = JSON.parse(readFileSync(join(folder, manifestName), 'utf8'));
  } catch (problem) {
    const { code } = problem as NodeJS.ErrnoException;
    if (code !== undefined && code !== 'ENOENT' && code !== 'ENOTDIR') throw problem;
    throw notABackup(code === undefined ? `a ${manifestName} that is no JSON` : `no ${manifestName}`);
  }
  const version = (read as { schemaVersion?: unknown } | null)?.schemaVersion;
  if (typeof version === 'number' && version > schemaVersion) throw new RefusalError(newerVersion(version));
  const checked = shape.safeParse(read);
  if (!checked.success) throw notABackup(`a ${manifestName} that is not as this release writes it`);
  return checked.data;
}

/** All files under a folder, by their path with `/`. */
export function filesIn(folder: string, under = ''): readonly string[] {
  return readdirSync(join(folder, under))
    .flatMap((name) => {
      const path = under === '' ? name : `${under}/${name}`;
      return statSync(join(folder, path)).isDirectory() ? filesIn(folder, path) : [path];
    })
    .sort();
}

/** The first file that is not as the manifest says; nothing when all are, and no other is there. */
export function changedFile(folder: string, manifest: Manifest): string | undefined {
  const listed = new Map(manifest.files.map((file) => [file.path, file]));
  const there = filesIn(folder).filter((path) => path !== manifestName);
  const extra = there.find((path) => !listed.has(path));
  // A name that is not ours may be anybody's: it is not repeated.
  if (extra !== undefined) return 'a file that the manifest does not name';
  for (const { path, bytes, sha256 } of manifest.files) {
    if (!there.includes(path)) return `${path} missing`;
    const found = digestOf(join(folder, path));
    if (found.bytes !== bytes || found.sha256 !== sha256)
      return `${path} other than when the backup was made`;
  }
  return undefined;
}
