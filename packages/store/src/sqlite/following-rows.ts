/**
 * Who follows whom in the file: which entries name which, which reach into another patient's record, who follows each
 * patient since when. Written in the transaction of the append; a file of an earlier version is filled once.
 */
import type { DatabaseSync, SQLOutputValue } from 'node:sqlite';
import { followingKinds } from '@ebbline/core/facts';
import type { KeptEntry } from '@ebbline/core/record';
import { keptOf } from '../rows.ts';
import {
  isFollowed,
  needsRecord,
  nextFollowing,
  placedPage,
  targetOf,
  tiedAtOnce,
  tiedTo,
  touch,
  touchOf,
  type Touches,
} from '../following-plan.ts';
import type { KeptFollower, KeptFollowing, Reach, ReachedEntries } from '../port.ts';

type Row = Record<string, SQLOutputValue>;

export interface FollowingRows {
  /** After the entry itself was added, inside the append. */
  noteEntry(kept: KeptEntry, touches: Touches): void;
  /** At the end of an append. */
  settle(touches: Touches): void;
  followingOf(patient: string): KeptFollowing | undefined;
  recordFor(patient: string): readonly KeptEntry[];
  patientsInReach(reach: Reach): readonly string[];
  afterInReach(sequence: number, reach: Reach, limit: number): ReachedEntries;
}

const kindList = [...followingKinds].map((kind) => `'${kind}'`).join(', ');
const keyOf = ({ kind, id }: Pick<KeptFollower, 'kind' | 'id'>): string => `${kind} ${id}`;

export function followingRows(database: DatabaseSync, organisation: string): FollowingRows {
  // Without figures of its tables the database takes the organisation alone for narrow enough: the index is named.
  const columns = 'e.sequence, e.received_at, e.content';
  const own = (list: string): string =>
    `select ${list} from entry e indexed by entry_by_patient where e.organisation = :organisation and e.patient = :patient`;
  const others = (list: string): string =>
    `select ${list} from elsewhere x join entry e on e.organisation = x.organisation and e.sequence = x.sequence
     where x.organisation = :organisation and x.patient = :patient`;
  const record = database.prepare(`${own(columns)} union all ${others(columns)} order by 1`);
  const deciding = database.prepare(
    `${own(columns)} and e.kind in (${kindList}) union all ${others(columns)} and e.kind in (${kindList})`,
  );
  const byId = database.prepare(`select ${columns} from entry e where e.organisation = ? and e.id = ?`);
  const naming = database.prepare(
    `select ${columns} from reference r join entry e on e.organisation = r.organisation and e.sequence = r.sequence
     where r.organisation = ? and r.target = ?`,
  );
  const named = database.prepare('select 1 from reference where organisation = ? and target = ? limit 1');
  const addReference = database.prepare(
    'insert or ignore into reference (organisation, target, sequence) values (?, ?, ?)',
  );
  const addElsewhere = database.prepare(
    'insert or ignore into elsewhere (organisation, patient, sequence) values (?, ?, ?)',
  );
  const findFollowing = database.prepare('select * from following where organisation = ? and patient = ?');
  const findFollowers = database.prepare(
    'select * from follower indexed by follower_of_patient where organisation = ? and patient = ? order by place',
  );
  const writeFollowing = database.prepare(
    `insert into following (organisation, patient, ward, watched, heard_ms) values (?, ?, ?, ?, ?)
     on conflict (organisation, patient) do update set ward = excluded.ward, watched = excluded.watched, heard_ms = excluded.heard_ms`,
  );
  const dropFollowers = database.prepare(
    'delete from follower indexed by follower_of_patient where organisation = ? and patient = ?',
  );
  const addFollower = database.prepare(
    'insert into follower (organisation, follower, patient, since, until_ms, place) values (?, ?, ?, ?, ?, ?)',
  );
  const reached = `select f.patient as patient, min(f.since) as since
    from json_each(:keys) k
    cross join follower f on f.organisation = :organisation and f.follower = k.value ->> 0
    cross join following g on g.organisation = f.organisation and g.patient = f.patient
    where (f.until_ms is null or f.until_ms > :now) and (g.watched = 1 or g.heard_ms >= k.value ->> 1)
    group by f.patient`;
  const patients = database.prepare(`select patient from (${reached}) order by patient`);
  const from = 'case when r.since > :after then 0 else :after end';
  const left = database.prepare(
    `with r as materialized (${reached})
     select max(e.sequence, r.since) as position, e.sequence as sequence
     from r cross join entry e indexed by entry_by_patient on e.organisation = :organisation and e.patient = r.patient and e.sequence > ${from}
     union all
     select max(x.sequence, r.since), x.sequence
     from r cross join elsewhere x on x.organisation = :organisation and x.patient = r.patient and x.sequence > ${from}`,
  );
  const head = database.prepare(
    'select coalesce(max(sequence), 0) as sequence from entry where organisation = ?',
  );
  const bySequence = database.prepare(
    `select ${columns} from entry e where e.organisation = ? and e.sequence = ?`,
  );

  const followingOf = (patient: string): KeptFollowing | undefined => {
    const row = findFollowing.get(organisation, patient);
    if (row === undefined) return undefined;
    const followers = findFollowers.all(organisation, patient).map((one): KeptFollower => {
      const [kind = '', ...id] = (one['follower'] as string).split(' ');
      return {
        kind: kind as KeptFollower['kind'],
        id: id.join(' '),
        since: one['since'] as number,
        ...(one['until_ms'] === null ? {} : { untilMs: one['until_ms'] as number }),
      };
    });
    return {
      patient,
      ward: row['ward'] as string,
      watched: row['watched'] === 1,
      heardMs: row['heard_ms'] as number,
      followers,
    };
  };
  const keysOf = ({ wards, person, nowMs }: Reach) => ({
    organisation,
    now: nowMs,
    keys: JSON.stringify([
      ...wards.map(({ ward, heardSinceMs }) => [keyOf({ kind: 'ward', id: ward }), heardSinceMs]),
      ...(person === undefined ? [] : [[keyOf({ kind: 'person', id: person }), 0]]),
    ]),
  });

  return {
    noteEntry: (kept, touches) => {
      const { entry, sequence } = kept;
      if (!isFollowed(entry)) return;
      touch(touches, entry.patient, touchOf(entry, sequence, kept.receivedAt));
      const target = targetOf(entry);
      if (target !== undefined) addReference.run(organisation, target, sequence);
      else if (named.get(organisation, entry.id) === undefined) return;
      const { entries, patients: tied } = tiedAtOnce(tiedTo(kept), (lookup) =>
        ('byId' in lookup
          ? byId.all(organisation, lookup.byId)
          : naming.all(organisation, lookup.naming)
        ).map(keptOf),
      );
      if (tied.size === 1) return;
      for (const patient of tied) {
        let grown = false;
        for (const one of entries) {
          if (one.entry.patient === patient) continue;
          const { changes } = addElsewhere.run(organisation, patient, one.sequence);
          grown ||= changes === 1 && one.sequence !== sequence;
        }
        touch(touches, patient, { ...touchOf(entry, sequence, kept.receivedAt), settles: true, grown });
      }
    },
    settle: (touches) => {
      for (const [patient, one] of touches) {
        const before = followingOf(patient);
        const entries = needsRecord(before, one)
          ? deciding.all({ organisation, patient }).map((row) => keptOf(row).entry)
          : [];
        const next = nextFollowing(patient, before, one, entries);
        if (next === undefined) continue;
        writeFollowing.run(organisation, patient, next.ward, next.watched ? 1 : 0, next.heardMs);
        if (next.followers === before?.followers) continue;
        dropFollowers.run(organisation, patient);
        for (const [place, follower] of next.followers.entries())
          addFollower.run(
            organisation,
            keyOf(follower),
            patient,
            follower.since,
            follower.untilMs ?? null,
            place,
          );
      }
    },
    followingOf,
    recordFor: (patient) => record.all({ organisation, patient }).map(keptOf),
    patientsInReach: (reach) => patients.all(keysOf(reach)).map((row) => row['patient'] as string),
    afterInReach: (sequence, reach, limit) => {
      const newest = head.get(organisation)?.['sequence'] as number;
      const rows = left.all({ ...keysOf(reach), after: sequence }).map((row) => ({
        position: row['position'] as number,
        sequence: row['sequence'] as number,
      }));
      const page = placedPage(rows, limit, Math.max(newest, sequence));
      return {
        entries: page.rows.map((row) => keptOf(bySequence.get(organisation, row.sequence) as Row)),
        through: page.through,
      };
    },
  };
}

