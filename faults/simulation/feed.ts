/**
 * The hospital's interface: patient messages (register, transfer, cancel, merge) that come late, twice and out of
 * order, each sent again until the record has taken it. What a message says has the same ids however often it comes.
 */
import { instantOfMs, uuidOfText, type RandomSource } from '@ebbline/core/quantity';
import { isPractice, type Entry, type KeptEntry } from '@ebbline/core/record';
import type { Ledger } from './ledger.ts';
import type { Answered, Asked, ServerSide } from './server-side.ts';
import { Program, type Timeline } from './timeline.ts';
import { feedToken, organisation } from './unit.ts';
import { registration } from './people.ts';
import { Wire } from './wire.ts';

export type Message =
  | { readonly what: 'register'; readonly patient: string; readonly ward: string; readonly atMs: number }
  | {
      readonly what: 'transfer';
      readonly patient: string;
      readonly ward: string;
      readonly atMs: number;
      readonly number: number;
    }
  | { readonly what: 'cancel'; readonly patient: string; readonly number: number; readonly atMs: number }
  | { readonly what: 'merge'; readonly patient: string; readonly into: string; readonly atMs: number };

export interface FeedWorld {
  readonly timeline: Timeline;
  readonly random: RandomSource;
  readonly ledger: Ledger;
  readonly server: () => ServerSide | undefined;
  readonly tell: (who: string, what: string) => void;
}

const againMs = 7000;
const patienceMs = 15_000;

export class Feed {
  readonly wire: Wire;
  /** Deliveries under way; 0 when the record has taken everything. */
  open = 0;
  readonly #world: FeedWorld;
  readonly #program: Program;

  constructor(world: FeedWorld) {
    this.#world = world;
    this.wire = new Wire(world.timeline, world.random, world.ledger.counts);
    this.#program = new Program(world.timeline);
  }

  /** Sends a message after a while, and perhaps again after another. */
  deliver(message: Message, waitMs: number): void {
    this.open += 1;
    this.#program.after(waitMs, () => void this.#untilTaken(message));
  }

  async #untilTaken(message: Message): Promise<void> {
    const { ledger, tell } = this.#world;
    ledger.counts.feedDeliveries += 1;
    tell('feed', `sends ${message.what} of ${message.patient}`);
    while (!(await this.#taken(message))) await this.#program.pause(againMs);
    this.open -= 1;
  }

  async #taken(message: Message): Promise<boolean> {
    const entries = await this.#entriesOf(message);
    if (entries === undefined) return false;
    if (entries.length === 0) return true;
    for (const entry of entries) this.#world.ledger.wrote(entry, 'feed');
    const answered = await this.#ask({ call: 'POST /api/entries', body: JSON.stringify({ entries }) });
    if (answered?.status !== 200) return false;
    const { refused } = JSON.parse(answered.body) as { refused: readonly unknown[] };
    return refused.length === 0;
  }

  async #entriesOf(message: Message): Promise<readonly Entry[] | undefined> {
    const envelope = (key: string) => ({
      id: uuidOfText(`feed ${key}`),
      organisation,
      patient: message.patient,
      effectiveAt: instantOfMs(message.atMs),
      timeQuality: 'exact' as const,
      recordedAt: instantOfMs(message.atMs),
      author: 'machine-feed',
      madeOn: 'feed',
    });
    switch (message.what) {
      case 'register': {
        const { kind, payload } = registration(message.patient, message.ward, '2');
        return [{ ...envelope(`register ${message.patient}`), kind, payload }];
      }
      case 'transfer':
        return [
          {
            ...envelope(`transfer ${message.number}`),
            kind: 'transferred',
            payload: { ward: message.ward, bed: '3' },
          },
        ];
      case 'cancel':
        return [
          {
            ...envelope(`cancel ${message.number}`),
            kind: 'withdrawn',
            payload: { of: uuidOfText(`feed transfer ${message.number}`), reason: 'not-done' },
          },
        ];
      case 'merge': {
        const answered = await this.#ask({ call: 'GET /api/entries', query: { after: 0, limit: 2000 } });
        if (answered?.status !== 200) return undefined;
        const { entries } = JSON.parse(answered.body) as { entries: readonly KeptEntry[] };
        return entries
          .map(({ entry }) => entry)
          .filter(
            (entry) =>
              entry.patient === message.patient &&
              !isPractice(entry) &&
              (entry.kind === 'reading' || entry.kind === 'void' || entry.kind === 'drained'),
          )
          .map((entry) => ({
            ...envelope(`merge ${message.into} ${entry.id}`),
            kind: 'moved-to-patient',
            payload: { of: entry.id, toPatient: message.into },
          }));
      }
    }
  }

  #ask(asked: Omit<Asked, 'token'>): Promise<Answered | undefined> {
    const { server } = this.#world;
    return new Promise((resolve) => {
      this.#program.after(patienceMs, () => resolve(undefined));
      this.wire.carryRequest(() => {
        const running = server();
        if (!running || running.killed) return;
        void running
          .answer({ ...asked, token: feedToken })
          .then((answered) => running.program.run(() => this.wire.carry(() => resolve(answered))));
      });
    });
  }
}
