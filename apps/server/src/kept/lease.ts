/**
 * What one of several servers does for all: sending the unit's notice. Whoever holds the lease does it, and renews it
 * each time; when that server is gone, another takes it once it has run out. By the database's own clock.
 */
import type { PostgresDatabase } from '@ebbline/store/postgres';

export interface Lease {
  /** True when this process holds it now, for so long. */
  take(name: string, forMs: number): Promise<boolean>;
}

/** One server alone always holds it. */
export const ownLease: Lease = { take: async () => true };

export function createLease(database: PostgresDatabase, organisation: string, holder: string): Lease {
  return {
    take: async (name, forMs) =>
      (
        await database.inTransaction(
          (inside) =>
            inside.ask(
              `insert into {lease} as held (organisation, name, holder, until_ms)
               values ($1, $2, $3, (extract(epoch from clock_timestamp()) * 1000)::bigint + $4::bigint)
               on conflict (organisation, name) do update set holder = excluded.holder, until_ms = excluded.until_ms
               where held.holder = excluded.holder or held.until_ms < (extract(epoch from clock_timestamp()) * 1000)::bigint
               returning holder`,
              [organisation, name, holder, forMs],
            ),
          true,
        )
      ).length > 0,
  };
}
