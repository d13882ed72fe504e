/**
 * What was promised to people and machines, written down apart from the product: every entry that was answered
 * "saved" or "kept", word for word.
 */
import type { Entry } from '@ebbline/core/record';
import { canonicalText } from '@ebbline/store';

export interface Promised {
  readonly entry: Entry;
  readonly content: string;
  readonly by: string;
}

export interface Counts {
  lost: number;
  doubled: number;
  saved: number;
  kept: number;
  refused: number;
  notKept: number;
  serverKills: number;
  tabletKills: number;
  partitions: number;
  sleeps: number;
  signOuts: number;
  clockJumps: number;
  diskFaults: number;
  feedDeliveries: number;
  moves: number;
  corrections: number;
  withdrawals: number;
  handovers: number;
  transfers: number;
  ownerMinutes: number;
}

export const noCounts = (): Counts => ({
  lost: 0,
  doubled: 0,
  saved: 0,
  kept: 0,
  refused: 0,
  notKept: 0,
  serverKills: 0,
  tabletKills: 0,
  partitions: 0,
  sleeps: 0,
  signOuts: 0,
  clockJumps: 0,
  diskFaults: 0,
  feedDeliveries: 0,
  moves: 0,
  corrections: 0,
  withdrawals: 0,
  handovers: 0,
  transfers: 0,
  ownerMinutes: 0,
});

export class Ledger {
  readonly counts = noCounts();
  /** Written by somebody, whether or not anything was promised yet. */
  readonly written = new Map<string, Promised>();
  /** A tablet said "saved". */
  readonly saved = new Set<string>();
  /** The server said "kept". */
  readonly acknowledged = new Set<string>();

  wrote(entry: Entry, by: string): void {
    if (!this.written.has(entry.id)) this.written.set(entry.id, { entry, content: canonicalText(entry), by });
  }
}

/** A promise that was not held. */
export class Broken extends Error {}
