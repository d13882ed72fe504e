/**
 * Fans kept entries out to open screens as server-sent events, whichever process kept them, to each screen those of the
 * patients whom it follows. Screens of one scope (a ward, mostly) share a reading: the board reads on from the store when
 * that tells of something new about a patient of theirs. Each screen has a cursor; one that is where its scope is gets the
 * page that was read, any other reads for itself, so that a screen sees everything once, whatever happened between.
 *
 * Events    `entry` (id = cursor once it is taken, data = KeptEntry and {after, through}: cursor to have had before, and
 *           after) · `left` (data = {patients} who are followed no longer) · `alive` (data = {serverTime, head,
 *           protocolActs}; head = how far this line has handed out) · `ended` (the session is over)
 */
import type { ServerResponse } from 'node:http';
import { instantOfMs } from '@ebbline/core/quantity';
import { isPractice, type Entry, type KeptEntry } from '@ebbline/core/record';
import { isInReach, type EntryStore } from '@ebbline/store';
import type { ReadScope } from '../reach.ts';

const pageSize = 500;
/** A screen that takes nothing any more is let go once so much waits for it; it comes back and reads on. */
const mostWaitingBytes = 1_048_576;
/** The screens grey out after two missed ones. */
export const aliveEveryMs = 5_000;

interface Reading {
  cursor: number;
  reading: boolean;
  /** Something new came while it read: its last page may have been read before. */
  again: boolean;
}
interface Screen extends Reading {
  readonly response: ServerResponse;
  readonly mayGoOn: () => Promise<boolean>;
  readonly person: string | undefined;
}
interface Scope extends Reading {
  readonly key: string;
  readonly scopeOf: () => ReadScope;
  readonly screens: Set<Screen>;
  /** Whom it followed at the last beat. */
  patients: readonly string[];
}

export interface LiveBoard {
  /**
   * Writes to a response until it closes. `after` = the cursor that the screen has, head when undefined; `scopeOf` = what
   * it may read, asked again and again: when its key has changed the line ends, and the screen begins anew.
   */
  join(
    response: ServerResponse,
    options: {
      readonly after: number | undefined;
      readonly mayGoOn: () => Promise<boolean>;
      readonly scopeOf: () => ReadScope;
      readonly person?: string;
    },
  ): Promise<void>;
  /** One `alive` to every screen. */
  beat(nowMs: number): Promise<void>;
  screens(): number;
  close(): void;
}

interface Page {
  readonly entries: readonly KeptEntry[];
  readonly through: number;
  /** True when more may be left. */
  readonly more: boolean;
}

/** The events of one page. A page in order moves the cursor entry by entry; one with older entries only at its end. */
function eventsOf(after: number, { entries, through }: Page): string {
  const inOrder = entries.every(
    ({ sequence }, index) => sequence > (entries[index - 1]?.sequence ?? after) && sequence <= through,
  );
  let before = after;
  return entries
    .map((kept, index) => {
      const last = index === entries.length - 1;
      const then = last ? through : inOrder ? kept.sequence : before;
      const data = JSON.stringify({ ...kept, after: before, through: then });
      before = then;
      return `event: entry\nid: ${then}\ndata: ${data}\n\n`;
    })
    .join('');
}

/** Touches the standing of an entry that may be in anybody's record. */
const reachesFar = (entry: Entry): boolean =>
  entry.kind === 'withdrawn' || entry.kind === 'moved-to-patient' || entry.corrects !== undefined;

