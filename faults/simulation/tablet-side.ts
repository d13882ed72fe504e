/**
 * A tablet as one program after the other on the same browser store: the product's own replica and sync, with timers,
 * clock, chance and network given to it.
 *
 * Store     a write takes a while and writes wait for each other; killed between two, the first is there and the
 *           second is not; a full one refuses a write and keeps nothing of it
 */
import { isRefusal, type RandomSource } from '@ebbline/core/quantity';
import type { Entry, KeptEntry, Person } from '@ebbline/core/record';
import { memoryStore, type LocalStore } from '../../apps/web/src/shell/local-store.ts';
import { openReplica, type OpenReplica } from '../../apps/web/src/shell/open-replica.ts';
import type { Answer, Remote } from '../../apps/web/src/shell/remote.ts';
import type { Draft } from '../../apps/web/src/shell/replica.ts';
import type { Ledger } from './ledger.ts';
import type { Asked, Answered, ServerSide } from './server-side.ts';
import { Program, type Timeline } from './timeline.ts';
import { directory } from './unit.ts';
import { Line, Wire } from './wire.ts';

const patienceMs = 15_000;

export interface TabletWorld {
  readonly timeline: Timeline;
  readonly random: RandomSource;
  readonly ledger: Ledger;
  readonly server: () => ServerSide | undefined;
  readonly diskFaultShare: () => number;
  readonly slowestDiskMs: () => number;
  readonly tell: (who: string, what: string) => void;
  /** The record no longer knows who is at a tablet. */
  readonly signedOut: (tablet: TabletSide) => void;
}

/** When an entry came to be on a tablet; what its replica could know at a moment follows from these. */
export interface Arrival {
  readonly atMs: number;
  readonly entry: Entry;
}

export class TabletSide {
  readonly name: string;
  readonly wire: Wire;
  readonly arrivals: Arrival[] = [];
  readonly disk: LocalStore = memoryStore();
  readonly clock = { offsetMs: 0 };
  program: Program;
  replica: OpenReplica | undefined;
  person: Person;
  signedIn = false;
  opening = false;
  #token: string | undefined;
  #diskTailMs = 0;
  readonly #world: TabletWorld;

  constructor(name: string, person: Person, world: TabletWorld) {
    this.name = name;
    this.person = person;
    this.#world = world;
    this.wire = new Wire(world.timeline, world.random, world.ledger.counts);
    this.program = new Program(world.timeline);
  }

  get nowMs(): number {
    return this.#world.timeline.nowMs + this.clock.offsetMs;
  }

