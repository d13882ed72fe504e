/**
 * One made-up stretch of a hospital's life, from one number: tablets, server, interface, people, and whatever fails.
 * Each number draws which faults there are at all, so that some histories have one fault often and others many.
 */
import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { hourMs, instantOfMs, minuteMs, seededRandom, type RandomSource } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';
import { openMemoryStore } from '@ebbline/store/memory';
import { nodeDigest, openSqliteStore } from '@ebbline/store/sqlite';
import { behind, checkFacts, checkLocal, checkOwners, checkPlaces, checkRecord } from './checks.ts';
import { Feed, type Message } from './feed.ts';
import { Broken, Ledger, type Counts } from './ledger.ts';
import { draftsOf } from './people.ts';
import { ServerSide } from './server-side.ts';
import { TabletSide } from './tablet-side.ts';
import { Timeline } from './timeline.ts';
import { organisation, people, startMs } from './unit.ts';
import { fairWeather, type Weather } from './wire.ts';

/** All screens show the same so soon after the last fault. */
export const equalWithinMs = 2 * minuteMs;

export interface Told {
  readonly counts: Counts;
  readonly entries: number;
  readonly happened: number;
  /** From the end of the faults until every tablet held the same. */
  readonly equalAfterMs: number;
}

interface Plan {
  readonly tablets: number;
  readonly lengthMs: number;
  readonly pauseBetweenActsMs: number;
  readonly weather: Weather;
  readonly gapsMs: Readonly<Record<Mishap, number>>;
  readonly diskFaultShare: number;
  readonly slowestDiskMs: number;
  readonly feed: boolean;
  readonly sqlite: boolean;
  readonly deep: boolean;
}

const mishaps = [
  'server-killed',
  'tablet-killed',
  'partition',
  'asleep',
  'signed-out',
  'clock',
  'switched',
] as const;
type Mishap = (typeof mishaps)[number];

function planOf(seed: number, random: RandomSource): Plan {
  const some = (share: number): boolean => random.next() < share;
  const gap = (): number => (some(0.4) ? 8000 + random.below(40_000) : Number.POSITIVE_INFINITY);
  const long = seed % 100 === 7;
  return {
    tablets: some(0.7) ? 2 : 3,
    lengthMs: long
      ? 10 * minuteMs
      : some(0.8)
        ? 15_000 + random.below(40_000)
        : 50_000 + random.below(100_000),
    pauseBetweenActsMs: 2000 + random.below(7000),
    weather: {
      cut: false,
      lossShare: some(0.5) ? random.next() * 0.25 : 0,
      doubleShare: some(0.5) ? random.next() * 0.4 : 0,
      shortestMs: 1,
      longestMs: some(0.5) ? 60 : 6000,
    },
    gapsMs: Object.fromEntries(mishaps.map((one) => [one, gap()])) as Record<Mishap, number>,
    diskFaultShare: some(0.3) ? random.pick([0.03, 0.15]) : 0,
    slowestDiskMs: some(0.5) ? 5 : 900,
    feed: some(0.6),
    sqlite: seed % 200 === 50,
    deep: seed % 10 === 0,
  };
}

/** A record on a disk that outlives the server's programs. */
interface Disk {
  store: EntryStore;
  /** What a program that starts now finds: what the last one had committed, the rest of its files left as they lay. */
  restart(): Promise<void>;
  close(): Promise<void>;
}

function memoryDisk(): Disk {
  const store = openMemoryStore({ organisation, digest: nodeDigest });
  return { store, restart: async () => {}, close: async () => {} };
}

