/**
 * The tables, version by version. A released step is never changed: add the next one. The organisation stands first in
 * every key and index, so that a database spread over several machines can be cut by it.
 *
 * Online    each step is a short transaction that waits at most `lockWaitMs` for a table, then lets others go first and
 *           tries again. A step only adds: servers of the release before it go on meanwhile. What takes long (an index
 *           over many rows, filling a new column) stands in `afterwards`: statements that run by themselves, outside a
 *           transaction, and may be run again
 */
import type pg from 'pg';
import { refuse, RefusalError, type Refusal } from '@ebbline/core/quantity';
import { isConflict } from './conflicts.ts';

export interface SchemaStep {
  readonly statements: readonly string[];
  readonly afterwards?: readonly string[];
}

/** Names of tables are written `{name}`, and become names in the schema that was chosen. */
export const schemaSteps: readonly SchemaStep[] = [
  {
    statements: [
      `create table {head} (
        organisation text not null primary key,
        entries bigint not null,
        audit_rows bigint not null,
        chain text not null
      )`,
      `create table {entry} (
        organisation text not null,
        sequence bigint not null,
        id text not null,
        patient text not null,
        kind text not null,
        received_at text not null,
        content text not null,
        primary key (organisation, sequence)
      )`,
      'create unique index entry_by_id on {entry} (organisation, id)',
      'create index entry_by_patient on {entry} (organisation, patient, sequence)',
      `create table {audit} (
        organisation text not null,
        sequence bigint not null,
        at text not null,
        actor text not null,
        action text not null,
        subject text not null,
        patient text,
        content_digest text,
        chain text not null,
        primary key (organisation, sequence)
      )`,
      `create table {outbox_waiting} (
        organisation text not null,
        sequence bigint not null,
        id text not null,
        queued_at text not null,
        primary key (organisation, sequence)
      )`,
      `create table {outbox_sent} (
        organisation text not null,
        sequence bigint not null,
        id text not null,
        queued_at text not null,
        sent_at text not null,
        primary key (organisation, sequence)
      )`,
      `create table {bookmark} (
        organisation text not null,
        name text not null,
        value bigint not null,
        primary key (organisation, name)
      )`,
    ],
  },
  {
    statements: [
      'alter table {audit} add column told_at text, add column note_id text, add column detail text',
    ],
    afterwards: [
      'create unique index concurrently if not exists note_by_id on {audit} (organisation, note_id) where note_id is not null',
      `create index concurrently if not exists note_by_patient on {audit} (organisation, patient, coalesce(told_at, at) collate "C", sequence) where action <> 'kept'`,
      `create index concurrently if not exists note_by_actor on {audit} (organisation, actor, coalesce(told_at, at) collate "C", sequence) where action <> 'kept'`,
    ],
  },
  // What the entries give, so that a ward's patients are found by an index: following-rows.ts fills it.
  {
    statements: [
      `create table {reference} (
        organisation text not null,
        target text not null,
        sequence bigint not null,
        primary key (organisation, target, sequence)
      )`,
      `create table {elsewhere} (
        organisation text not null,
        patient text not null,
        sequence bigint not null,
        primary key (organisation, patient, sequence)
      )`,
      `create table {following} (
        organisation text not null,
        patient text not null,
        ward text not null,
        watched boolean not null,
        heard_ms bigint not null,
        primary key (organisation, patient)
      )`,
      `create table {follower} (
        organisation text not null,
        follower text not null,
        patient text not null,
        since bigint not null,
        until_ms bigint,
        place integer not null,
        primary key (organisation, follower, patient)
      )`,
      'create index follower_of_patient on {follower} (organisation, patient)',
      `create table {followed} (
        organisation text not null primary key,
        sequence bigint not null
      )`,
    ],
  },
  {
    statements: [
      `create table {book} (
        organisation text not null,
        name text not null,
        content text,
        primary key (organisation, name)
      )`,
      `create table {session} (
        organisation text not null,
        digest text not null,
        person text not null,
        opened_ms bigint not null,
        used_ms bigint not null,
        locked boolean not null,
        read_noted boolean not null,
        primary key (organisation, digest)
      )`,
      `create table {try} (
        organisation text not null,
        kind text not null,
        key text not null,
        count integer not null,
        until_ms bigint not null,
        primary key (organisation, kind, key)
      )`,
      `create table {lease} (
        organisation text not null,
        name text not null,
        holder text not null,
        until_ms bigint not null,
        primary key (organisation, name)
      )`,
    ],
  },
];