  /** Kills what runs, and opens the page anew for somebody. */
  async open(person: Person): Promise<void> {
    this.kill();
    const program = new Program(this.#world.timeline);
    this.program = program;
    this.opening = true;
    if (person.id !== this.person.id) this.#token = undefined;
    this.person = person;
    const { random } = this.#world;
    const store = this.#slowStore(program);
    const replica = await openReplica({
      me: person,
      directory,
      store,
      remote: this.#remote(program),
      madeOn: this.name,
      now: () => this.nowMs,
      random: (count) => Uint8Array.from({ length: count }, () => random.below(256)),
      jitter: () => 0.5 + random.next(),
      timers: program.timers,
      onSignedOut: () => {
        this.signedIn = false;
        this.#token = undefined;
        replica.pause();
        this.#world.tell(this.name, 'is signed out by the record');
        this.#world.signedOut(this);
      },
    });
    this.opening = false;
    this.replica = replica;
    if (this.#token !== undefined) replica.start();
    else this.signedIn = false;
  }

  /** Somebody shows who they are; without the network they may still work on what is here. */
  signIn(): void {
    const { server } = this.#world;
    const { program } = this;
    const { replica } = this;
    this.wire.carryRequest(() => {
      const running = server();
      if (!running || running.killed) return;
      void running.signIn(this.person.id).then((token) =>
        this.wire.carry(() =>
          program.run(() => {
            if (this.replica !== replica) return;
            this.#token = token;
            this.signedIn = true;
            this.replica?.start();
          }),
        ),
      );
    });
  }

  kill(): void {
    this.program.kill();
    this.replica?.close();
    this.replica = undefined;
  }

  async record(drafts: readonly Draft[]): Promise<readonly Entry[] | undefined> {
    const { ledger, tell } = this.#world;
    const done = await this.replica?.record(drafts);
    if (done === undefined) return undefined;
    if (isRefusal(done)) {
      ledger.counts.notKept += 1;
      tell(this.name, `is told that nothing was saved: ${done.code}`);
      return undefined;
    }
    for (const entry of done) {
      ledger.counts.saved += 1;
      ledger.saved.add(entry.id);
      tell(this.name, `saves ${entry.kind} ${entry.id.slice(-6)} of ${entry.patient}`);
    }
    return done;
  }

  #slowStore(program: Program): LocalStore {
    const { random, ledger, timeline } = this.#world;
    const { disk, arrivals } = this;
    /** In the order asked; the work and the news of it are two happenings. */
    const inTurn = <Value>(work: () => Promise<Value>, write = true): Promise<Value> => {
      this.#diskTailMs =
        Math.max(this.#diskTailMs, timeline.nowMs) + random.below(this.#world.slowestDiskMs());
      const waitMs = this.#diskTailMs - timeline.nowMs;
      return new Promise((resolve, reject) => {
        program.after(waitMs, () => {
          if (write && random.next() < this.#world.diskFaultShare()) {
            ledger.counts.diskFaults += 1;
            return reject(new Error('the browser could not write'));
          }
          const done = work();
          // The news of it comes later now and then: what was read has to be opened first.
          if (random.below(3) === 0) program.after(random.below(50), () => void done.then(resolve));
          else void done.then(resolve);
        });
      });
    };
    const arrive = (entries: readonly Entry[]): void => {
      for (const entry of entries) arrivals.push({ atMs: timeline.nowMs, entry });
    };
    return {
      lasting: true,
      entries: () => inTurn(() => disk.entries(), false),
      unsent: () => inTurn(() => disk.unsent(), false),
      waiting: () => inTurn(() => disk.waiting(), false),
      refused: () => inTurn(() => disk.refused(), false),
      keepOwn: (entries) =>
        inTurn(() => {
          for (const entry of entries) ledger.wrote(entry, this.name);
          arrive(entries);
          return disk.keepOwn(entries);
        }),
      keepReceived: (entries) =>
        inTurn(() => {
          arrive(entries);
          return disk.keepReceived(entries);
        }),
      sent: (ids) => inTurn(() => disk.sent(ids)),
      refuse: (entry, refusal) => {
        ledger.counts.refused += 1;
        return inTurn(() => disk.refuse(entry, refusal));
      },
      drop: (id) => inTurn(() => disk.drop(id)),
      forget: (ids) => inTurn(() => disk.forget(ids)),
      note: (name) => inTurn(() => disk.note(name), false),
      writeNote: (name, value) => inTurn(() => disk.writeNote(name, value)),
      close: () => {},
    };
  }

  #ask<Value>(program: Program, asked: Omit<Asked, 'token'>): Promise<Answer<Value>> {
    const { server, tell } = this.#world;
    const token = this.#token;
    return new Promise((resolve) => {
      let open = true;
      tell(this.name, `asks ${asked.call} ${asked.query ? JSON.stringify(asked.query) : ''}`);
      const finish = (answered: Answered | undefined): void =>
        program.run(() => {
          if (!open) return;
          open = false;
          program.timers.clear(late);
          tell(this.name, `hears ${answered?.status ?? 'nothing'} to ${asked.call}`);
          resolve(readAnswer(answered));
        });
      const late = program.after(patienceMs, () => finish(undefined));
      this.wire.carryRequest(() => {
        const running = server();
        if (!running || running.killed) return this.wire.carry(() => finish(undefined));
        void running
          .answer({ ...asked, token })
          .then((answered) => running.program.run(() => this.wire.carry(() => finish(answered))));
      });
    });
  }

  #remote(program: Program): Remote {
    const still = async <Value>(value: Value): Promise<Answer<Value>> => ({ state: 'reached', value });
    const away = Promise.resolve({ state: 'away' as const });
    const person = (): Promise<Answer<Person>> => still(this.person);
    return {
      welcome: () => still({ people: directory.people, demo: false }),
      me: person,
      directory: () => still(directory),
      signIn: person,
      switchTo: person,
      lock: () => still(undefined),
      signOut: () => still(undefined),
      send: (entries) => this.#ask(program, { call: 'POST /api/entries', body: JSON.stringify({ entries }) }),
      beds: async () => ({ state: 'away' }),
      after: (after, limit, scope) =>
        this.#ask(program, {
          call: 'GET /api/entries',
          query: { after, limit, ...(scope === undefined ? {} : { scope }) },
        }),
      tabletKey: () => away,
      carry: () => away,
      held: () => still({ entries: [] }),
      settleHeld: () => still(undefined),
      practice: () => still({ entries: [] }),
      meanwhile: async () => ({ state: 'away' }),
      letLengthen: () => still(undefined),
      protocols: () => still({ acts: 0, versions: [] }),
      askOfProtocols: () => still(undefined),
      live: (after, listener) => this.#live(program, after, listener),
    };
  }

  #live(program: Program, after: number, listener: Parameters<Remote['live']>[1]): () => void {
    const { server, tell } = this.#world;
    tell(this.name, `opens a live line from ${after}`);
    const line = new Line(this.wire);
    let closed = false;
    let otherEnd: (() => void) | undefined;
    const broken = (): void => {
      line.open = false;
      program.run(() => {
        if (closed) return;
        closed = true;
        tell(this.name, 'loses its live line');
        listener.lost();
      });
    };
    const arrived = (text: string): void => program.run(() => closed || hear(text, listener));
    const token = this.#token;
    this.wire.carry(() => {
      const running = server();
      if (closed || !running || running.killed) return void this.wire.carry(broken);
      void running
        .live({ call: 'GET /api/live', token, query: { after: String(after) } }, line, arrived, broken)
        .then((end) => {
          otherEnd = end;
          if (closed) end();
        });
      // A killed server's lines end, or stay silent when the news of it is lost.
      running.whenKilled.push(() => this.wire.carry(broken));
    });
    return () => {
      closed = true;
      line.open = false;
      this.wire.carry(() => otherEnd?.());
    };
  }
}

function readAnswer<Value>(answered: Answered | undefined): Answer<Value> {
  if (answered === undefined) return { state: 'away' };
  const body = JSON.parse(answered.body) as { refusal?: never };
  if (answered.status === 200) return { state: 'reached', value: body as Value };
  if (answered.status === 401) return { state: 'signed-out' };
  return body.refusal
    ? { state: 'refused', refusal: body.refusal, status: answered.status }
    : { state: 'away' };
}

/** Reads server-sent events: a name and one line of data each. */
function hear(text: string, listener: Parameters<Remote['live']>[1]): void {
  for (const block of text.split('\n\n')) {
    const name = /^event: (.*)$/m.exec(block)?.[1];
    const data = /^data: (.*)$/m.exec(block)?.[1] ?? '';
    if (name === 'open') listener.opened();
    else if (name === 'ended') listener.ended();
    else if (name === 'entry') listener.entry(JSON.parse(data) as KeptEntry);
    else if (name === 'left') listener.left?.();
    else if (name === 'alive') {
      const { head, protocolActs } = JSON.parse(data) as { head: number; protocolActs?: number };
      listener.alive(head, protocolActs);
    }
  }
}
