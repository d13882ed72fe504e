/**
 * From settings to a listening server: opens the data folder, loads the demo when asked, starts the beats, and stops
 * cleanly. The one place of this room that reads the clock.
 *
 * Data      record.sqlite, checkpoints.ndjson and its keys, directory.json, accounts.json, sign-in-ways.json, protocols.json, sealing-key.json, held-entries.json, tokens/; the demo
 *           with a database all of it lies there, but for the private key of checkpoints; the demo keeps its own under demo/, begins anew at every start and is signed by nobody
 */
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { isRefusal, minuteMs, refusalSentence, refuse, RefusalError } from '@ebbline/core/quantity';
import { openSqliteStore, schemaVersion } from '@ebbline/store/sqlite';
import { fileBooks, readIfThere } from '@ebbline/store/books';
import { sharedAccounts } from './accounts/account-book.ts';
import { openTokens } from './accounts/tokens.ts';
import { buildServer } from './build-server.ts';
import { readConfig, type Config, type Given } from './config.ts';
import { demo, demoOrganisation, loadDemo, makeDemoWorld } from './demo.ts';
import { fixedDirectory } from './directory-book.ts';
import { openCheckpoints } from './keeping/checkpoints.ts';
import { openServerBooks } from './kept/books-of-server.ts';
import { openInDatabase } from './kept/in-database.ts';
import { ownLease } from './kept/lease.ts';
import { aliveEveryMs } from './live/live-board.ts';
import { checkpointCheck, diskCheck, schemaCheck } from './operations/checks.ts';
import { listenForMetrics } from './operations/metrics-listener.ts';
import { markAlive, noteOutage } from './operations/outage.ts';
import { finishRequests, stopPatience, within } from './operations/stopping.ts';
import { readTls } from './operations/tls.ts';
import { openFeed } from './wires/open-feed.ts';
import { openResults } from './wires/open-results.ts';
import { asideBookName } from './wires/results-aside.ts';
import { memoryProtocols } from './protocol-book.ts';
import { memoryHeld } from './sealing/held-book.ts';
import { memorySealingKey } from './sealing/sealing-key.ts';
import { siteOf } from './accounts/passkeys.ts';
import { memoryWays } from './accounts/ways-book.ts';

const noticeEveryMs = minuteMs;
const builtScreens = fileURLToPath(new URL('../../web/dist', import.meta.url));

/** Holds a folder for this process; a second server on the same folder is refused. */
function holdFolder(folder: string): () => void {
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
  } catch (problem) {
    const { code } = problem as NodeJS.ErrnoException;
    throw new RefusalError(
      refuse('server/not-a-folder', {
        asked: 'Data folder',
        found: `${code === 'EEXIST' || code === 'ENOTDIR' ? 'a file' : `no folder that can be made (${code ?? 'unknown'})`} at ${folder}`,
        allowed: 'a folder, or a path at which one can be made',
        todo: 'Choose another with --data.',
      }),
    );
  }
  const path = join(folder, 'serve.lock');
  const holder = Number(readIfThere(path) ?? Number.NaN);
  if (Number.isInteger(holder) && holder !== process.pid && isRunning(holder)) {
    throw new RefusalError(
      refuse('server/data-in-use', {
        asked: 'Data folder',
        found: `a server that uses it already (process ${holder})`,
        allowed: 'one server for a folder',
        todo: 'Stop that server, or choose another folder with --data. If it is no server, delete serve.lock.',
      }),
    );
  }
  writeFileSync(path, `${process.pid}\n`);
  return () => rmSync(path, { force: true });
}

function isRunning(id: number): boolean {
  try {
    process.kill(id, 0);
    return true;
  } catch (problem) {
    return (problem as NodeJS.ErrnoException).code === 'EPERM';
  }
}

export interface Running {
  readonly address: string;
  /** Where the figures for Prometheus are served, when they are. */
  readonly metricsPort: number | undefined;
  /** Where patient messages come in, when they do. */
  readonly feedPort: number | undefined;
  /** The administrator's first secret, when this start made one. */
  readonly firstSecret: string | undefined;
  close(): Promise<void>;
}

/** What one server alone has in memory. */
const alone = {
  database: undefined,
  sessions: undefined,
  secretTries: undefined,
  pinTries: undefined,
  wayTries: undefined,
  lease: ownLease,
  schemaVersion,
} as const;