/** Fills a file whose entries were kept before these tables were there. */
export function fillFollowing(database: DatabaseSync): void {
  const organisations = database.prepare('select distinct organisation from entry').all();
  for (const row of organisations) {
    const organisation = row['organisation'] as string;
    const rows = followingRows(database, organisation);
    database
      .prepare(
        `insert or ignore into reference (organisation, target, sequence)
         select organisation, coalesce(content ->> '$.corrects', content ->> '$.payload.of'), sequence from entry
         where organisation = ? and (kind in ('withdrawn', 'moved-to-patient')
           or (instr(content, '"corrects"') > 0 and content ->> '$.corrects' is not null))`,
      )
      .run(organisation);
    const touches: Touches = new Map();
    const amending = database.prepare(
      `select e.sequence, e.received_at, e.content from reference r
       join entry e on e.organisation = r.organisation and e.sequence = r.sequence where r.organisation = ?`,
    );
    for (const one of amending.all(organisation)) rows.noteEntry(keptOf(one), touches);
    const newest = database.prepare(
      `select e.sequence, e.received_at, e.content
       from (select max(sequence) as sequence from entry where organisation = ? group by patient) n
       join entry e on e.organisation = ? and e.sequence = n.sequence`,
    );
    for (const one of newest.all(organisation, organisation)) {
      const { entry, sequence, receivedAt } = keptOf(one);
      if (!isFollowed(entry)) continue;
      touch(touches, entry.patient, { ...touchOf(entry, sequence, receivedAt), settles: true });
    }
    rows.settle(touches);
  }
}
