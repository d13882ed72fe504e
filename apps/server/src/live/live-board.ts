/**
 * Fans kept entries out to open screens as server-sent events. Each screen has a cursor: an entry that follows it
 * directly is written at once, anything else is read from the store, so that a screen sees every sequence once and
 * in order, whatever happened between. Practice is handed to no screen: its sequence is passed over.
 *
 * Events    `entry` (id = sequence, data = KeptEntry) · `alive` (data = {serverTime, head, protocolActs}) · `ended` (the session is over)
 */
import type { ServerResponse } from 'node:http';
import { instantOfMs } from '@ebbline/core/quantity';
import { isPractice, type KeptEntry } from '@ebbline/core/record';
import type { EntryStore } from '@ebbline/store';

const pageSize = 500;
/** A screen that takes nothing any more is let go once so much waits for it; it comes back and reads on. */
const mostWaitingBytes = 1_048_576;
/** The screens grey out after two missed ones. */
export const aliveEveryMs = 5_000;

interface Screen {
  readonly response: ServerResponse;
  readonly mayGoOn: () => boolean;
  cursor: number;
  reading: boolean;
}

export interface LiveBoard {
  /** Writes to a response until it closes. `after` = the last sequence that the screen has, head when undefined. */
  join(
    response: ServerResponse,
    options: { readonly after: number | undefined; readonly mayGoOn: () => boolean },
  ): Promise<void>;
  publish(kept: readonly KeptEntry[]): void;
  /** One `alive` to every screen. */
  beat(nowMs: number): Promise<void>;
  screens(): number;
  close(): void;
}

const entryEvent = (kept: KeptEntry): string =>
  `event: entry\nid: ${kept.sequence}\ndata: ${JSON.stringify(kept)}\n\n`;

export function createLiveBoard(
  store: EntryStore,
  now: () => number,
  protocolActs: () => number = () => 0,
): LiveBoard {
  const screens = new Set<Screen>();

  const write = (screen: Screen, text: string): void => {
    if (screen.response.destroyed) return;
    screen.response.write(text);
    if (screen.response.writableLength > mostWaitingBytes) screen.response.destroy();
  };

  /** Reads on from the screen's cursor until nothing is left. */
  const catchUp = async (screen: Screen): Promise<void> => {
    if (screen.reading) return;
    screen.reading = true;
    try {
      for (let more = true; more && !screen.response.destroyed;) {
        const page = await store.after(screen.cursor, pageSize);
        for (const kept of page) {
          if (kept.sequence !== screen.cursor + 1) continue;
          screen.cursor = kept.sequence;
          if (!isPractice(kept.entry)) write(screen, entryEvent(kept));
        }
        more = page.length === pageSize;
      }
    } finally {
      screen.reading = false;
    }
  };

  const aliveEvent = (nowMs: number, head: number): string =>
    `event: alive\ndata: ${JSON.stringify({ serverTime: instantOfMs(nowMs), head, protocolActs: protocolActs() })}\n\n`;

  return {
    join: async (response, { after, mayGoOn }) => {
      const head = await store.head();
      const screen: Screen = { response, mayGoOn, cursor: Math.min(after ?? head, head), reading: false };
      screens.add(screen);
      response.on('close', () => screens.delete(screen));
      write(screen, aliveEvent(now(), head));
      await catchUp(screen);
    },
    publish: (kept) => {
      for (const one of kept) {
        const text = entryEvent(one);
        for (const screen of screens) {
          if (one.sequence <= screen.cursor) continue;
          if (one.sequence === screen.cursor + 1 && !screen.reading) {
            screen.cursor = one.sequence;
            if (!isPractice(one.entry)) write(screen, text);
          } else void catchUp(screen);
        }
      }
    },
    beat: async (nowMs) => {
      const head = await store.head();
      const text = aliveEvent(nowMs, head);
      for (const screen of screens) {
        if (!screen.mayGoOn()) {
          screen.response.end('event: ended\ndata: {}\n\n');
          continue;
        }
        if (screen.cursor < head) void catchUp(screen);
        write(screen, text);
      }
    },
    screens: () => screens.size,
    close: () => {
      for (const screen of screens) screen.response.end();
      screens.clear();
    },
  };
}
