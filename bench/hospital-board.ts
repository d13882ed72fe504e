/**
 * The board of one ward out of a whole hospital's record on PostgreSQL: who is in reach of the ward, and all entries of
 * theirs, as a screen that starts anew asks for them.
 *
 *     node bench/hospital-board.ts [--beds 8064] [--entries 5000000] [--rounds 200]
 *
 * Load      32 beds a ward, 20 entries for each patient who is there now; the others are of patients who have left.
 *           Written by the database itself in one statement, since nothing of it is measured
 * Aim       p50 at most 10 ms (S-bench-hospital)
 */
import { parseArgs } from 'node:util';
import { openPostgres, openPostgresStore } from '../packages/store/src/postgres/index.ts';
import { durablePostgres } from '../packages/store/src/postgres/testing/private-postgres.ts';
import { organisation, quantile, registered, voided, wardName } from './hospital/unit.ts';

const { values } = parseArgs({
  options: {
    beds: { type: 'string', default: '8064' },
    entries: { type: 'string', default: '5000000' },
    rounds: { type: 'string', default: '200' },
  },
});
const perWard = 32;
const entriesEach = 20;
const wards = Math.ceil(Number(values.beds) / perWard);
const cluster = await durablePostgres(['shared_buffers=512MB', 'max_wal_size=4GB']);
if ('missing' in cluster) {
  process.stderr.write(`${cluster.missing}\n`);
  process.exit(1);
}
try {
  const database = await openPostgres({ url: await cluster.newDatabase() });
  const store = await openPostgresStore({ database, organisation });
  const nowMs = Date.now();
  const context = { receivedAt: new Date(nowMs).toISOString(), actor: 'bench' };
  for (let ward = 0; ward < wards; ward += 1) {
    const entries = Array.from({ length: perWard }, (_, bed) => [
      registered(ward, bed, nowMs),
      ...Array.from({ length: entriesEach - 1 }, () => voided(ward, bed, nowMs)),
    ]);
    await store.append(entries.flat(), context);
  }
  const there = await store.head();
  const left = Math.max(0, Number(values.entries) - there);
  await database.inTransaction(async ({ ask }) => {
    await ask(
      `insert into {entry} (organisation, sequence, id, patient, kind, received_at, content)
       select organisation, $2::bigint + n, 'left-' || n, 'left-' || n / 48, kind, received_at, content
       from generate_series(1, $3::bigint) as n,
         (select organisation, kind, received_at, content from {entry} where organisation = $1 and kind = 'void' limit 1) as one`,
      [organisation, there, left],
    );
    await ask('update {head} set entries = entries + $2 where organisation = $1', [organisation, left]);
    await ask('update {followed} set sequence = sequence + $2 where organisation = $1', [organisation, left]);
  });
  await database.ask('analyze');
  const times: number[] = [];
  for (let round = 0; round < Number(values.rounds) + 5; round += 1) {
    const reach = { wards: [{ ward: wardName((round * 37) % wards), heardSinceMs: 0 }], nowMs };
    const begun = performance.now();
    const patients = await store.patientsInReach(reach);
    const { entries } = await store.afterInReach(0, reach, 2_000);
    const tookMs = performance.now() - begun;
    if (patients.length !== perWard || entries.length !== perWard * entriesEach)
      throw new Error(`the board has ${patients.length} patients and ${entries.length} entries`);
    // The first rounds warm it up.
    if (round >= 5) times.push(tookMs);
  }
  const middle = quantile(times, 0.5);
  process.stdout.write(
    `board of a ward of ${perWard} out of ${wards * perWard} beds and ${await store.head()} entries: p50 ${middle.toFixed(1)} ms, p99 ${quantile(times, 0.99).toFixed(1)} ms (aim p50 10)\n`,
  );
  if (middle > 10) process.exitCode = 1;
  await store.close();
  await database.close();
} finally {
  cluster.stop();
}
