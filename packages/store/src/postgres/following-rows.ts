/**
 * Who follows whom in PostgreSQL, written in the transaction of the append while the organisation's head is held.
 * `followed` says through which sequence that has been done: what a server of an earlier release has kept meanwhile, and
 * what was there before these tables, is caught up first.
 */
import { followingKinds } from '@ebbline/core/facts';
import type { KeptEntry } from '@ebbline/core/record';
import { keptOf } from '../rows.ts';
import {
  isFollowed,
  needsRecord,
  nextFollowing,
  placedPage,
  targetOf,
  tiedInTime,
  tiedTo,
  touch,
  touchOf,
  type Lookup,
  type Touches,
} from '../following-plan.ts';
import type { EntryStore, KeptFollower, KeptFollowing, Reach } from '../port.ts';
import type { Ask } from './database.ts';

const columns = 'e.sequence, e.received_at, e.content';
const kindList = [...followingKinds].map((kind) => `'${kind}'`).join(', ');
const record = (where: string): string =>
  `select ${columns} from {entry} e where e.organisation = $1 and e.patient = $2 ${where}
   union all select ${columns} from {elsewhere} x join {entry} e on e.organisation = x.organisation and e.sequence = x.sequence
   where x.organisation = $1 and x.patient = $2 ${where} order by 1`;
const reached = `select f.patient, min(f.since) as since
  from unnest($2::text[], $3::float8[]) as k (follower, heard_since_ms)
  join {follower} f on f.organisation = $1 and f.follower = k.follower
  join {following} g on g.organisation = f.organisation and g.patient = f.patient
  where (f.until_ms is null or f.until_ms > $4) and (g.watched or g.heard_ms >= k.heard_since_ms)
  group by f.patient`;
const sql = {
  record: record(''),
  deciding: record(`and e.kind in (${kindList})`),
  byId: `select ${columns} from {entry} e where e.organisation = $1 and e.id = $2`,
  naming: `select ${columns} from {reference} r join {entry} e on e.organisation = r.organisation and e.sequence = r.sequence
    where r.organisation = $1 and r.target = $2`,
  named: 'select distinct target from {reference} where organisation = $1 and target = any($2::text[])',
  addReferences: `insert into {reference} (organisation, target, sequence)
    select $1, * from unnest($2::text[], $3::bigint[]) on conflict do nothing`,
  addElsewhere: `insert into {elsewhere} (organisation, patient, sequence)
    select $1, $2, * from unnest($3::bigint[]) on conflict do nothing returning sequence`,
  following: 'select * from {following} where organisation = $1 and patient = any($2::text[])',
  followers: 'select * from {follower} where organisation = $1 and patient = any($2::text[]) order by place',
  putFollowing: `insert into {following} (organisation, patient, ward, watched, heard_ms)
    select $1, * from unnest($2::text[], $3::text[], $4::boolean[], $5::bigint[])
    on conflict (organisation, patient) do update set ward = excluded.ward, watched = excluded.watched, heard_ms = excluded.heard_ms`,
  dropFollowers: 'delete from {follower} where organisation = $1 and patient = any($2::text[])',
  addFollowers: `insert into {follower} (organisation, follower, patient, since, until_ms, place)
    select $1, * from unnest($2::text[], $3::text[], $4::bigint[], $5::bigint[], $6::integer[])`,
  through: 'select sequence from {followed} where organisation = $1',
  moveThrough: `insert into {followed} (organisation, sequence) values ($1, $2)
    on conflict (organisation) do update set sequence = excluded.sequence`,
  page: `select ${columns} from {entry} e where e.organisation = $1 and e.sequence > $2 order by e.sequence limit $3`,
  patients: `select patient from (${reached}) r order by patient collate "C"`,
  left: `with r as materialized (${reached})
    select greatest(e.sequence, r.since) as position, e.sequence from r
    join {entry} e on e.organisation = $1 and e.patient = r.patient and e.sequence > case when r.since > $5 then 0 else $5 end
    union all
    select greatest(x.sequence, r.since), x.sequence from r
    join {elsewhere} x on x.organisation = $1 and x.patient = r.patient and x.sequence > case when r.since > $5 then 0 else $5 end`,
  some: `select ${columns} from {entry} e where e.organisation = $1 and e.sequence = any($2::bigint[])`,
  head: 'select entries from {head} where organisation = $1',
} as const;