async function openDemo(config: Config, nowMs: number, pastEpisodes: number | undefined) {
  const folder = join(config.dataFolder, 'demo');
  const letGo = holdFolder(folder);
  const path = join(folder, 'record.sqlite');
  for (const end of ['', '-wal', '-shm']) rmSync(`${path}${end}`, { force: true });
  rmSync(join(folder, asideBookName), { force: true });
  const world = makeDemoWorld(nowMs, pastEpisodes);
  const store = openSqliteStore({ path, organisation: demoOrganisation });
  await loadDemo(store, world);
  const people = world.directory.people.map(({ id }) => id);
  const accounts = await sharedAccounts(people, demo.secret, demo.pin);
  return {
    letGo,
    folder,
    store,
    directory: fixedDirectory(world.directory),
    accounts,
    protocols: await memoryProtocols(),
    books: fileBooks(folder),
    tokens: openTokens(fileBooks(folder)),
    sealing: await memorySealingKey(),
    ways: await memoryWays(),
    held: await memoryHeld(),
    firstSecret: undefined,
    checkpoints: undefined,
    ...alone,
  };
}

async function openOwn(config: Config, failed: (problem: unknown) => void) {
  const folder = config.dataFolder;
  const letGo = holdFolder(folder);
  try {
    const books = fileBooks(folder);
    const opened = await openServerBooks(books, failed);
    const store = openSqliteStore({
      path: join(folder, 'record.sqlite'),
      organisation: opened.directory.current().organisation,
    });
    const checkpoints = openCheckpoints(folder, store);
    return { ...opened, books, ...alone, letGo, folder, store, checkpoints };
  } catch (problem) {
    letGo();
    throw problem;
  }
}

/** Several processes may share the folder: it holds the private key of checkpoints alone. */
async function openShared(config: Config, url: string, failed: (problem: unknown) => void) {
  const folder = config.dataFolder;
  const { database, ...kept } = await openInDatabase(
    { url, organisation: config.organisation, folder },
    failed,
  );
  return { ...kept, database, schemaVersion: database.version, letGo: () => undefined, folder };
}

