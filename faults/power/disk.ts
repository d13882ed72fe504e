/**
 * A disk that loses what it was not told to keep. Of the writes to a file since it was last asked to be on the disk, any
 * may be there, in part, or not at all; names (new files, renames, deletions) come in order, as far as they came, until
 * the folder or the file itself is on the disk.
 *
 * Source    file systems that keep a journal of names alone; a torn write ends at a sector of 512 bytes
 */
import type { RandomSource } from '@ebbline/core/quantity';
import type { Asked } from './recording.ts';

const sectorBytes = 512;

type Change = Extract<Asked, { what: 'write' | 'truncate' }>;
type Naming = Extract<Asked, { what: 'create' | 'rename' | 'unlink' }>;

interface Inode {
  durable: Buffer;
  pending: Change[];
}

const changed = (content: Buffer, change: Change, upTo = Number.POSITIVE_INFINITY): Buffer => {
  if (change.what === 'truncate') {
    if (change.length <= content.length) return content.subarray(0, change.length);
    return Buffer.concat([content, Buffer.alloc(change.length - content.length)]);
  }
  const bytes = change.bytes.subarray(0, upTo);
  const length = Math.max(content.length, change.offset + bytes.length);
  const next = Buffer.alloc(length);
  content.copy(next);
  bytes.copy(next, change.offset);
  return next;
};

export class LossyDisk {
  /** Names as programs see them now, and as they stand on the disk. */
  readonly #seen = new Map<string, Inode>();
  readonly #named = new Map<string, Inode>();
  #namings: { readonly naming: Naming; readonly inode: Inode }[] = [];
  readonly #folder: string;

  constructor(folder: string) {
    this.#folder = folder;
  }

  take(asked: Asked): void {
    switch (asked.what) {
      case 'create':
        this.#name(asked, { durable: Buffer.alloc(0), pending: [] });
        return;
      case 'rename':
      case 'unlink':
        this.#name(asked, this.#inode(asked.path));
        return;
      case 'write':
      case 'truncate':
        this.#inode(asked.path).pending.push(asked);
        return;
      case 'sync': {
        if (asked.path === this.#folder) return this.#settleNames();
        const inode = this.#inode(asked.path);
        for (const change of inode.pending) inode.durable = changed(inode.durable, change);
        inode.pending = [];
        return;
      }
      default:
    }
  }

  /** How much is not on the disk. */
  get unsettled(): number {
    let count = this.#namings.length;
    for (const { pending } of this.#seen.values()) count += pending.length;
    return count;
  }

  /** What could be found after the power went now. */
  afterCut(random: RandomSource): ReadonlyMap<string, Buffer> {
    const names = new Map(this.#named);
    const upTo = random.below(this.#namings.length + 1);
    for (const { naming, inode } of this.#namings.slice(0, upTo)) rename(names, naming, inode);
    const found = new Map<string, Buffer>();
    // Nothing, everything, or any part of it: the extremes are the likeliest on real disks.
    const share = random.pick([0, 1, 0.5, 0.9, 0.1]);
    for (const [path, { durable, pending }] of names) {
      let content = durable;
      for (const change of pending) {
        if (random.next() >= share) continue;
        const torn = change.what === 'write' && random.below(6) === 0;
        const sectors = torn ? random.below(1 + Math.ceil(change.bytes.length / sectorBytes)) : undefined;
        content = changed(content, change, sectors === undefined ? undefined : sectors * sectorBytes);
      }
      found.set(path, content);
    }
    return found;
  }

  #inode(path: string): Inode {
    const inode = this.#seen.get(path);
    if (!inode) throw new Error(`${path} was never made`);
    return inode;
  }

  #name(naming: Naming, inode: Inode): void {
    rename(this.#seen, naming, inode);
    this.#namings.push({ naming, inode });
  }

  #settleNames(): void {
    for (const { naming, inode } of this.#namings) rename(this.#named, naming, inode);
    this.#namings = [];
  }
}

function rename(names: Map<string, Inode>, naming: Naming, inode: Inode): void {
  if (naming.what === 'create') names.set(naming.path, inode);
  else names.delete(naming.path);
  if (naming.what === 'rename') names.set(naming.to, inode);
}
