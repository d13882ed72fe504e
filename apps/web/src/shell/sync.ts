/**
 * Keeps this tablet and the ward's record alike: sends what waits, reads what is new, listens to the live line.
 * Union of entries by id: sending twice adds nothing, and the order of arrival does not matter.
 *
 * Every wait is a timer that a change of the network or a new entry cuts short. Nothing here blocks a save.
 */
import type { Entry } from '@ebbline/core/record';
import type { Refusal } from '@ebbline/core/quantity';
import { pageTimers, type Timers } from './clock.ts';
import type { LocalStore } from './local-store.ts';
import type { LiveEntry, Remote } from './remote.ts';

const batch = 50;
const pageSize = 500;
const shortestWaitMs = 1000;
const longestWaitMs = 30_000;
/** The record says it is alive each five seconds; two missed are ten. */
export const staleAfterMs = 10_000;
/** A line that is open and silent for so long is taken for dead and opened anew. */
const silentLineMs = 15_000;

export interface SyncHost {
  readonly remote: Remote;
  readonly store: LocalStore;
  readonly now: () => number;
  readonly jitter: () => number;
  /** Default: the page's own. */
  readonly timers?: Timers;
  /** Entries are sent under the sign-in of their author alone; those of others wait until they are back. */
  mayBeSent(entry: Entry): boolean;
  /** Hands on what waits and is not sent under this sign-in; gives the ids that are settled. */
  carry?(
    otherwise: ReadonlySet<string>,
  ): Promise<{ readonly settled: readonly string[]; readonly reached: boolean }>;
  /** Entries that were not here before. */
  received(entries: readonly Entry[]): void;
  /** Everybody whom this person follows now; others leave the tablet. */
  followed(patients: readonly string[]): Promise<void>;
  sent(ids: readonly string[]): void;
  refused(entry: Entry, refusal: Refusal): void;
  /** The record was heard, or not reached. */
  heard(atMs: number): void;
  /** Everything that the record held when it was asked is here. */
  caughtUp(): void;
  away(): void;
  /** How many acts on protocols the record holds. */
  protocolActs(count: number): void;
  signedOut(): void;
}

export interface Sync {
  /** Sends soon; called after each save. */
  nudge(): void;
  stop(): void;
}

/** The record refuses what is about a patient it does not know yet. */
const newPatientsFirst = (entries: readonly Entry[]): readonly Entry[] => [
  ...entries.filter(({ kind }) => kind === 'patient-registered'),
  ...entries.filter(({ kind }) => kind !== 'patient-registered'),
];

