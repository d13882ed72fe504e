/**
 * A hospital's load on one PostgreSQL that keeps its promises at a power cut: several server processes, live screens that
 * each follow their ward, entries sent one by one. From the sending to the answer, and to the last screen of the ward;
 * every acknowledged entry must be kept once and seen once by each of those screens.
 *
 *     node bench/hospital.ts [--short] [--clients 2000] [--servers 3] [--rate 20] [--seconds 600] [--burst 100] [--burst-seconds 60]
 *
 * Peer      none: absolute times on this machine, which is told with its load
 * Aim       p99 at most 250 ms, no error, nothing lost (S-bench-hospital)
 */
import { fork, spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { Agent, request } from 'node:http';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { databaseSessions } from '../apps/server/src/accounts/database-sessions.ts';
import { verifyStore } from '../packages/store/src/index.ts';
import { openPostgres, openPostgresStore, postgresBooks } from '../packages/store/src/postgres/index.ts';
import { durablePostgres } from '../packages/store/src/postgres/testing/private-postgres.ts';
import { nodeDigest } from '../packages/store/src/sqlite/index.ts';
import { nurseOf, organisation, quantile, registered, unitOf, voided } from './hospital/unit.ts';

const { values } = parseArgs({
  options: {
    short: { type: 'boolean', default: false },
    clients: { type: 'string' },
    servers: { type: 'string', default: '3' },
    rate: { type: 'string', default: '20' },
    seconds: { type: 'string' },
    burst: { type: 'string', default: '100' },
    'burst-seconds': { type: 'string' },
  },
});
const number = (given: string | undefined, short: number, whole: number): number =>
  given === undefined ? (values.short ? short : whole) : Number(given);
const clients = number(values.clients, 200, 2_000);
const servers = Number(values.servers);
const phases = [
  { rate: Number(values.rate), seconds: number(values.seconds, 15, 600) },
  { rate: Number(values.burst), seconds: number(values['burst-seconds'], 5, 60) },
];
const perWard = 20;
const beds = 20;
const wards = Math.max(1, Math.ceil(clients / perWard));
const aimMs = 250;

const folder = mkdtempSync(join(tmpdir(), 'ebbline-hospital-'));
const children: ChildProcess[] = [];
const cluster = await durablePostgres(['max_connections=120']);
if ('missing' in cluster) {
  process.stderr.write(`${cluster.missing}\n`);
  process.exit(1);
}
try {
  const url = await cluster.newDatabase();
  const database = await openPostgres({ url });
  const books = postgresBooks(database, organisation);
  await books.book('directory.json').change(() => JSON.stringify(unitOf(wards, beds)));
  const store = await openPostgresStore({ database, organisation });
  for (let ward = 0; ward < wards; ward += 1)
    await store.append(
      Array.from({ length: beds }, (_, bed) => registered(ward, bed, Date.now())),
      { receivedAt: new Date().toISOString(), actor: 'bench' },
    );
  const sessions = databaseSessions(database, organisation, () => 3_600);
  const cookieOf = async (ward: number): Promise<string> =>
    `ebbline=${await sessions.open(nurseOf(ward), Date.now())}`;

  const main = fileURLToPath(new URL('../apps/server/src/main.ts', import.meta.url));
  const start = (index: number): Promise<string> =>
    new Promise((resolve, reject) => {
      const child = spawn(process.execPath, [main], {
        env: {
          PATH: process.env['PATH'],
          EBBLINE_DATA: join(folder, String(index)),
          EBBLINE_DATABASE: url,
          EBBLINE_ORGANISATION: organisation,
          EBBLINE_PORT: '0',
          EBBLINE_LOG: 'error',
          EBBLINE_DEMO: 'off',
        },
        stdio: ['ignore', 'pipe', 'ignore'],
      });
      children.push(child);
      child.stdout.on('data', (part: Buffer) => {
        const address = /ready at (http:\S+)/.exec(part.toString())?.[1];
        if (address !== undefined) resolve(address);
      });
      child.on('close', () => reject(new Error('a server ended')));
    });
  const addresses = await Promise.all(Array.from({ length: servers }, (_, index) => start(index)));

  const lines = await Promise.all(
    Array.from({ length: clients }, async (_, index) => ({
      url: addresses[index % servers] as string,
      cookie: await cookieOf(index % wards),
    })),
  );
  type Told = {
    readonly ready?: number;
    readonly failed?: string;
    readonly lost?: number;
    readonly seen?: readonly { readonly id: string; readonly count: number; readonly lastMs: number }[];
  };
  const watchers = [0, 1].map(() => fork(fileURLToPath(new URL('hospital/clients.ts', import.meta.url))));
  children.push(...watchers);
  const ask = (watcher: ChildProcess, message: object): Promise<Told> =>
    new Promise((resolve, reject) => {
      watcher.once('message', (told: Told) =>
        told.failed === undefined ? resolve(told) : reject(new Error(told.failed)),
      );
      watcher.send(message);
    });
  await Promise.all(
    watchers.map((watcher, half) => ask(watcher, { lines: lines.filter((_, index) => index % 2 === half) })),
  );

  const senders = await Promise.all(Array.from({ length: wards }, (_, ward) => cookieOf(ward)));
  const agent = new Agent({ keepAlive: true, maxSockets: 64 });
  const post = (address: string, cookie: string, body: string): Promise<number> =>
    new Promise((resolve) => {
      const sent = request(
        `${address}/api/entries`,
        { method: 'POST', agent, headers: { cookie, 'content-type': 'application/json' } },
        (answer) => {
          let text = '';
          answer.setEncoding('utf8').on('data', (part: string) => (text += part));
          answer.on('end', () =>
            resolve(
              answer.statusCode === 200 && !text.includes('"refusal"') ? 200 : (answer.statusCode ?? 0),
            ),
          );
        },
      );
      sent.on('error', () => resolve(0));
      sent.end(body);
    });

  interface Sent {
    readonly id: string;
    readonly ward: number;
    readonly sentMs: number;
    readonly answerMs: number;
    readonly status: number;
  }
  const reports: { rate: number; sent: readonly Sent[] }[] = [];
  let turn = 0;
  for (const { rate, seconds } of phases) {
    const waiting: Promise<Sent>[] = [];
    const begun = performance.now();
    for (let count = 0; count < rate * seconds; count += 1) {
      const due = begun + (count * 1_000) / rate;
      const waitMs = due - performance.now();
      if (waitMs > 0) await new Promise((resolve) => setTimeout(resolve, waitMs));
      turn += 1;
      const ward = turn % wards;
      const entry = voided(ward, turn % beds, Date.now());
      const sentMs = performance.timeOrigin + performance.now();
      waiting.push(
        post(
          addresses[turn % servers] as string,
          senders[ward] as string,
          JSON.stringify({ entries: [entry] }),
        ).then((status) => ({
          id: entry.id,
          ward,
          sentMs,
          status,
          answerMs: performance.timeOrigin + performance.now() - sentMs,
        })),
      );
    }
    reports.push({ rate, sent: await Promise.all(waiting) });
  }

  // Whatever is still on its way to a screen has this long.
  await new Promise((resolve) => setTimeout(resolve, 3_000));
  const told = await Promise.all(watchers.map((watcher) => ask(watcher, { counts: true })));
  const seen = new Map<string, { count: number; lastMs: number }>();
  for (const { seen: some = [] } of told)
    for (const { id, count, lastMs } of some) {
      const held = seen.get(id) ?? { count: 0, lastMs: 0 };
      seen.set(id, { count: held.count + count, lastMs: Math.max(held.lastMs, lastMs) });
    }
  const screensOf = (ward: number): number => Math.floor((clients - 1 - ward) / wards) + 1;

  let good = true;
  const load = loadavg()[0]?.toFixed(1) ?? '';
  process.stdout.write(
    `${servers} servers, ${clients} screens on ${wards} wards, ${availableParallelism()} cores, load ${load}\n`,
  );
  for (const { rate, sent } of reports) {
    const kept = sent.filter(({ status }) => status === 200);
    const answers = kept.map(({ answerMs }) => answerMs);
    const screens = kept.map(({ id, sentMs }) => (seen.get(id)?.lastMs ?? Number.POSITIVE_INFINITY) - sentMs);
    const wrong = kept.filter(({ id, ward }) => (seen.get(id)?.count ?? 0) !== screensOf(ward)).length;
    const errors = sent.length - kept.length;
    good &&=
      errors === 0 && wrong === 0 && quantile(screens, 0.99) <= aimMs && quantile(answers, 0.99) <= aimMs;
    process.stdout.write(
      `${rate}/s, ${sent.length} entries: to the answer p50 ${quantile(answers, 0.5).toFixed(0)} ms, p99 ${quantile(answers, 0.99).toFixed(0)} ms; to the last screen p50 ${quantile(screens, 0.5).toFixed(0)} ms, p99 ${quantile(screens, 0.99).toFixed(0)} ms (aim p99 ${aimMs}); ${errors} errors, ${wrong} entries not once on each screen of their ward\n`,
    );
  }
  const expected =
    wards * beds + reports.flatMap(({ sent }) => sent.filter(({ status }) => status === 200)).length;
  const verified = await verifyStore(store, nodeDigest);
  const whole = 'entries' in verified && verified.entries === expected;
  const ended = told.reduce((sum, { lost = 0 }) => sum + lost, 0);
  process.stdout.write(
    `kept ${'entries' in verified ? verified.entries : 'unsound'} of ${expected} acknowledged; ${ended} live lines ended\n`,
  );
  if (!good || !whole || ended > 0) process.exitCode = 1;
  agent.destroy();
  await store.close();
  await database.close();
} finally {
  for (const child of children) child.kill('SIGKILL');
  cluster.stop();
  rmSync(folder, { recursive: true, force: true });
}