function sqliteDisk(): Disk {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-simulation-'));
  let run = 0;
  const path = (): string => join(folder, `${run}.sqlite`);
  const disk: Disk = {
    store: openSqliteStore({ path: path(), organisation }),
    restart: async () => {
      const before = path();
      const left = disk.store;
      run += 1;
      for (const end of ['', '-wal']) if (existsSync(before + end)) copyFileSync(before + end, path() + end);
      disk.store = openSqliteStore({ path: path(), organisation });
      await left.close();
    },
    close: async () => {
      await disk.store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
  return disk;
}

class History {
  readonly random: RandomSource;
  readonly timeline = new Timeline(startMs);
  readonly ledger = new Ledger();
  readonly plan: Plan;
  readonly tablets: TabletSide[] = [];
  readonly feed: Feed;
  readonly disk: Disk;
  readonly serverClock = { offsetMs: 0 };
  readonly say: ((line: string) => void) | undefined;
  server: ServerSide | undefined;
  over = false;

  constructor(seed: number, say: ((line: string) => void) | undefined) {
    this.random = seededRandom(seed);
    this.say = say;
    this.plan = planOf(seed, this.random);
    this.disk = this.plan.sqlite ? sqliteDisk() : memoryDisk();
    this.startServer();
    const world = {
      timeline: this.timeline,
      random: this.random,
      ledger: this.ledger,
      server: () => this.server,
      diskFaultShare: this.diskFaultShare,
      slowestDiskMs: this.slowestDiskMs,
      tell: this.tell,
      signedOut: (tablet: TabletSide) => this.signIn(tablet),
    };
    for (let index = 0; index < this.plan.tablets; index += 1)
      this.tablets.push(
        new TabletSide(`tablet-${index + 1}`, people[index] as (typeof people)[number], world),
      );
    this.feed = new Feed(world);
  }

  readonly slowestDiskMs = (): number =>
    this.over ? Math.min(80, this.plan.slowestDiskMs) : this.plan.slowestDiskMs;

  readonly diskFaultShare = (): number => (this.over ? 0 : this.plan.diskFaultShare);

  readonly tell = (who: string, what: string): void => {
    this.say?.(`${instantOfMs(this.timeline.nowMs).slice(11, 19)} ${who} ${what}`);
  };

  startServer(): void {
    this.server = new ServerSide({
      timeline: this.timeline,
      random: this.random,
      disk: this.disk.store,
      ledger: this.ledger,
      clock: this.serverClock,
      slowestDiskMs: this.slowestDiskMs,
      diskFaultShare: this.diskFaultShare,
    });
  }

  /** Something that happens again and again until the faults are over. */
  every(gapMs: number, work: () => void): void {
    if (gapMs === Number.POSITIVE_INFINITY) return;
    this.timeline.after(this.random.next() * 2 * gapMs, () => {
      if (this.over) return;
      work();
      this.every(gapMs, work);
    });
  }

  async open(tablet: TabletSide, person = tablet.person): Promise<void> {
    await tablet.open(person);
    if (!tablet.signedIn) this.signIn(tablet);
  }

  /** Somebody comes and signs in, and tries again when nobody answered. */
  signIn(tablet: TabletSide): void {
    const { program } = tablet;
    program.after(1000 + this.random.below(this.over ? 3000 : 12_000), () => {
      if (tablet.program !== program || tablet.signedIn) return;
      tablet.signIn();
      this.signIn(tablet);
    });
  }

  act(tablet: TabletSide): void {
    if (!tablet.program.alive || tablet.program.asleep || !tablet.replica) return;
    // Whoever writes looks first; now and then, since a look takes longer than all the rest.
    if (this.plan.deep && this.random.below(3) === 0)
      for (const patient of tablet.replica.patients()) tablet.replica.factsOf(patient);
    const drafts = draftsOf(tablet, ['p1', 'p2', 'p3'], this.random, this.ledger.counts);
    if (drafts.length > 0) void tablet.record(drafts);
  }

  begin(): void {
    const { plan, random, timeline, ledger, tablets, feed } = this;
    const { counts } = ledger;
    for (const tablet of tablets) {
      tablet.wire.weather = { ...plan.weather };
      void this.open(tablet);
      this.every(plan.pauseBetweenActsMs, () => this.act(tablet));
    }
    feed.wire.weather = { ...plan.weather };
    if (plan.feed) this.messages();
    const some = (): TabletSide => random.pick(tablets);
    const happen: Record<Mishap, () => void> = {
      'server-killed': () => {
        if (!this.server || this.server.killed) return;
        this.tell('server', 'is killed');
        this.server.kill();
        timeline.after(500 + random.below(20_000), () => {
          if (!this.server?.killed) return;
          this.restartServer();
        });
      },
      'tablet-killed': () => {
        const tablet = some();
        counts.tabletKills += 1;
        this.tell(tablet.name, 'is closed without warning');
        tablet.kill();
        timeline.after(random.below(8000), () => {
          if (!tablet.replica) void this.open(tablet);
        });
      },
      partition: () => {
        const tablet = some();
        counts.partitions += 1;
        this.tell(tablet.name, 'loses the network');
        tablet.wire.weather.cut = true;
        timeline.after(random.below(60_000), () => {
          tablet.wire.weather.cut = false;
          this.tell(tablet.name, 'has the network again');
        });
      },
      asleep: () => {
        const tablet = some();
        counts.sleeps += 1;
        const ms = random.below(40_000);
        this.tell(tablet.name, `sleeps ${Math.round(ms / 1000)} s`);
        tablet.program.sleepUntil(timeline.nowMs + ms);
      },
      'signed-out': () => {
        const tablet = some();
        counts.signOuts += 1;
        this.tell(tablet.name, 'is locked');
        tablet.replica?.pause();
        tablet.program.after(random.below(30_000), () => tablet.signedIn && tablet.replica?.start());
      },
      clock: () => {
        counts.clockJumps += 1;
        const jumps = [-hourMs, hourMs, -minuteMs, 0];
        const clock = random.below(4) === 0 ? this.serverClock : some().clock;
        clock.offsetMs = random.pick(jumps);
        this.tell('a clock', `is off by ${clock.offsetMs / minuteMs} min`);
      },
      switched: () => {
        const tablet = some();
        const next = random.pick(people);
        this.tell(tablet.name, `is taken by ${next.id}`);
        void this.open(tablet, next);
      },
    };
    for (const one of mishaps) this.every(plan.gapsMs[one], happen[one]);
  }

  restartServer(): void {
    this.tell('server', 'starts');
    if (!this.plan.sqlite) return this.startServer();
    void this.disk.restart().then(() => this.startServer());
  }

  messages(): void {
    const { random, feed, plan } = this;
    const atMs = startMs - hourMs;
    const messages: Message[] = [
      { what: 'register', patient: 'p1', ward: 'harbour', atMs },
      { what: 'register', patient: 'f1', ward: 'dunes', atMs },
      { what: 'transfer', patient: 'f1', ward: 'harbour', atMs: atMs + 10 * minuteMs, number: 1 },
      { what: 'transfer', patient: 'p1', ward: 'dunes', atMs: atMs + 20 * minuteMs, number: 2 },
      { what: 'cancel', patient: 'p1', number: 2, atMs: atMs + 25 * minuteMs },
      { what: 'merge', patient: 'f1', into: 'p1', atMs: startMs },
    ];
    for (const message of messages)
      for (let copies = 1 + random.below(3); copies > 0; copies -= 1)
        feed.deliver(message, random.next() * plan.lengthMs);
  }

  /** Everything works again: network, clocks, server; everybody is back, and whoever has something to send comes by. */
  mend(): void {
    const { timeline, tablets, feed, random } = this;
    this.over = true;
    this.tell('everything', 'works again');
    this.serverClock.offsetMs = 0;
    if (!this.server || this.server.killed) this.restartServer();
    feed.wire.weather = fairWeather();
    for (const tablet of tablets) {
      tablet.wire.weather = fairWeather();
      tablet.clock.offsetMs = 0;
      tablet.program.wake();
      if (!tablet.replica) void this.open(tablet);
      else if (!tablet.signedIn) this.signIn(tablet);
      else tablet.replica.start();
      // People go on for a moment: what they save beside all that is being caught up with may not be left behind.
      for (let acts = 0; acts < 3; acts += 1) timeline.after(random.below(10_000), () => this.act(tablet));
      // Whose entry has waited longest comes first, for others may name it.
      const comeBy = async (): Promise<void> => {
        timeline.after(6000 + random.below(2000), () => void comeBy());
        const others = (await tablet.disk.unsent()).filter(({ author }) => author !== tablet.person.id);
        const next = people.find(({ id }) => id === others[0]?.author);
        if (next && tablet.replica) await this.open(tablet, next);
      };
      timeline.after(6000, () => void comeBy());
    }
  }

  async untilEqual(): Promise<number> {
    const { timeline, tablets, feed } = this;
    const mendedMs = timeline.nowMs;
    let why: string | undefined = 'nothing was looked at';
    for (let second = 1; second * 1000 <= equalWithinMs; second += 1) {
      await timeline.runTo(mendedMs + second * 1000);
      if (second % 3 !== 0) continue;
      const record = new Set((await this.disk.store.after(0, 100_000)).map(({ entry }) => entry.id));
      why = feed.open > 0 ? `the interface still has ${feed.open} messages to send` : undefined;
      for (const tablet of tablets) why ??= behind(tablet, record, await refusedOn(tablet));
      if (why === undefined) return timeline.nowMs - mendedMs;
    }
    throw new Broken(`not equal within 2 minutes: ${why}`);
  }

  async check(): Promise<number> {
    const { ledger, tablets, disk, timeline, random, plan } = this;
    const kept = await checkRecord(disk.store, ledger, tablets);
    const entries = kept.map(({ entry }) => entry);
    for (const tablet of tablets) await checkLocal(tablet);
    checkPlaces(entries, tablets);
    const most = plan.deep ? 6 : 2;
    const toMs = timeline.nowMs;
    const merged = kept.map(({ entry, receivedAt }) => ({ atMs: Date.parse(receivedAt), entry }));
    for (const [whose, arrivals] of [
      ['the record', merged] as const,
      ...tablets.map((tablet) => [tablet.name, tablet.arrivals] as const),
    ])
      ledger.counts.ownerMinutes += checkOwners(arrivals, whose, startMs, toMs, random, most);
    if (plan.deep) for (const tablet of tablets) checkFacts(entries, tablet, toMs, await refusedOn(tablet));
    return entries.length;
  }
}

const refusedOn = async (tablet: TabletSide): Promise<ReadonlySet<string>> =>
  new Set((await tablet.disk.refused()).map(({ entry }) => entry.id));

/** Lives one history; throws `Broken` when a promise was not held. */
export async function live(seed: number, say?: (line: string) => void): Promise<Told> {
  const history = new History(seed, say);
  const { timeline, plan } = history;
  try {
    history.begin();
    await timeline.runTo(startMs + plan.lengthMs);
    history.mend();
    const equalAfterMs = await history.untilEqual();
    const entries = await history.check();
    return { counts: history.ledger.counts, entries, happened: timeline.happened, equalAfterMs };
  } finally {
    for (const tablet of history.tablets) tablet.kill();
    history.server?.program.kill();
    await history.disk.close();
  }
}