/** The version of the tables from which on these are there. */
export const followingVersion = 3;

const pageSize = 2_000;
const keyOf = ({ kind, id }: Pick<KeptFollower, 'kind' | 'id'>): string => `${kind} ${id}`;
async function followingsOf(
  ask: Ask,
  organisation: string,
  patients: readonly string[],
): Promise<ReadonlyMap<string, KeptFollowing>> {
  const rows = await ask(sql.following, [organisation, patients], 'following');
  const followers = Map.groupBy(
    rows.length === 0 ? [] : await ask(sql.followers, [organisation, patients], 'followers'),
    (row) => row['patient'] as string,
  );
  return new Map(
    rows.map((row) => {
      const patient = row['patient'] as string;
      const following: KeptFollowing = {
        patient,
        ward: row['ward'] as string,
        watched: row['watched'] as boolean,
        heardMs: row['heard_ms'] as number,
        followers: (followers.get(patient) ?? []).map((one): KeptFollower => {
          const [kind = '', ...id] = (one['follower'] as string).split(' ');
          return {
            kind: kind as KeptFollower['kind'],
            id: id.join(' '),
            since: one['since'] as number,
            ...(one['until_ms'] === null ? {} : { untilMs: one['until_ms'] as number }),
          };
        }),
      };
      return [patient, following];
    }),
  );
}

/** Entries that are in the table already: which records they reach, and whom they touch. */
async function noteEntries(
  ask: Ask,
  organisation: string,
  given: readonly KeptEntry[],
  touches: Touches,
): Promise<void> {
  const entries = given.filter(({ entry }) => isFollowed(entry));
  const naming = entries.filter(({ entry }) => targetOf(entry) !== undefined);
  if (naming.length > 0)
    await ask(sql.addReferences, [
      organisation,
      naming.map(({ entry }) => targetOf(entry)),
      naming.map(({ sequence }) => sequence),
    ]);
  const named = new Set(
    (await ask(sql.named, [organisation, entries.map(({ entry }) => entry.id)], 'named')).map(
      (row) => row['target'] as string,
    ),
  );
  const answer = async (lookup: Lookup): Promise<readonly KeptEntry[]> =>
    (
      await ('byId' in lookup
        ? ask(sql.byId, [organisation, lookup.byId], 'following-by-id')
        : ask(sql.naming, [organisation, lookup.naming], 'naming'))
    ).map(keptOf);
  for (const kept of entries) {
    const { entry, sequence, receivedAt } = kept;
    const own = touchOf(entry, sequence, receivedAt);
    touch(touches, entry.patient, own);
    if (targetOf(entry) === undefined && !named.has(entry.id)) continue;
    const { entries: tied, patients } = await tiedInTime(tiedTo(kept), answer);
    if (patients.size === 1) continue;
    for (const patient of patients) {
      const others = tied.filter((one) => one.entry.patient !== patient).map((one) => one.sequence);
      const added = await ask(sql.addElsewhere, [organisation, patient, others]);
      const grown = added.some((row) => row['sequence'] !== sequence);
      touch(touches, patient, { ...own, settles: true, grown });
    }
  }
}

