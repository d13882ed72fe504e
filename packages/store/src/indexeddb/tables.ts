/** The object stores of a tablet's record, and how their rows read. */
import type { DBSchema } from 'idb';
import type { Entry, KeptEntry } from '@ebbline/core/record';
import type { AuditRow, KeptFollowing, OutboxRow } from '../port.ts';

type Key = [organisation: string, sequence: number];
type PatientKey = [organisation: string, patient: string];

export interface EntryRow {
  organisation: string;
  sequence: number;
  id: string;
  patient: string;
  kind: string;
  receivedAt: string;
  content: string;
}

/** `happenedAt` stands in notes a second time: an index leaves out what has none, here the rows of entries. */
export type StoredAudit = AuditRow & { organisation: string; happenedAt?: string };

export interface Tables extends DBSchema {
  entry: {
    key: Key;
    value: EntryRow;
    indexes: { id: [string, string]; patient: [string, string, number]; kind: [string, string, string] };
  };
  audit: {
    key: Key;
    value: StoredAudit;
    indexes: {
      note: [string, string];
      patient: [string, string, string, number];
      actor: [string, string, string, number];
    };
  };
  outbox: {
    key: Key;
    value: OutboxRow & { organisation: string; waiting?: 1 };
    indexes: { waiting: [string, 1, number] };
  };
  bookmark: { key: [string, string]; value: { organisation: string; name: string; value: number } };
  /** Which entries name which: corrections, withdrawals, moves. */
  reference: {
    key: [string, string, number];
    value: { organisation: string; target: string; sequence: number };
  };
  /** Entries of other records that can change a patient's facts. */
  elsewhere: {
    key: [string, string, number];
    value: { organisation: string; patient: string; sequence: number };
  };
  following: {
    key: PatientKey;
    /** `keys` = one text for each follower, to find by. */
    value: KeptFollowing & { organisation: string; keys: string[] };
    indexes: { follower: string };
  };
}

export type Name = 'entry' | 'audit' | 'outbox' | 'bookmark' | 'reference' | 'elsewhere' | 'following';
export const tableNames: Name[] = [
  'entry',
  'audit',
  'outbox',
  'bookmark',
  'reference',
  'elsewhere',
  'following',
];

export const keptOf = (row: EntryRow): KeptEntry => ({
  entry: JSON.parse(row.content) as Entry,
  receivedAt: row.receivedAt,
  sequence: row.sequence,
});
