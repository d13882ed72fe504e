/**
 * The audit is a chain: each row's `chain` is a SHA-256 over the chain before it and the row itself, so that a
 * row changed, dropped, swapped or put in breaks every row after it. Rows cut off at the very end leave a sound
 * chain: keep the newest `chain` somewhere else too.
 */
import { refuse, type Refusal } from '@ebbline/core/quantity';
import type { KeptEntry } from '@ebbline/core/record';
import { canonicalText } from './canonical.ts';
import { sha256Hex } from './sha256.ts';
import type { AuditDetail, AuditNote, AuditRow, EntryStore } from './port.ts';

export type Digest = (text: string) => string;

export const chainStart = '0'.repeat(64);

/**
 * What a link is the digest of: the link before it and one row, as one text. Nothing is left out for a value that is
 * not there, so that no two rows give one text.
 */
export function linkText(
  previous: string,
  sequence: number,
  at: string,
  actor: string,
  action: string,
  subject: string,
  patient: string | null,
  contentDigest: string | null,
  toldAt: string | null,
  noteId: string | null,
  detail: string | null,
): string {
  // Rows with none of the last three are linked as they were before there were any.
  return toldAt === null && noteId === null && detail === null
    ? JSON.stringify([previous, sequence, at, actor, action, subject, patient, contentDigest])
    : JSON.stringify([
        previous,
        sequence,
        at,
        actor,
        action,
        subject,
        patient,
        contentDigest,
        toldAt,
        noteId,
        detail,
      ]);
}

/** The link that a row adds to the chain. */
export const chainAfter = (
  previous: string,
  sequence: number,
  note: AuditNote,
  digest: Digest = sha256Hex,
): string =>
  digest(
    linkText(
      previous,
      sequence,
      note.at,
      note.actor,
      note.action,
      note.subject,
      note.patient ?? null,
      note.contentDigest ?? null,
      note.toldAt ?? null,
      note.noteId ?? null,
      detailText(note.detail),
    ),
  );

/** The text under which a note's detail is kept and chained. */
export const detailText = (detail: AuditDetail | undefined): string | null =>
  detail === undefined ? null : canonicalText(detail);

export interface Verified {
  readonly auditRows: number;
  readonly entries: number;
  /** The newest link; write it down elsewhere to notice rows cut off at the end. */
  readonly chain: string;
}

const broken = (found: string): Refusal =>
  refuse('store/chain-broken', {
    asked: 'Audit',
    found,
    allowed: 'a chain in which every row follows from the one before it, and one row for every entry',
    todo: 'Stop using this store and restore the last sound backup.',
  });

/** Walks the whole audit and every entry. Gives the counts, or the first place where they do not agree. */
export async function verifyStore(
  store: EntryStore,
  digest: Digest = sha256Hex,
): Promise<Verified | Refusal> {
  const page = 1000;
  const kept: AuditRow[] = [];
  let chain = chainStart;
  let auditRows = 0;
  for (let rows: readonly AuditRow[] = []; (rows = await store.auditAfter(auditRows, page)).length > 0;) {
    for (const row of rows) {
      auditRows += 1;
      if (row.sequence !== auditRows) return broken(`row ${auditRows} missing`);
      const expected = chainAfter(chain, row.sequence, row, digest);
      if (row.chain !== expected) return broken(`row ${auditRows} not following from the row before it`);
      chain = expected;
      if (row.action === 'kept') kept.push(row);
    }
  }
  let entries = 0;
  for (let rows: readonly KeptEntry[] = []; (rows = await store.after(entries, page)).length > 0;) {
    for (const { entry, receivedAt, sequence } of rows) {
      entries += 1;
      if (sequence !== entries) return broken(`entry ${entries} missing`);
      const row = kept[entries - 1];
      if (row?.subject !== entry.id || row.at !== receivedAt)
        return broken(`entry ${entries} not the one that was kept in this place`);
      if (row.contentDigest !== digest(canonicalText(entry)))
        return broken(`entry ${entries} other than when it was kept`);
    }
  }
  if (entries !== kept.length) return broken(`${kept.length} entries in the audit and ${entries} kept`);
  return { auditRows, entries, chain };
}