/** @param demoPast finished watches in the demo; tests ask for none */
export async function startServer(config: Config, asDemo: boolean, demoPast?: number): Promise<Running> {
  const tls = config.tls && readTls(config.tls);
  const timers: ReturnType<typeof setInterval>[] = [];
  let logged = (_what: string, _problem?: unknown): void => undefined;
  const unread = (problem: unknown): void => logged('what is kept elsewhere could not be had', problem);
  const opened = asDemo
    ? await openDemo(config, Date.now(), demoPast)
    : config.database === undefined
      ? await openOwn(config, unread)
      : await openShared(config, config.database, unread);
  const { store, letGo, folder, directory, accounts, protocols, sealing, ways, held, firstSecret } = opened;
  const { checkpoints, database, lease } = opened;
  try {
    const wire =
      config.feed &&
      openFeed({
        config: config.feed,
        folder: asDemo ? undefined : folder,
        store,
        directory,
        now: () => Date.now(),
        failed: (problem) => logged('patient messages not brought in', problem),
        fault: (what) => logged(`a line of the patient feed was ended: ${what}`),
      });
    const results =
      config.results &&
      (await openResults({
        config: config.results,
        books: opened.books,
        store,
        directory,
        now: () => Date.now(),
        failed: (problem) => logged('results not sent', problem),
      }));
    const level = config.log ?? (asDemo ? 'warn' : 'info');
    const server = await buildServer({
      store,
      directory,
      accounts,
      protocols,
      sealing,
      ways,
      ...(config.origin === undefined ? {} : { site: siteOf(config.origin) }),
      held,
      tokens: opened.tokens,
      ...(opened.sessions === undefined
        ? {}
        : {
            sessions: opened.sessions,
            secretTries: opened.secretTries,
            pinTries: opened.pinTries,
            wayTries: opened.wayTries,
          }),
      now: () => Date.now(),
      log: level === 'off' ? false : { level },
      webFolder: config.webFolder ?? builtScreens,
      secureCookie: config.secureCookie,
      checks: {
        disk: diskCheck(folder),
        schema: schemaCheck(opened.schemaVersion),
        ...(checkpoints === undefined ? {} : { checkpoint: checkpointCheck(checkpoints, store) }),
      },
      metrics: config.metrics !== undefined,
      ...(tls === undefined ? {} : { tls }),
      ...(config.trustedProxies === undefined ? {} : { trustedProxies: config.trustedProxies }),
      ...(config.downtime === undefined ? {} : { downtime: config.downtime }),
      listPeople: config.listPeople,
      ...(wire === undefined ? {} : { feed: wire.feed }),
      ...(results === undefined ? {} : { results: results.feed }),
      ...(asDemo ? { demo } : {}),
      ...(config.noticeUrl === undefined ? {} : { noticeUrl: config.noticeUrl }),
    });
    if (database?.durable === false)
      server.log.error(
        'the database does not wait for its disk (fsync or full_page_writes is off): a power cut may lose entries',
      );
    for (const one of protocols.unread()) server.log.warn(one, 'protocol version not read');
    logged = (what, problem) =>
      problem === undefined ? server.log.warn(what) : server.log.error({ err: problem }, what);
    const failed = (what: string) => (problem: unknown) => server.log.error({ err: problem }, what);
    const sign = (): void => void checkpoints?.tick(Date.now()).catch(failed('checkpoint not signed'));
    if (checkpoints && !(await checkpoints.stillHeld()))
      server.log.error('the record does not reach its newest checkpoint: run `ebbline verify`');
    sign();
    await noteOutage(store, Date.now());
    const alive = (): void => void markAlive(store, Date.now()).catch(failed('mark not left'));
    const { downtime, metrics } = server.ebbline;
    // Of several servers one sends the notice; when it is gone, another does a round later.
    const notice = async (): Promise<void> => {
      if (await lease.take('notice', 1.5 * noticeEveryMs)) await server.ebbline.noticeTick(Date.now());
    };
    const print = (): void => void downtime?.tick(Date.now()).catch(failed('prints failed'));
    timers.push(
      setInterval(sign, minuteMs),
      setInterval(print, minuteMs),
      setInterval(alive, minuteMs),
      setInterval(() => void server.ebbline.live.beat(Date.now()).catch(failed('beat failed')), aliveEveryMs),
      setInterval(() => void notice().catch(failed('notice round failed')), noticeEveryMs),
    );
    const address = await server.listen({ host: config.host, port: config.port });
    const door = await wire?.listen();
    results?.start();
    const figures = metrics && config.metrics && (await listenForMetrics(metrics, config.metrics));
    print();
    return {
      address,
      metricsPort: figures?.port,
      feedPort: door?.port,
      firstSecret,
      close: async () => {
        for (const timer of timers) clearInterval(timer);
        await wire?.close();
        await finishRequests(server);
        results?.close();
        if (downtime && !(await within(downtime.now(Date.now()), stopPatience.printsMs)))
          server.log.error('the last prints were not finished at the stop');
        await downtime?.close();
        await figures?.close();
        await checkpoints?.now(Date.now()).catch(failed('checkpoint not signed'));
        await markAlive(store, Date.now()).catch(failed('mark not left'));
        await store.close();
        letGo();
      },
    };
  } catch (problem) {
    // A start that failed leaves nothing behind that keeps the process alive.
    for (const timer of timers) clearInterval(timer);
    await store.close();
    letGo();
    throw problem;
  }
}

/** Runs until told to stop; for commands. Gives an exit code when it did not start. */
export async function runServer(given: Given, demoAsked: boolean | undefined): Promise<number | undefined> {
  const config = readConfig(process.env, given);
  if (isRefusal(config)) {
    process.stderr.write(`${refusalSentence(config)}\n`);
    return 2;
  }
  let running: Running;
  try {
    running = await startServer(config, demoAsked ?? config.demo ?? false);
  } catch (problem) {
    if (problem instanceof RefusalError) {
      process.stderr.write(`${problem.message}\n`);
      return 3;
    }
    const { code, message } = problem as NodeJS.ErrnoException;
    process.stderr.write(
      code === 'EADDRINUSE'
        ? `Server not started: port ${config.port} is taken; a free port is needed. Choose another with --port. [server/port-taken]\n`
        : `Server not started: ${message} [server/failed]\n`,
    );
    return 1;
  }
  if (running.firstSecret !== undefined) {
    process.stderr.write(
      `First start: sign in as "administrator" with the secret ${running.firstSecret} and set your own. It is shown this once.\n`,
    );
  }
  process.stdout.write(`Ebbline is ready at ${running.address}\n`);
  const stop = (): void => {
    const late = setTimeout(() => process.exit(1), stopPatience.wholeMs);
    late.unref();
    running.close().then(
      () => process.exit(0),
      () => process.exit(1),
    );
  };
  process.once('SIGTERM', stop);
  process.once('SIGINT', stop);
  return undefined;
}
