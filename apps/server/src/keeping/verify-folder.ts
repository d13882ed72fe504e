/**
 * Proves a data folder or a backup, read only: the chain, the entries, the signed checkpoints and, for a backup, its
 * manifest. Works beside a running server.
 *
 * Out       counts, or the first place that does not fit; nothing of a patient
 * Errors    `keep/no-record`, `store/not-a-record`, `store/newer-version`, `keep/not-a-backup`
 */
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { openRecordFile, walkRecord, type RecordFault, type WalkedOrganisation } from '@ebbline/store/sqlite';
import { readIfThere } from '@ebbline/store/books';
import { checkpointNames, readCheckpoints, wrongSignature, type Checkpoint } from './checkpoints.ts';
import { changedFile, manifestName, readManifest, recordName } from './manifest.ts';

export interface FolderFault extends Omit<RecordFault, 'place'> {
  readonly place: RecordFault['place'] | 'checkpoint' | 'backup';
}

export interface SoundFolder {
  readonly sound: true;
  readonly schemaVersion: number;
  readonly organisations: readonly WalkedOrganisation[];
  readonly checkpoints: number;
  readonly newestCheckpointAt?: string;
  /** Audit rows that no checkpoint covers yet: were these cut off, nobody could tell. */
  readonly rowsSinceCheckpoint: number;
  /** True when the folder is a backup whose manifest was checked too. */
  readonly backup: boolean;
}
export type VerifiedFolder = SoundFolder | { readonly sound: false; readonly fault: FolderFault };

const unsound = (fault: FolderFault): VerifiedFolder => ({ sound: false, fault });
const isFault = (walked: ReturnType<typeof walkRecord>): walked is RecordFault => 'what' in walked;

const noRecord = (folder: string): RefusalError =>
  new RefusalError(
    refuse('keep/no-record', {
      asked: 'Data folder',
      found: `no ${recordName} in ${folder}`,
      allowed: 'the folder that `serve` runs on, or a backup of it',
      todo: 'Give the right folder.',
    }),
  );

export function verifyFolder(folder: string): VerifiedFolder {
  const path = join(folder, recordName);
  if (!existsSync(path)) throw noRecord(folder);
  const isBackup = existsSync(join(folder, manifestName));
  const manifest = isBackup ? readManifest(folder) : undefined;
  const changed = manifest === undefined ? undefined : changedFile(folder, manifest);
  if (changed !== undefined) return unsound({ place: 'backup', what: `has ${changed}` });
  // Before the record: a checkpoint that a server adds meanwhile is of rows that this look may not see.
  const { lines, wrong } = readCheckpoints(readIfThere(join(folder, checkpointNames.lines)) ?? '');
  const unsigned =
    wrong ?? wrongSignature(lines, readIfThere(join(folder, checkpointNames.publicKeys)) ?? '');
  if (unsigned !== undefined) return unsound({ place: 'checkpoint', what: unsigned });
  const due = new Map<string, Checkpoint>(
    lines.map((line) => [`${line.organisation} ${line.auditRows}`, line]),
  );
  const twice = lines.find((line) => due.get(`${line.organisation} ${line.auditRows}`)?.chain !== line.chain);
  if (twice)
    return unsound({ place: 'checkpoint', number: twice.number, at: twice.at, what: 'is of another record' });

  const record = openRecordFile(path);
  try {
    const walked = walkRecord(record.database, (organisation, auditRows, chain) => {
      const line = due.get(`${organisation} ${auditRows}`);
      if (line === undefined) return undefined;
      due.delete(`${organisation} ${auditRows}`);
      return line.chain === chain ? undefined : `is not the one that checkpoint ${line.number} was made of`;
    });
    if (isFault(walked)) return unsound(walked);
    const [missed] = [...due.values()].sort((one, other) => one.number - other.number);
    if (missed) {
      const rows = walked.find((one) => one.organisation === missed.organisation)?.auditRows ?? 0;
      return unsound({
        place: 'audit row',
        number: rows + 1,
        what: `is cut off, with all after it: checkpoint ${missed.number} of ${missed.at} counted ${missed.auditRows}`,
      });
    }
    const fits =
      manifest === undefined ||
      (manifest.checkpoints === lines.length &&
        manifest.schemaVersion === record.version &&
        JSON.stringify(manifest.organisations) === JSON.stringify(walked.map(countsOf)));
    if (!fits) return unsound({ place: 'backup', what: 'has other counts than its manifest says' });
    const newest = lines.at(-1);
    const auditRows = walked.reduce((sum, one) => sum + one.auditRows, 0);
    return {
      sound: true,
      schemaVersion: record.version,
      organisations: walked,
      checkpoints: lines.length,
      ...(newest === undefined ? {} : { newestCheckpointAt: newest.at }),
      rowsSinceCheckpoint: auditRows - (newest?.auditRows ?? 0),
      backup: isBackup,
    };
  } finally {
    record.close();
  }
}

/** What a manifest holds of an organisation. */
export const countsOf = ({ organisation, entries, auditRows, chain }: WalkedOrganisation) => ({
  organisation,
  entries,
  auditRows,
  chain,
});
