/**
 * The tables, version by version. A released step is never changed: add the next one. The organisation stands in
 * every key, so that the same rows fit a database shared by several. What was sent moves to a table of its own, so
 * that an append touches few pages and the waiting ones are found at once.
 */
import type { DatabaseSync } from 'node:sqlite';
import { refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';
import { fillFollowing } from './following-rows.ts';

/** The tables of a step, and what fills them from what is there. */
interface Step {
  readonly tables: string;
  readonly fill?: (database: DatabaseSync) => void;
}

const steps: readonly Step[] = [
  {
    tables: `
  create table entry (
    organisation text not null,
    sequence integer not null,
    id text not null,
    patient text not null,
    kind text not null,
    received_at text not null,
    content text not null,
    primary key (organisation, sequence)
  ) strict, without rowid;
  create unique index entry_by_id on entry (organisation, id);
  create index entry_by_patient on entry (organisation, patient, sequence);
  create table audit (
    organisation text not null,
    sequence integer not null,
    at text not null,
    actor text not null,
    action text not null,
    subject text not null,
    patient text,
    content_digest text,
    chain text not null,
    primary key (organisation, sequence)
  ) strict, without rowid;
  create table outbox_waiting (
    organisation text not null,
    sequence integer not null,
    id text not null,
    queued_at text not null,
    primary key (organisation, sequence)
  ) strict, without rowid;
  create table outbox_sent (
    organisation text not null,
    sequence integer not null,
    id text not null,
    queued_at text not null,
    sent_at text not null,
    primary key (organisation, sequence)
  ) strict, without rowid;
  create table bookmark (
    organisation text not null,
    name text not null,
    value integer not null,
    primary key (organisation, name)
  ) strict, without rowid;
  `,
  },
  {
    tables: `
  alter table audit add column told_at text;
  alter table audit add column note_id text;
  alter table audit add column detail text;
  create unique index note_by_id on audit (organisation, note_id) where note_id is not null;
  create index note_by_patient on audit (organisation, patient, coalesce(told_at, at), sequence) where action <> 'kept';
  create index note_by_actor on audit (organisation, actor, coalesce(told_at, at), sequence) where action <> 'kept';
  `,
  },
  {
    tables: `
  create table reference (
    organisation text not null,
    target text not null,
    sequence integer not null,
    primary key (organisation, target, sequence)
  ) strict, without rowid;
  create table elsewhere (
    organisation text not null,
    patient text not null,
    sequence integer not null,
    primary key (organisation, patient, sequence)
  ) strict, without rowid;
  create table following (
    organisation text not null,
    patient text not null,
    ward text not null,
    watched integer not null,
    heard_ms integer not null,
    primary key (organisation, patient)
  ) strict, without rowid;
  create table follower (
    organisation text not null,
    follower text not null,
    patient text not null,
    since integer not null,
    until_ms integer,
    place integer not null,
    primary key (organisation, follower, patient)
  ) strict, without rowid;
  create index follower_of_patient on follower (organisation, patient);
  `,
    fill: fillFollowing,
  },
];

export const schemaVersion = steps.length;

/** The version of a file's tables; refuses a file that a newer release has written. */
export function checkVersion(database: DatabaseSync): number {
  const row = database.prepare('select coalesce(max(version), 0) as version from schema_version').get();
  const found = Number(row?.['version'] ?? 0);
  if (found > schemaVersion) throw new RefusalError(newerVersion(found));
  return found;
}

export const newerVersion = (found: number): Refusal =>
  refuse('store/newer-version', {
    asked: 'Store',
    found: `tables of version ${found}`,
    allowed: `tables up to version ${schemaVersion}`,
    todo: 'Start the release that wrote this folder, or a newer one.',
  });

/** Brings a file to this release's tables; refuses a file that a newer release has written. */
export function prepareSchema(database: DatabaseSync): void {
  database.exec('create table if not exists schema_version (version integer not null primary key) strict');
  const found = checkVersion(database);
  for (let version = found; version < schemaVersion; version += 1) {
    database.exec('begin immediate');
    try {
      const step = steps[version] as Step;
      database.exec(step.tables);
      step.fill?.(database);
      database.prepare('insert into schema_version (version) values (?)').run(version + 1);
      database.exec('commit');
    } catch (problem) {
      database.exec('rollback');
      throw problem;
    }
  }
}
