/** What a page of the audit asks for, as bounds that every adapter can put to its index. */
import type { AuditPage, AuditRow } from './port.ts';
import { happenedAt } from './port.ts';

/** Before and after every instant that is written in UTC. */
const first = '';
const afterAll = '9999';

export interface AuditBounds {
  /** Lowest text of the instant, taken. */
  readonly from: string;
  /** Highest text of the instant, taken only below the sequence. */
  readonly last: string;
  readonly below: number;
  readonly limit: number;
}

export function boundsOf({ from, until, olderThan, limit }: AuditPage): AuditBounds {
  const end = until ?? afterAll;
  const goesOn = olderThan !== undefined && olderThan.happenedAt < end;
  return {
    from: from ?? first,
    last: goesOn ? olderThan.happenedAt : end,
    // At the end itself nothing is taken: a period ends before its last instant.
    below: goesOn ? olderThan.sequence : 0,
    limit,
  };
}

/** For a store that holds its rows in memory. */
export function pageOf(rows: readonly AuditRow[], page: AuditPage): readonly AuditRow[] {
  const { from, last, below, limit } = boundsOf(page);
  return rows
    .filter((row) => {
      const at = happenedAt(row);
      return at >= from && (at < last || (at === last && row.sequence < below));
    })
    .sort((a, b) => {
      const [atA, atB] = [happenedAt(a), happenedAt(b)];
      return atA === atB ? b.sequence - a.sequence : atA < atB ? 1 : -1;
    })
    .slice(0, limit);
}
