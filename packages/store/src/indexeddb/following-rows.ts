/** Who follows whom in the browser, written in the transaction of the append: following-plan.ts says what. */
import type { IDBPDatabase, IDBPObjectStore, IDBPTransaction } from 'idb';
import type { KeptEntry } from '@ebbline/core/record';
import {
  isFollowed,
  isInReach,
  needsRecord,
  nextFollowing,
  placedPage,
  sinceInReach,
  targetOf,
  tiedInTime,
  tiedTo,
  touch,
  touchOf,
  type Lookup,
  type Touches,
} from '../following-plan.ts';
import type { EntryStore, KeptFollower, KeptFollowing, Reach } from '../port.ts';
import { keptOf, type Name, type Tables } from './tables.ts';

type Writing = Pick<IDBPTransaction<Tables, Name[], 'readwrite' | 'versionchange'>, 'objectStore'>;
type Reading = Pick<IDBPTransaction<Tables, Name[], IDBTransactionMode>, 'objectStore'>;

const last = Number.MAX_SAFE_INTEGER;
const keyOf = (organisation: string, { kind, id }: Pick<KeptFollower, 'kind' | 'id'>): string =>
  JSON.stringify([organisation, kind, id]);
const plain = ({ organisation: _organisation, keys: _keys, ...following }: Tables['following']['value']) =>
  following satisfies KeptFollowing;

async function recordFor(
  reading: Reading,
  organisation: string,
  patient: string,
): Promise<readonly KeptEntry[]> {
  const range = IDBKeyRange.bound([organisation, patient, 0], [organisation, patient, last]);
  const entries = reading.objectStore('entry');
  const rows = await entries.index('patient').getAll(range);
  for (const { sequence } of await reading.objectStore('elsewhere').getAll(range)) {
    const row = await entries.get([organisation, sequence]);
    if (row) rows.push(row);
  }
  return rows.map(keptOf).sort((a, b) => a.sequence - b.sequence);
}

export interface FollowingWrites {
  noteEntry(kept: KeptEntry): Promise<void>;
  settle(): Promise<void>;
}

/** For one append: `noteEntry` after each entry was added, `settle` at the end. */
export function followingWrites(organisation: string, transaction: Writing): FollowingWrites {
  const entries = transaction.objectStore('entry');
  const references = transaction.objectStore('reference');
  const elsewhere = transaction.objectStore('elsewhere');
  const following = transaction.objectStore('following');
  const touches: Touches = new Map();
  const naming = (id: string): IDBKeyRange =>
    IDBKeyRange.bound([organisation, id, 0], [organisation, id, last]);
  const answer = async (lookup: Lookup): Promise<readonly KeptEntry[]> => {
    if ('byId' in lookup) {
      const row = await entries.index('id').get([organisation, lookup.byId]);
      return row ? [keptOf(row)] : [];
    }
    const found: KeptEntry[] = [];
    for (const { sequence } of await references.getAll(naming(lookup.naming))) {
      const row = await entries.get([organisation, sequence]);
      if (row) found.push(keptOf(row));
    }
    return found;
  };
  return {
    noteEntry: async (kept) => {
      const { entry, sequence } = kept;
      if (!isFollowed(entry)) return;
      const own = touchOf(entry, sequence, kept.receivedAt);
      touch(touches, entry.patient, own);
      const target = targetOf(entry);
      if (target !== undefined) await references.put({ organisation, target, sequence });
      else if ((await references.count(naming(entry.id))) === 0) return;
      const { entries: tied, patients } = await tiedInTime(tiedTo(kept), answer);
      if (patients.size === 1) return;
      for (const patient of patients) {
        let grown = false;
        for (const one of tied) {
          if (one.entry.patient === patient) continue;
          if ((await elsewhere.count([organisation, patient, one.sequence])) > 0) continue;
          await elsewhere.add({ organisation, patient, sequence: one.sequence });
          grown ||= one.sequence !== sequence;
        }
        touch(touches, patient, { ...own, settles: true, grown });
      }
    },
    settle: async () => {
      for (const [patient, one] of touches) {
        const held = await following.get([organisation, patient]);
        const before = held && plain(held);
        const record = needsRecord(before, one) ? await recordFor(transaction, organisation, patient) : [];
        const next = nextFollowing(
          patient,
          before,
          one,
          record.map(({ entry }) => entry),
        );
        if (next === undefined) continue;
        await following.put({
          ...next,
          organisation,
          keys: next.followers.map((follower) => keyOf(organisation, follower)),
        });
      }
    },
  };
}

/** Fills a database whose entries were kept before these object stores were there. */
export async function fillFollowing(
  entries: IDBPObjectStore<Tables, Name[], 'entry', 'versionchange'>,
  writes: FollowingWrites,
): Promise<void> {
  for (const row of await entries.getAll()) await writes.noteEntry(keptOf(row));
  await writes.settle();
}

/** What the port asks of it. */
export function followingReads(
  organisation: string,
  database: IDBPDatabase<Tables>,
): Pick<EntryStore, 'recordFor' | 'followingOf' | 'patientsInReach' | 'afterInReach'> {
  const names: Name[] = ['entry', 'elsewhere', 'following'];
  const inReach = async (reading: Reading, reach: Reach): Promise<readonly KeptFollowing[]> => {
    const index = reading.objectStore('following').index('follower');
    const keys = [
      ...reach.wards.map(({ ward }) => keyOf(organisation, { kind: 'ward', id: ward })),
      ...(reach.person === undefined ? [] : [keyOf(organisation, { kind: 'person', id: reach.person })]),
    ];
    const found = new Map<string, KeptFollowing>();
    for (const key of keys)
      for (const row of await index.getAll(key))
        if (isInReach(row, reach)) found.set(row.patient, plain(row));
    return [...found.values()].sort((a, b) => (a.patient < b.patient ? -1 : 1));
  };
  return {
    recordFor: (patient) => recordFor(database.transaction(names), organisation, patient),
    followingOf: async (patient) => {
      const row = await database.get('following', [organisation, patient]);
      return row && plain(row);
    },
    patientsInReach: async (reach) =>
      (await inReach(database.transaction(names), reach)).map(({ patient }) => patient),
    afterInReach: async (sequence, reach, limit) => {
      const reading = database.transaction(names);
      const range = IDBKeyRange.bound([organisation, 0], [organisation, last]);
      const head = (await reading.objectStore('entry').openKeyCursor(range, 'prev'))?.primaryKey[1] ?? 0;
      const left: { position: number; sequence: number; kept: KeptEntry }[] = [];
      for (const one of await inReach(reading, reach)) {
        const since = sinceInReach(one, reach);
        const from = since > sequence ? 0 : sequence;
        for (const kept of await recordFor(reading, organisation, one.patient))
          if (kept.sequence > from)
            left.push({ position: Math.max(since, kept.sequence), sequence: kept.sequence, kept });
      }
      const { rows, through } = placedPage(left, limit, Math.max(head, sequence));
      return { entries: rows.map(({ kept }) => kept), through };
    },
  };
}
