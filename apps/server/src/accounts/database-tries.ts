/** Wrong tries in a database: guessing at several servers counts together. */
import { controlIsOn, dayMs } from '@ebbline/core/quantity';
import type { PostgresDatabase } from '@ebbline/store/postgres';
import { firstWaitMs, freeTries, usualPace, type Tries } from './tries.ts';

/** Names that nobody has, tried once and left, are forgotten after so long (S-common-practice). */
const forgottenMs = dayMs;

/** @param kind what is tried: the same key may stand for several things */
export function databaseTries(database: PostgresDatabase, organisation: string, kind: string): Tries {
  // The wait of `waitAfterMs`, worked out where the count is, so that two tries at once are two.
  const add = (where: string): string => `
    insert into {try} as held (organisation, kind, key, count, until_ms) values ($1, $2, $3, 1, $4::bigint)
    on conflict (organisation, kind, key) do update set
      count = held.count + 1,
      until_ms = $4::bigint + case when held.count + 1 < $5::integer then 0
        else least($6::bigint, ${firstWaitMs} * power(2, least(held.count + 1 - $5::integer, 30)))::bigint end
    where ${where} returning count`;
  const { ask } = database;
  // Never again after a commit whose answer was lost: a try that counts twice is only slower, one that counts not at all
  // would be free.
  const write = (statement: string, values: readonly unknown[]) =>
    database.inTransaction((inside) => inside.ask(statement, values));
  const held = async (key: string) =>
    (
      await ask(
        'select count, until_ms from {try} where organisation = $1 and kind = $2 and key = $3',
        [organisation, kind, key],
        'try',
      )
    )[0] as { readonly count: number; readonly until_ms: number } | undefined;
  return {
    begin: async (key, nowMs, { free, longestMs } = usualPace) => {
      const where = controlIsOn('H12-tries') ? 'held.until_ms <= $4::bigint' : 'true';
      const added = await write(add(where), [organisation, kind, key, nowMs, free, longestMs]);
      if (added[0]?.['count'] === 1)
        await write(
          `delete from {try} where organisation = $1 and kind = $2 and until_ms < $3 and count < ${freeTries}`,
          [organisation, kind, nowMs - forgottenMs],
        );
      if (added.length > 0) return 0;
      return Math.max(1, ((await held(key))?.until_ms ?? 0) - nowMs);
    },
    beginOf: async (most, key, nowMs) =>
      (
        await write(add('held.count < $7::integer'), [
          organisation,
          kind,
          key,
          nowMs,
          usualPace.free,
          usualPace.longestMs,
          most,
        ])
      ).length > 0,
    right: async (key) => {
      await write('delete from {try} where organisation = $1 and kind = $2 and key = $3', [
        organisation,
        kind,
        key,
      ]);
    },
    count: async (key) => (await held(key))?.count ?? 0,
  };
}