/** @param failed told when the store could not be read; the next beat tries again */
export function createLiveBoard(
  store: EntryStore,
  now: () => number,
  protocolActs: () => number = () => 0,
  failed: (problem: unknown) => void = () => undefined,
): LiveBoard {
  const scopes = new Map<string, Scope>();
  const allScreens = (): readonly Screen[] => [...scopes.values()].flatMap(({ screens }) => [...screens]);

  const write = (screen: Screen, text: string): void => {
    if (screen.response.destroyed || screen.response.writableEnded || text === '') return;
    screen.response.write(text);
    if (screen.response.writableLength > mostWaitingBytes) screen.response.destroy();
  };
  const read = async (scope: Scope, cursor: number): Promise<Page> => {
    const { reach } = scope.scopeOf();
    if (reach !== undefined) {
      const head = await store.head();
      const page = await store.afterInReach(cursor, reach, pageSize);
      return { ...page, more: page.through < head };
    }
    const page = await store.after(cursor, pageSize);
    return {
      entries: page.filter(({ entry }) => !isPractice(entry)),
      through: page.at(-1)?.sequence ?? cursor,
      more: page.length === pageSize,
    };
  };
  /** Reads on until nothing is left; `took` gets each page with the cursor before it. */
  const readOn = async (
    scope: Scope,
    reading: Reading,
    isGone: () => boolean,
    took: (before: number, page: Page) => void,
  ): Promise<void> => {
    reading.again = true;
    if (reading.reading) return;
    reading.reading = true;
    try {
      while (reading.again && !isGone()) {
        reading.again = false;
        const before = reading.cursor;
        const page = await read(scope, before);
        reading.cursor = Math.max(before, page.through);
        took(before, page);
        if (page.more) reading.again = true;
      }
    } catch (problem) {
      // Still owed: the next beat reads again.
      reading.again = true;
      failed(problem);
    } finally {
      reading.reading = false;
    }
  };
  const catchUp = (scope: Scope, screen: Screen): Promise<void> =>
    readOn(
      scope,
      screen,
      () => screen.response.destroyed,
      (before, page) => write(screen, eventsOf(before, page)),
    );
  const readFor = (scope: Scope): Promise<void> =>
    readOn(
      scope,
      scope,
      () => scope.screens.size === 0,
      (before, page) => {
        const text = eventsOf(before, page);
        for (const screen of scope.screens) {
          if (screen.cursor >= scope.cursor) continue;
          if (screen.cursor === before && !screen.reading) {
            screen.cursor = scope.cursor;
            write(screen, text);
          } else void catchUp(scope, screen);
        }
      },
    );

  /** Scopes to which this may be news. */
  const concerned = async (page: readonly KeptEntry[]): Promise<ReadonlySet<Scope>> => {
    const found = new Set<Scope>();
    const far = page.some(({ entry }) => reachesFar(entry));
    for (const scope of scopes.values()) if (far || scope.scopeOf().reach === undefined) found.add(scope);
    for (const patient of new Set(page.map(({ entry }) => entry.patient))) {
      if (found.size === scopes.size) break;
      const following = await store.followingOf(patient);
      if (following === undefined) continue;
      const persons = new Set(following.followers.flatMap(({ kind, id }) => (kind === 'person' ? [id] : [])));
      for (const scope of scopes.values()) {
        const { reach, personal } = scope.scopeOf();
        if (reach === undefined) continue;
        if (isInReach(following, reach)) found.add(scope);
        else if (!personal && persons.size > 0)
          // Somebody here follows a patient whom their ward does not: they come back and read for themselves.
          for (const screen of scope.screens)
            if (screen.person !== undefined && persons.has(screen.person)) screen.response.end();
      }
    }
    return found;
  };

  /** How far the board has looked, and how far there is something. */
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
        if (scopes.size === 0) {
          cursor = newest;
          continue;
        }
        const page = await store.after(cursor, pageSize);
        if (page.length === 0) newest = cursor;
        else {
          const news = await concerned(page);
          cursor = page.at(-1)?.sequence ?? cursor;
          for (const scope of news) void readFor(scope);
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

  /** Tells the screens of a scope who is followed no longer. */
  const tellLeft = async (scope: Scope): Promise<void> => {
    const { reach } = scope.scopeOf();
    if (reach === undefined) return;
    const patients = await store.patientsInReach(reach);
    const left = scope.patients.filter((patient) => !patients.includes(patient));
    scope.patients = patients;
    if (left.length === 0) return;
    const text = `event: left\ndata: ${JSON.stringify({ patients: left })}\n\n`;
    for (const screen of scope.screens) write(screen, text);
  };
  const scopeFor = async (scopeOf: () => ReadScope, head: number): Promise<Scope> => {
    const { key, reach } = scopeOf();
    const patients = reach === undefined ? [] : await store.patientsInReach(reach);
    const held = scopes.get(key);
    if (held) return held;
    const scope: Scope = {
      key,
      scopeOf,
      screens: new Set(),
      patients,
      cursor: head,
      reading: false,
      again: false,
    };
    scopes.set(key, scope);
    return scope;
  };
  const leave = (scope: Scope, screen: Screen): void => {
    scope.screens.delete(screen);
    if (scope.screens.size === 0 && scopes.get(scope.key) === scope) scopes.delete(scope.key);
  };

  return {
    join: async (response, { after, mayGoOn, scopeOf, person }) => {
      const head = await store.head();
      const scope = await scopeFor(scopeOf, head);
      const screen: Screen = {
        response,
        mayGoOn,
        person,
        cursor: Math.min(after ?? head, head),
        reading: false,
        again: false,
      };
      scopes.set(scope.key, scope);
      scope.screens.add(screen);
      response.on('close', () => leave(scope, screen));
      if (response.destroyed) leave(scope, screen);
      write(screen, aliveEvent(now(), screen.cursor));
      await catchUp(scope, screen);
    },
    beat: async (nowMs) => {
      const head = await store.head();
      void advance(head);
      for (const scope of scopes.values()) {
        const gone = scope.scopeOf().key !== scope.key;
        if (!gone) {
          await tellLeft(scope).catch(failed);
          // Whatever was not told, or could not be read when it was.
          await readFor(scope);
        }
        await Promise.all(
          [...scope.screens].map(async (screen) => {
            if (!(await screen.mayGoOn())) {
              screen.response.end('event: ended\ndata: {}\n\n');
              return;
            }
            // The person's wards are others now: the screen comes back and begins anew.
            if (gone) {
              screen.response.end();
              return;
            }
            if (screen.again || screen.cursor < scope.cursor) void catchUp(scope, screen);
            write(screen, aliveEvent(nowMs, screen.cursor));
          }),
        );
      }
    },
    screens: () => allScreens().length,
    close: () => {
      stop();
      for (const screen of allScreens()) screen.response.end();
      scopes.clear();
    },
  };
}
