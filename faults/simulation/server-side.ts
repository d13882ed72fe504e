/**
 * The server as one program that can be killed and started again on the same disk: the product's own routes for
 * entries and for the live line, with its intake, sessions and live board, called without HTTP around them.
 *
 * Disk      an append takes a while; killed before its commit nothing of it is there, after it everything is
 */
import type { FastifyReply, FastifyRequest } from 'fastify';
import type { RandomSource } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';
import { actorOf } from '../../apps/server/src/accounts/actor.ts';
import { recentLooks } from '../../apps/server/src/audit/note-request.ts';
import { createSessions } from '../../apps/server/src/accounts/sessions.ts';
import { fixedDirectory } from '../../apps/server/src/directory-book.ts';
import { aliveEveryMs, createLiveBoard } from '../../apps/server/src/live/live-board.ts';
import type { App, Parts } from '../../apps/server/src/parts.ts';
import { createReaches } from '../../apps/server/src/reach.ts';
import { createRecordView } from '../../apps/server/src/record-view.ts';
import { entriesRoutes } from '../../apps/server/src/routes/entries/entries.ts';
import { liveRoutes } from '../../apps/server/src/routes/live/live.ts';
import { ruleRefusal, type Rule } from '../../apps/server/src/rules.ts';
import type { Ledger } from './ledger.ts';
import { Program, type Timeline } from './timeline.ts';
import { directory, feedToken } from './unit.ts';
import type { Line } from './wire.ts';

export interface Asked {
  readonly call: 'POST /api/entries' | 'GET /api/entries' | 'GET /api/live';
  readonly token: string | undefined;
  /** JSON as it goes over the wire. */
  readonly body?: string;
  readonly query?: Readonly<Record<string, unknown>>;
}
export interface Answered {
  readonly status: number;
  /** JSON as it goes over the wire. */
  readonly body: string;
}

interface Route {
  readonly method: string;
  readonly url: string;
  readonly config: { readonly rule: Rule };
  readonly handler: (request: FastifyRequest, reply: FastifyReply) => Promise<unknown>;
}

/** The far end of a live line, as the board sees it. */
class LiveResponse {
  destroyed = false;
  readonly writableLength = 0;
  readonly #closed: (() => void)[] = [];
  readonly #line: Line;
  readonly #arrived: (text: string) => void;
  readonly #broken: () => void;

  constructor(line: Line, arrived: (text: string) => void, broken: () => void) {
    this.#line = line;
    this.#arrived = arrived;
    this.#broken = broken;
  }

  write(text: string): boolean {
    if (!this.destroyed) this.#line.write(() => this.#arrived(text), this.#broken);
    return true;
  }
  end(text?: string): void {
    if (text !== undefined) this.write(text);
    this.#line.write(this.#broken, this.#broken);
    this.destroy();
  }
  destroy(): void {
    if (this.destroyed) return;
    this.destroyed = true;
    for (const told of this.#closed) told();
  }
  on(_event: 'close', told: () => void): void {
    this.#closed.push(told);
  }
  setHeader(): void {}
  writeHead(): void {}
}

export interface ServerOptions {
  readonly timeline: Timeline;
  readonly random: RandomSource;
  readonly disk: EntryStore;
  readonly ledger: Ledger;
  readonly clock: { offsetMs: number };
  readonly slowestDiskMs: () => number;
  /** Chance that a write to the disk fails. */
  readonly diskFaultShare: () => number;
}

/** The disk through the eyes of one run of the server. */
function slowStore(program: Program, options: ServerOptions): EntryStore {
  const { disk, random, ledger } = options;
  const wait = (): Promise<void> => program.pause(1 + random.below(options.slowestDiskMs()));
  const failing = (): void => {
    if (random.next() >= options.diskFaultShare()) return;
    ledger.counts.diskFaults += 1;
    throw new Error('the disk failed');
  };
  return {
    ...disk,
    append: async (entries, context) => {
      await wait();
      failing();
      const result = await disk.append(entries, context);
      ledger.counts.kept += result.kept.length;
      // Killed here: kept, and nobody was told.
      if (random.below(4) === 0) await wait();
      return result;
    },
    after: async (sequence, limit) => {
      if (random.below(4) === 0) await wait();
      failing();
      return disk.after(sequence, limit);
    },
    afterInReach: async (sequence, reach, limit) => {
      if (random.below(4) === 0) await wait();
      failing();
      return disk.afterInReach(sequence, reach, limit);
    },
    followingOf: async (patient) => {
      failing();
      return disk.followingOf(patient);
    },
    onAppended: (listener) =>
      disk.onAppended((head) => void program.after(random.below(3), () => listener(head))),
    note: async (note) => {
      failing();
      return disk.note(note);
    },
  };
}

export class ServerSide {
  readonly program: Program;
  readonly whenKilled: (() => void)[] = [];
  readonly #routes = new Map<string, Route>();
  readonly #parts: Parts;
  readonly #options: ServerOptions;

