/**
 * Signed checkpoints beside the record: at an instant the audit was so long and its newest link was this. They find what
 * the chain by itself can't: rows cut off its end, and a chain worked out anew. One JSON line each, only ever added to,
 * on the disk before it counts.
 *
 * Files     checkpoints.ndjson; checkpoint-key.pem (private, mode 600, never in a backup); checkpoint-keys.pem (public
 *           halves, one after the other: a restored folder gets a new key, and old lines stay checkable)
 * Not for   somebody who can read the folder and write to it: they hold the key too. Keep a backup elsewhere, and compare
 *           the newest checkpoint with it
 * Source    Ed25519 by the platform: S-server-ed25519
 */
import { createPrivateKey, createPublicKey, generateKeyPairSync, hash, sign, verify } from 'node:crypto';
import type { KeyObject } from 'node:crypto';
import { closeSync, fsyncSync, ftruncateSync, openSync, readFileSync, renameSync, writeSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { hourMs, instantOfMs } from '@ebbline/core/quantity';
import { canonicalText, type EntryStore } from '@ebbline/store';
import { z } from 'zod';
import { readIfThere } from '@ebbline/store/books';
import { syncFolder } from './disk.ts';

export const checkpointNames = {
  lines: 'checkpoints.ndjson',
  privateKey: 'checkpoint-key.pem',
  publicKeys: 'checkpoint-keys.pem',
} as const;

const digest = z.string().regex(/^[0-9a-f]{64}$/);
const shape = z.strictObject({
  format: z.literal('ebbline-checkpoint-1'),
  /** From 1 without a gap, so that one taken out of the middle is missed. */
  number: z.number().int().min(1),
  organisation: z.string(),
  auditRows: z.number().int().min(1),
  chain: digest,
  at: z.string(),
  /** SHA-256 of the public key's SPKI bytes. */
  key: digest,
  signature: z.string(),
});
export type Checkpoint = z.infer<typeof shape>;

/** Everything but the signature; a member that is undefined has no place in the text. */
const signedBytes = (line: Checkpoint): Buffer =>
  Buffer.from(canonicalText({ ...line, signature: undefined }));
const nameOfKey = (key: KeyObject): string => {
  const half = key.type === 'private' ? createPublicKey(key) : key;
  return hash('sha256', half.export({ type: 'spki', format: 'der' }));
};

/** A key is there whole or not at all: half of one would stop every checkpoint after a power cut. */
function writeWhole(path: string, text: string, mode: number): void {
  const beside = `${path}.new`;
  const file = openSync(beside, 'w', mode);
  try {
    writeSync(file, text);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
  renameSync(beside, path);
  syncFolder(dirname(path));
}

/** The folder's own key; made when there is none. */
export function privateKeyIn(folder: string): KeyObject {
  const path = join(folder, checkpointNames.privateKey);
  const text = readIfThere(path);
  if (text !== undefined) return createPrivateKey(text);
  const key = generateKeyPairSync('ed25519').privateKey;
  writeWhole(path, key.export({ type: 'pkcs8', format: 'pem' }) as string, 0o600);
  return key;
}

export const publicHalf = (key: KeyObject): string =>
  createPublicKey(key).export({ type: 'spki', format: 'pem' }) as string;

/** The same, and its public half where it belongs. */
function openKey(folder: string): KeyObject {
  const key = privateKeyIn(folder);
  const half = publicHalf(key);
  const publicPath = join(folder, checkpointNames.publicKeys);
  if (!(readIfThere(publicPath) ?? '').includes(half)) appendOnDisk(publicPath, half);
  return key;
}

/** Adds a text at the end of a file, on the disk when it returns; half a line that a killed process left goes first. */
function appendOnDisk(path: string, text: string): void {
  const file = openSync(path, 'a+', 0o600);
  try {
    const before = readFileSync(file);
    const whole = before.lastIndexOf('\n') + 1;
    if (whole < before.length) ftruncateSync(file, whole);
    writeSync(file, text);
    fsyncSync(file);
    // A new file's name has to be on the disk too.
    if (before.length === 0) syncFolder(dirname(path));
  } finally {
    closeSync(file);
  }
}

/** The lines that stand whole, and what is wrong with the first that does not. */
export function readCheckpoints(text: string): {
  readonly lines: readonly Checkpoint[];
  readonly wrong?: string;
} {
  const lines: Checkpoint[] = [];
  const texts = text.split('\n');
  // What follows the last end of line is empty, or what a killed process did not finish.
  for (const one of texts.slice(0, -1)) {
    let read: unknown;
    try {
      read = JSON.parse(one);
    } catch {
      read = undefined;
    }
    const checked = shape.safeParse(read);
    if (!checked.success) return { lines, wrong: `checkpoint ${lines.length + 1} does not read` };
    if (checked.data.number !== lines.length + 1)
      return { lines, wrong: `checkpoint ${lines.length + 1} is missing` };
    lines.push(checked.data);
  }
  return { lines };
}

/** Which line is not signed by one of the keys; nothing when all are. */
export function wrongSignature(lines: readonly Checkpoint[], publicKeys: string): string | undefined {
  const keys = new Map<string, KeyObject>();
  for (const [pem] of publicKeys.matchAll(/-----BEGIN PUBLIC KEY-----[^-]+-----END PUBLIC KEY-----/g)) {
    try {
      const key = createPublicKey(pem);
      keys.set(nameOfKey(key), key);
    } catch {
      return `${checkpointNames.publicKeys} does not read`;
    }
  }
  for (const line of lines) {
    const key = keys.get(line.key);
    if (key === undefined)
      return `the key of checkpoint ${line.number} is not in ${checkpointNames.publicKeys}`;
    if (!verify(null, signedBytes(line), key, Buffer.from(line.signature, 'base64')))
      return `the signature of checkpoint ${line.number} is not good`;
  }
  return undefined;
}

export interface Checkpoints {
  /** Adds one when an hour has begun since the newest, or there is none yet; and only if the audit has grown. */
  tick(nowMs: number): Promise<void>;
  /** Adds one whatever the hour; at a stop. */
  now(nowMs: number): Promise<void>;
  /** The newest that was added here or before; undefined for none. */
  newest(): { readonly number: number; readonly auditRows: number; readonly atMs: number } | undefined;
  /** False when the store does not hold the newest checkpoint: its end was cut off, or it is an older copy. */
  stillHeld(): Promise<boolean>;
}

/** The line after `before`. */
export function signedLine(of: {
  readonly before: Checkpoint | undefined;
  readonly organisation: string;
  readonly auditRows: number;
  readonly chain: string;
  readonly nowMs: number;
  readonly key: KeyObject;
}): Checkpoint {
  const { before, organisation, auditRows, chain, nowMs, key } = of;
  const unsigned: Checkpoint = {
    format: 'ebbline-checkpoint-1',
    number: (before?.number ?? 0) + 1,
    organisation,
    auditRows,
    chain,
    at: instantOfMs(nowMs),
    key: nameOfKey(key),
    signature: '',
  };
  return { ...unsigned, signature: sign(null, signedBytes(unsigned), key).toString('base64') };
}

export function openCheckpoints(folder: string, store: EntryStore): Checkpoints {
  const path = join(folder, checkpointNames.lines);
  let newest = readCheckpoints(readIfThere(path) ?? '').lines.at(-1);
  let key: KeyObject | undefined;
  const write = async (nowMs: number): Promise<void> => {
    const { auditRows, chain } = await store.auditHead();
    if (auditRows === 0 || (newest?.auditRows === auditRows && newest.chain === chain)) return;
    key ??= openKey(folder);
    const line = signedLine({
      before: newest,
      organisation: store.organisation,
      auditRows,
      chain,
      nowMs,
      key,
    });
    appendOnDisk(path, `${JSON.stringify(line)}\n`);
    newest = line;
  };
  return {
    tick: async (nowMs) => {
      const hour = Math.floor(nowMs / hourMs);
      if (newest === undefined || Math.floor(Date.parse(newest.at) / hourMs) !== hour) await write(nowMs);
    },
    now: write,
    newest: () =>
      newest && { number: newest.number, auditRows: newest.auditRows, atMs: Date.parse(newest.at) },
    stillHeld: async () => {
      if (newest === undefined) return true;
      const [row] = await store.auditAfter(newest.auditRows - 1, 1);
      return row?.sequence === newest.auditRows && row.chain === newest.chain;
    },
  };
}