export function startSync(host: SyncHost): Sync {
  const { remote, store, timers: waits = pageTimers } = host;
  let stopped = false;
  let cursor = 0;
  /** What the cursor is good for. */
  let scope: string | undefined;
  /** How often something that was made here was settled: a list read before does not know it yet. */
  let settledTimes = 0;
  let sending = false;
  let sendAgain = false;
  let reading = false;
  let readAgain = false;
  let sendWaitMs = shortestWaitMs;
  let liveWaitMs = shortestWaitMs;
  let closeLive: (() => void) | undefined;
  const timers = new Set<unknown>();

  const later = (waitMs: number, work: () => void): void => {
    const timer = waits.set(() => {
      timers.delete(timer);
      if (!stopped) work();
    }, waitMs * host.jitter());
    timers.add(timer);
  };

  let watch: unknown;
  /** Each sign of life puts off the moment at which a silent line is given up. */
  const watchLine = (): void => {
    waits.clear(watch);
    watch = waits.set(() => {
      if (!stopped && closeLive) void listen();
    }, silentLineMs);
  };
  const heardOnLine = (): void => {
    host.heard(host.now());
    watchLine();
  };

  /** How often this browser did not write what came. While it counts on, no cursor is kept: that would leave a gap. */
  let notWritten = 0;

  const moveCursor = async (to: number): Promise<void> => {
    if (to <= cursor) return;
    cursor = to;
    await store.writeNote('cursor', cursor);
  };

  function sendLater(): void {
    later(sendWaitMs, () => void send());
    sendWaitMs = Math.min(longestWaitMs, sendWaitMs * 2);
  }

  async function send(): Promise<void> {
    if (stopped) return;
    if (sending) {
      sendAgain = true;
      return;
    }
    sending = true;
    try {
      // First, since what is written here may rest on what somebody else wrote here before.
      if (host.carry) {
        const own = (await store.unsent()).filter(host.mayBeSent).map(({ id }) => id);
        const carried = await host.carry(new Set(own));
        if (carried.settled.length > 0) {
          settledTimes += 1;
          host.sent(carried.settled);
        }
        if (!carried.reached && own.length === 0) sendLater();
      }
      for (;;) {
        sendAgain = false;
        const waiting = newPatientsFirst((await store.unsent()).filter(host.mayBeSent)).slice(0, batch);
        if (stopped) break;
        if (waiting.length === 0) {
          // What was saved while the queue was being read stands in it by now.
          if (sendAgain) continue;
          break;
        }
        const answer = await remote.send(waiting);
        if (answer.state === 'reached') {
          host.heard(host.now());
          sendWaitMs = shortestWaitMs;
          const keptIds = answer.value.kept.map((one) => one.id);
          settledTimes += 1;
          await store.sent(keptIds);
          host.sent(keptIds);
          let settled = keptIds.length;
          for (const { id, refusal } of answer.value.refused) {
            const entry = waiting.find((one) => one.id === id);
            if (!entry) continue;
            settled += 1;
            await store.refuse(entry, refusal);
            host.refused(entry, refusal);
          }
          if (settled === 0) {
            later(longestWaitMs, () => void send());
            break;
          }
          continue;
        }
        if (answer.state === 'signed-out') host.signedOut();
        if (answer.state === 'away') host.away();
        // A whole batch refused for the request's sake (not one entry's) stays in the queue.
        sendLater();
        break;
      }
    } catch {
      // This browser could not read or write just now. What is in the queue stays there, and is sent again.
      sendLater();
    } finally {
      sending = false;
    }
  }

  /** Reads on to the newest; false when the record was not reached, or this browser could not keep what came. */
  async function read(): Promise<boolean> {
    if (reading) {
      readAgain = true;
      return true;
    }
    reading = true;
    try {
      for (;;) {
        readAgain = false;
        const faultsBefore = notWritten;
        const settledBefore = settledTimes;
        const answer = await remote.after(cursor, pageSize, scope);
        if (stopped) return false;
        if (answer.state === 'signed-out') {
          host.signedOut();
          return false;
        }
        if (answer.state === 'away') {
          host.away();
          return false;
        }
        host.heard(host.now());
        // A role that may not read the record has nothing to follow.
        if (answer.state === 'refused') return false;
        const { entries, head, through } = answer.value;
        // The record began anew: what it gives is read from the beginning, whatever was read under the other scope.
        const anew = answer.value.scope !== undefined && scope !== undefined && answer.value.scope !== scope;
        const before = anew ? 0 : cursor;
        if (entries.length > 0) {
          const plain = entries.map((kept) => kept.entry);
          await store.keepReceived(plain);
          host.received(plain);
        }
        if (notWritten !== faultsBefore) return false;
        if (anew) cursor = 0;
        await moveCursor(through ?? Math.max(0, ...entries.map((kept) => kept.sequence)));
        if (answer.value.scope !== undefined && answer.value.scope !== scope) {
          // Only once the cursor stands: a cursor of this scope under the name of the other is read from 0 again.
          scope = answer.value.scope;
          await store.writeNote('scope', scope);
        }
        // A page may be short because some of it is not handed on; what was read decides, not what came.
        const more = through === undefined ? entries.length === pageSize : through < head && cursor > before;
        if (!more && !readAgain) {
          const { patients } = answer.value;
          if (patients !== undefined && settledTimes === settledBefore) await host.followed(patients);
          host.caughtUp();
          return true;
        }
      }
    } catch {
      return false;
    } finally {
      reading = false;
    }
  }

  const takeLive = async ({ after, through, ...kept }: LiveEntry): Promise<void> => {
    const before = after ?? kept.sequence - 1;
    if (before > cursor || (after === undefined && kept.sequence !== cursor + 1)) {
      await read();
      return;
    }
    // Before it is durable: two that follow each other closely both find their place.
    const then = Math.max(cursor, through ?? kept.sequence);
    cursor = then;
    const faultsBefore = notWritten;
    try {
      await store.keepReceived([kept.entry]);
      host.received([kept.entry]);
      if (notWritten === faultsBefore) await store.writeNote('cursor', then);
    } catch {
      // Asked for again with the next sign of life, which finds the cursor behind.
      notWritten += 1;
      cursor = Math.max(0, Math.min(cursor, before - 1));
    }
  };

  async function listen(): Promise<void> {
    closeLive?.();
    closeLive = undefined;
    const reached = await read();
    if (stopped || closeLive !== undefined) return;
    if (!reached) return retry();
    closeLive = remote.live(
      cursor,
      {
        opened: () => {
          liveWaitMs = shortestWaitMs;
          heardOnLine();
          void send();
        },
        entry: (kept) => {
          heardOnLine();
          void takeLive(kept);
        },
        alive: (head, protocolActs) => {
          heardOnLine();
          if (protocolActs !== undefined) host.protocolActs(protocolActs);
          if (head > cursor) void read();
        },
        left: () => void read(),
        ended: () => {
          closeLive?.();
          closeLive = undefined;
          host.signedOut();
        },
        lost: () => {
          closeLive?.();
          closeLive = undefined;
          host.away();
          retry();
        },
      },
      scope,
    );
    // A line that neither opens nor breaks is given up like a silent one.
    watchLine();
  }

  function retry(): void {
    later(liveWaitMs, () => void listen());
    liveWaitMs = Math.min(longestWaitMs, liveWaitMs * 2);
  }

  const back = (): void => {
    sendWaitMs = shortestWaitMs;
    liveWaitMs = shortestWaitMs;
    void listen();
    void send();
  };
  const gone = (): void => host.away();
  globalThis.addEventListener?.('online', back);
  globalThis.addEventListener?.('offline', gone);

  const begin = async (): Promise<void> => {
    cursor = (await store.note<number>('cursor').catch(() => undefined)) ?? 0;
    scope = await store.note<string>('scope').catch(() => undefined);
    await listen();
    await send();
  };
  void begin();

  return {
    nudge: () => {
      sendWaitMs = shortestWaitMs;
      void send();
    },
    stop: () => {
      stopped = true;
      waits.clear(watch);
      for (const timer of timers) waits.clear(timer);
      closeLive?.();
      globalThis.removeEventListener?.('online', back);
      globalThis.removeEventListener?.('offline', gone);
    },
  };
}