async function settle(ask: Ask, organisation: string, touches: Touches): Promise<void> {
  if (touches.size === 0) return;
  const before = await followingsOf(ask, organisation, [...touches.keys()]);
  const next: KeptFollowing[] = [];
  for (const [patient, one] of touches) {
    const held = before.get(patient);
    const entries = needsRecord(held, one)
      ? (await ask(sql.deciding, [organisation, patient], 'deciding')).map((row) => keptOf(row).entry)
      : [];
    const following = nextFollowing(patient, held, one, entries);
    if (following !== undefined) next.push(following);
  }
  if (next.length === 0) return;
  await ask(
    sql.putFollowing,
    [
      organisation,
      next.map(({ patient }) => patient),
      next.map(({ ward }) => ward),
      next.map(({ watched }) => watched),
      next.map(({ heardMs }) => heardMs),
    ],
    'put-following',
  );
  const changed = next.filter(({ patient, followers }) => followers !== before.get(patient)?.followers);
  if (changed.length === 0) return;
  await ask(sql.dropFollowers, [organisation, changed.map(({ patient }) => patient)], 'drop-followers');
  const rows = changed.flatMap(({ patient, followers }) =>
    followers.map((follower, place) => ({ patient, follower, place })),
  );
  await ask(
    sql.addFollowers,
    [
      organisation,
      rows.map(({ follower }) => keyOf(follower)),
      rows.map(({ patient }) => patient),
      rows.map(({ follower }) => follower.since),
      rows.map(({ follower }) => follower.untilMs ?? null),
      rows.map(({ place }) => place),
    ],
    'add-followers',
  );
}

/**
 * Inside a transaction that holds the head, after its entries were added: does everything up to `headSequence`.
 *
 * @param fresh what this transaction has added, in order of sequence
 */
export async function followThrough(
  ask: Ask,
  organisation: string,
  headSequence: number,
  fresh: readonly KeptEntry[],
): Promise<void> {
  let through = ((await ask(sql.through, [organisation], 'through'))[0]?.['sequence'] as number) ?? 0;
  if (through === headSequence) return;
  const first = fresh[0]?.sequence ?? headSequence + 1;
  while (through < first - 1) {
    const page = (await ask(sql.page, [organisation, through, pageSize])).map(keptOf);
    const missed = page.filter(({ sequence }) => sequence < first);
    const touches: Touches = new Map();
    await noteEntries(ask, organisation, missed, touches);
    await settle(ask, organisation, touches);
    through = missed.at(-1)?.sequence ?? first - 1;
  }
  const touches: Touches = new Map();
  await noteEntries(ask, organisation, fresh, touches);
  await settle(ask, organisation, touches);
  await ask(sql.moveThrough, [organisation, headSequence], 'move-through');
}

/** What the port asks of it. */
export function followingReads(
  ask: Ask,
  organisation: string,
): Pick<EntryStore, 'recordFor' | 'followingOf' | 'patientsInReach' | 'afterInReach'> {
  const valuesOf = ({ wards, person, nowMs }: Reach): readonly unknown[] => [
    organisation,
    [
      ...wards.map(({ ward }) => keyOf({ kind: 'ward', id: ward })),
      ...(person === undefined ? [] : [keyOf({ kind: 'person', id: person })]),
    ],
    [...wards.map(({ heardSinceMs }) => heardSinceMs), ...(person === undefined ? [] : [0])],
    nowMs,
  ];
  return {
    recordFor: async (patient) => (await ask(sql.record, [organisation, patient], 'record')).map(keptOf),
    followingOf: async (patient) => (await followingsOf(ask, organisation, [patient])).get(patient),
    patientsInReach: async (reach) =>
      (await ask(sql.patients, valuesOf(reach), 'patients-in-reach')).map((row) => row['patient'] as string),
    afterInReach: async (sequence, reach, limit) => {
      const head = ((await ask(sql.head, [organisation], 'following-head'))[0]?.['entries'] as number) ?? 0;
      const last = Math.max(head, sequence);
      const left = (await ask(sql.left, [...valuesOf(reach), sequence], 'left')).map((row) => ({
        position: row['position'] as number,
        sequence: row['sequence'] as number,
      }));
      // Another process may have kept more since the head was read: that is of the next page, or it would come twice.
      const { rows, through } = placedPage(
        left.filter(({ position }) => position <= last),
        limit,
        last,
      );
      const found = new Map(
        (rows.length === 0
          ? []
          : await ask(sql.some, [organisation, rows.map((row) => row.sequence)], 'some-entries')
        ).map((row) => [row['sequence'] as number, keptOf(row)]),
      );
      return {
        entries: rows.map((row) => found.get(row.sequence)).filter((one) => one !== undefined),
        through,
      };
    },
  };
}
