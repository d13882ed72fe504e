/**
 * Rows of the database adapters as the port gives them: both name their columns alike.
 *
 * Not for   IndexedDB, which keeps objects
 */
import { hash } from 'node:crypto';
import type { Entry, KeptEntry } from '@ebbline/core/record';
import type { AuditAction, AuditDetail, AuditRow, OutboxRow } from './port.ts';

type Row = Readonly<Record<string, unknown>>;

/** SHA-256 in hex by the platform. */
export const nodeDigest = (text: string): string => hash('sha256', text);

export const keptOf = (row: Row): KeptEntry => ({
  entry: JSON.parse(row['content'] as string) as Entry,
  receivedAt: row['received_at'] as string,
  sequence: row['sequence'] as number,
});

export const auditOf = (row: Row): AuditRow => ({
  sequence: row['sequence'] as number,
  at: row['at'] as string,
  actor: row['actor'] as string,
  action: row['action'] as AuditAction,
  subject: row['subject'] as string,
  ...(row['patient'] === null ? {} : { patient: row['patient'] as string }),
  ...(row['content_digest'] === null ? {} : { contentDigest: row['content_digest'] as string }),
  ...(row['told_at'] === null ? {} : { toldAt: row['told_at'] as string }),
  ...(row['note_id'] === null ? {} : { noteId: row['note_id'] as string }),
  ...(row['detail'] === null ? {} : { detail: JSON.parse(row['detail'] as string) as AuditDetail }),
  chain: row['chain'] as string,
});

export const outboxOf = (row: Row): OutboxRow => ({
  sequence: row['sequence'] as number,
  id: row['id'] as string,
  queuedAt: row['queued_at'] as string,
  ...(typeof row['sent_at'] === 'string' ? { sentAt: row['sent_at'] } : {}),
});
