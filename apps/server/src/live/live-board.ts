/**
 * Fans kept entries out to open screens as server-sent events, whichever process kept them. The board reads on from the
 * store whenever that tells of something new, once for all screens. Each screen has a cursor: an entry that follows it
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
  readonly mayGoOn: () => Promise<boolean>;
  cursor: number;
  reading: boolean;
  /** Something new came while it read: its last page may have been read before. */
  again: boolean;
}

export interface LiveBoard {
  /** Writes to a response until it closes. `after` = the last sequence that the screen has, head when undefined. */
  join(
    response: ServerResponse,
    options: { readonly after: number | undefined; readonly mayGoOn: () => Promise<boolean> },
  ): Promise<void>;
  /** One `alive` to every screen. */
  beat(nowMs: number): Promise<void>;
  screens(): number;
  close(): void;
}

const entryEvent = (kept: KeptEntry): string =>
  `event: entry\nid: ${kept.sequence}\ndata: ${JSON.stringify(kept)}\n\n`;

/** @param failed told when the store could not be read; the next beat tries again */
export function createLiveBoard(
  store: EntryStore,
  now: () => number,
  protocolActs: () => number = () => 0,
  failed: (problem: unknown) => void = () => undefined,
): LiveBoard {
  const screens = new Set<Screen>();

  const write = (screen: Screen, text: string): void => {
    if (screen.response.destroyed) return;
    screen.response.write(text);
    if (screen.response.writableLength > mostWaitingBytes) screen.response.destroy();
  };
  /** Reads on from the screen's cursor until nothing is left. */
  const catchUp = async (screen: Screen): Promise<void> => {
    screen.again = true;
    if (screen.reading) return;
    screen.reading = true;
    try {
      while (screen.again && !screen.response.destroyed) {
        screen.again = false;
        const page = await store.after(screen.cursor, pageSize);
        for (const kept of page) {
          if (kept.sequence !== screen.cursor + 1) continue;
          screen.cursor = kept.sequence;
          if (!isPractice(kept.entry)) write(screen, entryEvent(kept));
        }
        if (page.length === pageSize) screen.again = true;
      }
    } catch (problem) {
      failed(problem);
    } finally {
      screen.reading = false;
    }
  };
  const handOut = (kept: KeptEntry): void => {
    const text = isPractice(kept.entry) ? undefined : entryEvent(kept);
    for (const screen of screens) {
      if (kept.sequence <= screen.cursor) continue;
      if (kept.sequence === screen.cursor + 1 && !screen.reading) {
        screen.cursor = kept.sequence;
        if (text !== undefined) write(screen, text);
      } else void catchUp(screen);
    }
  };

  /** How far the board has handed out, and how far there is something. */
  let cursor = 0;
  let newest = 0;
  let advancing = false;
  const advance = async (head: number): Promise<void> => {
    newest = Math.max(newest, head);
    if (advancing) return;
    advancing = true;
    try {
      while (cursor < newest) {
        // Nobody looks: whoever comes begins at the head, or reads on from what they have.
        if (screens.size === 0) {
          cursor = newest;
          continue;
        }
        const page = await store.after(cursor, pageSize);
        if (page.length === 0) newest = cursor;
        for (const kept of page) {
          cursor = kept.sequence;
          handOut(kept);
        }
      }
    } catch (problem) {
      failed(problem);
    } finally {
      advancing = false;
    }
  };
  const stop = store.onAppended((head) => void advance(head));

  const aliveEvent = (nowMs: number, head: number): string =>
    `event: alive\ndata: ${JSON.stringify({ serverTime: instantOfMs(nowMs), head, protocolActs: protocolActs() })}\n\n`;

  return {
    join: async (response, { after, mayGoOn }) => {
      const head = await store.head();
      const screen: Screen = {
        response,
        mayGoOn,
        cursor: Math.min(after ?? head, head),
        reading: false,
        again: false,
      };
      screens.add(screen);
      response.on('close', () => screens.delete(screen));
      write(screen, aliveEvent(now(), head));
      await catchUp(screen);
    },
    beat: async (nowMs) => {
      const head = await store.head();
      const text = aliveEvent(nowMs, head);
      void advance(head);
      await Promise.all(
        [...screens].map(async (screen) => {
          if (!(await screen.mayGoOn())) {
            screen.response.end('event: ended\ndata: {}\n\n');
            return;
          }
          if (screen.cursor < head) void catchUp(screen);
          write(screen, text);
        }),
      );
    },
    screens: () => screens.size,
    close: () => {
      stop();
      for (const screen of screens) screen.response.end();
      screens.clear();
    },
  };
}
