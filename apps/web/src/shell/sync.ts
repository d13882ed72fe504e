/**
 * Keeps this tablet and the ward's record alike: sends what waits, reads what is new, listens to the live line.
 * Union of entries by id: sending twice adds nothing, and the order of arrival does not matter.
 *
 * Every wait is a timer that a change of the network or a new entry cuts short. Nothing here blocks a save.
 */
import type { Entry } from '@ebbline/core/record';
import type { Refusal } from '@ebbline/core/quantity';
import type { LocalStore } from './local-store.ts';
import type { Remote } from './remote.ts';

const batch = 50;
const pageSize = 500;
const shortestWaitMs = 1000;
const longestWaitMs = 30_000;
/** The record says it is alive each five seconds; two missed are ten. */
export const staleAfterMs = 10_000;

export interface SyncHost {
  readonly remote: Remote;
  readonly store: LocalStore;
  readonly now: () => number;
  readonly jitter: () => number;
  /** Entries that were not here before. */
  received(entries: readonly Entry[]): void;
  sent(ids: readonly string[]): void;
  refused(entry: Entry, refusal: Refusal): void;
  /** The record was heard, or not reached. */
  heard(atMs: number): void;
  away(): void;
  signedOut(): void;
}

export interface Sync {
  /** Sends soon; called after each save. */
  nudge(): void;
  stop(): void;
}

export function startSync(host: SyncHost): Sync {
  const { remote, store } = host;
  let stopped = false;
  let cursor = 0;
  let sending = false;
  let reading = false;
  let readAgain = false;
  let caughtUp = false;
  let sendWaitMs = shortestWaitMs;
  let liveWaitMs = shortestWaitMs;
  let closeLive: (() => void) | undefined;
  const timers = new Set<ReturnType<typeof setTimeout>>();

  const later = (waitMs: number, work: () => void): void => {
    const timer = setTimeout(() => {
      timers.delete(timer);
      if (!stopped) work();
    }, waitMs * host.jitter());
    timers.add(timer);
  };

  const moveCursor = async (to: number): Promise<void> => {
    if (to <= cursor) return;
    cursor = to;
    await store.writeNote('cursor', cursor);
  };

  async function send(): Promise<void> {
    if (sending || stopped) return;
    sending = true;
    try {
      for (;;) {
        const waiting = (await store.unsent()).slice(0, batch);
        if (waiting.length === 0 || stopped) break;
        const answer = await remote.send(waiting);
        if (answer.state === 'reached') {
          host.heard(host.now());
          sendWaitMs = shortestWaitMs;
          const keptIds = answer.value.kept.map((one) => one.id);
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
        later(sendWaitMs, () => void send());
        sendWaitMs = Math.min(longestWaitMs, sendWaitMs * 2);
        break;
      }
    } finally {
      sending = false;
    }
  }

  async function read(): Promise<void> {
    if (reading) {
      readAgain = true;
      return;
    }
    reading = true;
    try {
      for (;;) {
        const answer = await remote.after(cursor, pageSize);
        if (stopped) return;
        if (answer.state !== 'reached') {
          if (answer.state === 'signed-out') host.signedOut();
          else if (answer.state === 'away') host.away();
          return;
        }
        host.heard(host.now());
        const { entries } = answer.value;
        if (entries.length > 0) {
          const plain = entries.map((kept) => kept.entry);
          await store.keepReceived(plain);
          host.received(plain);
          await moveCursor(Math.max(...entries.map((kept) => kept.sequence)));
        }
        if (entries.length < pageSize && !readAgain) {
          caughtUp = true;
          return;
        }
        readAgain = false;
      }
    } finally {
      reading = false;
    }
  }

  function listen(): void {
    if (stopped) return;
    closeLive?.();
    caughtUp = false;
    closeLive = remote.live({
      opened: () => {
        liveWaitMs = shortestWaitMs;
        host.heard(host.now());
        void read();
        void send();
      },
      entry: (kept) => {
        host.heard(host.now());
        void store.keepReceived([kept.entry]).then(() => {
          host.received([kept.entry]);
          return caughtUp && !reading ? moveCursor(kept.sequence) : undefined;
        });
      },
      alive: (head) => {
        host.heard(host.now());
        if (head > cursor) void read();
      },
      lost: () => {
        closeLive?.();
        closeLive = undefined;
        host.away();
        later(liveWaitMs, listen);
        liveWaitMs = Math.min(longestWaitMs, liveWaitMs * 2);
      },
    });
  }

  const back = (): void => {
    sendWaitMs = shortestWaitMs;
    liveWaitMs = shortestWaitMs;
    listen();
    void send();
  };
  const gone = (): void => host.away();
  globalThis.addEventListener?.('online', back);
  globalThis.addEventListener?.('offline', gone);

  void store.note<number>('cursor').then(async (kept) => {
    cursor = kept ?? 0;
    await read();
    listen();
    await send();
  });

  return {
    nudge: () => {
      sendWaitMs = shortestWaitMs;
      void send();
    },
    stop: () => {
      stopped = true;
      for (const timer of timers) clearTimeout(timer);
      closeLive?.();
      globalThis.removeEventListener?.('online', back);
      globalThis.removeEventListener?.('offline', gone);
    },
  };
}