  constructor(options: ServerOptions) {
    this.#options = options;
    this.program = new Program(options.timeline);
    const store = slowStore(this.program, options);
    const now = (): number => options.timeline.nowMs + options.clock.offsetMs;
    const live = createLiveBoard(store, now);
    const book = fixedDirectory(directory);
    // What these routes ask for; the others stand for what they never touch.
    this.#parts = {
      store,
      directory: book,
      reaches: createReaches(store, book),
      tokens: {
        find: async (bearer: string) =>
          bearer === feedToken ? { id: 'machine-feed', role: 'integration' } : undefined,
      },
      sessions: createSessions(() => 60),
      live,
      recent: recentLooks(),
      view: createRecordView(store, () => directory),
      now,
      cookie: { name: 'ebbline', secure: false },
    } as unknown as Parts;
    const app = {
      route: (route: Route) => void this.#routes.set(`${route.method} ${route.url}`, route),
    } as unknown as App;
    entriesRoutes(app, this.#parts);
    liveRoutes(app, this.#parts);
    const beat = (): void => {
      void live.beat(now());
      this.program.after(aliveEveryMs, beat);
    };
    this.program.after(aliveEveryMs, beat);
  }

  /** A session for somebody who has shown who they are. */
  signIn(person: string): Promise<string> {
    return this.#parts.sessions.open(person, this.#parts.now());
  }

  async #request(asked: Asked): Promise<{ request: FastifyRequest; route: Route; refused?: Answered }> {
    const route = this.#routes.get(asked.call);
    if (!route) throw new Error(`no route ${asked.call}`);
    const request = {
      headers: asked.token === feedToken ? { authorization: `Bearer ${feedToken}` } : {},
      cookies: asked.token === undefined ? {} : { ebbline: asked.token },
      body: asked.body === undefined ? undefined : (JSON.parse(asked.body) as unknown),
      query: asked.query ?? {},
      log: { info: () => {} },
      socket: { setNoDelay: () => {}, setTimeout: () => {} },
    } as unknown as FastifyRequest;
    request.actor = await actorOf(this.#parts, request);
    const refused = ruleRefusal(route.config.rule, request.actor);
    return refused === undefined
      ? { request, route }
      : {
          request,
          route,
          refused: { status: refused.status, body: JSON.stringify({ refusal: refused.refusal }) },
        };
  }

  async answer(asked: Asked): Promise<Answered> {
    const { request, route, refused } = await this.#request(asked);
    if (refused) return refused;
    try {
      const value = await route.handler(request, undefined as never);
      if (asked.call === 'POST /api/entries')
        for (const { id } of (value as { kept: readonly { id: string }[] }).kept)
          this.#options.ledger.acknowledged.add(id);
      return { status: 200, body: JSON.stringify(value) };
    } catch (problem) {
      const { statusCode = 500, refusal } = problem as { statusCode?: number; refusal?: unknown };
      return { status: statusCode, body: JSON.stringify({ refusal }) };
    }
  }

  /** Opens the live line; gives what the server does when it notices that the other end has gone. */
  async live(
    asked: Asked,
    line: Line,
    arrived: (text: string) => void,
    broken: () => void,
  ): Promise<() => void> {
    const { request, route, refused } = await this.#request(asked);
    if (refused) {
      line.write(broken, broken);
      return () => {};
    }
    const raw = new LiveResponse(line, arrived, broken);
    line.write(() => arrived('event: open\ndata: \n\n'), broken);
    const reply = { raw, hijack: () => {}, getHeaders: () => ({}) } as unknown as FastifyReply;
    route.handler(request, reply).catch(() => raw.end());
    return () => raw.destroy();
  }

  get killed(): boolean {
    return !this.program.alive;
  }

  kill(): void {
    this.program.kill();
    for (const told of this.whenKilled) told();
    this.#options.ledger.counts.serverKills += 1;
  }
}