/** S-common-practice */
const lockWaitMs = 2_000;
const mostTries = 30;

export const newerTables = (found: number, known: number): Refusal =>
  refuse('store/newer-version', {
    asked: 'Store',
    found: `tables of version ${found}`,
    allowed: `tables up to version ${known}`,
    todo: 'Start the release that wrote this database, or a newer one.',
  });

/** Puts the schema's name into a statement. */
export const inSchema = (schema: string, statement: string): string =>
  statement.replaceAll(/\{([a-z_]+)\}/g, `"${schema}".$1`);

/** The version of a database's tables; 0 when it has none. */
export async function tablesVersion(client: pg.ClientBase, schema: string): Promise<number> {
  const there = await client.query('select to_regclass($1) is not null as there', [
    `"${schema}".schema_version`,
  ]);
  if (there.rows[0]?.there !== true) return 0;
  const { rows } = await client.query(
    inSchema(schema, 'select coalesce(max(version), 0) as version from {schema_version}'),
  );
  return Number(rows[0]?.version);
}

/** One step, by whichever process comes first; true when there may be another. */
async function takeStep(
  client: pg.ClientBase,
  schema: string,
  steps: readonly SchemaStep[],
): Promise<boolean> {
  const sql = (statement: string): Promise<pg.QueryResult> => client.query(inSchema(schema, statement));
  let next: SchemaStep | undefined;
  let version = 0;
  await client.query('begin');
  try {
    await client.query(`set local lock_timeout = ${lockWaitMs}`);
    // Row 0 is there to be held: two processes that start at once take their turns.
    await sql('select 1 from {schema_version} where version = 0 for update');
    version = Number((await sql('select max(version) as version from {schema_version}')).rows[0]?.version);
    if (version > steps.length) throw new RefusalError(newerTables(version, steps.length));
    next = steps[version];
    if (next !== undefined) {
      for (const statement of next.statements) await sql(statement);
      await sql(
        `insert into {schema_version} (version, finished) values (${version + 1}, ${next.afterwards === undefined})`,
      );
    }
    await client.query('commit');
  } catch (problem) {
    await client.query('rollback').catch(() => undefined);
    throw problem;
  }
  return next !== undefined;
}

/** What takes long, of every step whose long part has not come to its end; a process that died in it left it so. */
async function finish(client: pg.ClientBase, schema: string, steps: readonly SchemaStep[]): Promise<void> {
  const { rows } = await client.query(
    inSchema(schema, 'select version from {schema_version} where not finished order by version'),
  );
  for (const { version } of rows as { version: number }[]) {
    for (const statement of steps[version - 1]?.afterwards ?? [])
      await client.query(inSchema(schema, statement));
    await client.query(
      inSchema(schema, `update {schema_version} set finished = true where version = ${version}`),
    );
  }
}

/**
 * Brings a database to this release's tables; refuses one that a newer release has written.
 *
 * @param steps tests give their own
 */
export async function prepareTables(
  client: pg.ClientBase,
  schema: string,
  steps: readonly SchemaStep[] = schemaSteps,
): Promise<void> {
  const found = await tablesVersion(client, schema);
  if (found > steps.length) throw new RefusalError(newerTables(found, steps.length));
  for (let tries = 1; ; tries += 1) {
    try {
      if (found === 0) {
        await client.query(`create schema if not exists "${schema}"`);
        await client.query(
          inSchema(
            schema,
            'create table if not exists {schema_version} (version integer not null primary key, finished boolean not null)',
          ),
        );
        await client.query(
          inSchema(schema, 'insert into {schema_version} values (0, true) on conflict do nothing'),
        );
      }
      while (await takeStep(client, schema, steps));
      await finish(client, schema, steps);
      return;
    } catch (problem) {
      if (!isConflict(problem) || tries >= mostTries) throw problem;
    }
  }
}
