/**
 * What this tablet has shown to whom: noted on the tablet at once, also without the network, and told to the ward's record
 * when it can be reached. Ids only. What was told twice counts once, by its id.
 *
 * Units     milliseconds since the epoch
 */
import { instantOfMs, minuteMs, uuidV7 } from '@ebbline/core/quantity';
import type { ShownPage } from '@ebbline/core/record';
import { nowMs, pageTimers, randomBytes, type Timers } from './clock.ts';

export interface Shown {
  readonly person: string;
  readonly shown: ShownPage;
  readonly patient?: string;
  readonly ward?: string;
}
export interface ShownView extends Shown {
  readonly id: string;
  readonly at: string;
}

/** Where views wait. */
export interface ViewShelf {
  add(view: ShownView): Promise<void>;
  first(limit: number): Promise<readonly ShownView[]>;
  drop(ids: readonly string[]): Promise<void>;
}

export interface ViewLog {
  /** The same page shown again to the same person within a minute is one look. */
  note(shown: Shown): void;
  /** Tells what waits; resolves when nothing waits or the record is out of reach. */
  tell(): Promise<void>;
}

export interface ViewLogOptions {
  readonly shelf: ViewShelf;
  /** True when the ward's record has taken them. */
  readonly send: (views: readonly ShownView[]) => Promise<boolean>;
  readonly now?: () => number;
  readonly random?: (count: number) => ArrayLike<number>;
  readonly timers?: Timers;
}

/** Well below what the ward's record takes at once. */
const batch = 200;
const soonMs = 2_000;
const againMs = minuteMs;

export function createViewLog({
  shelf,
  send,
  now = nowMs,
  random = randomBytes,
  timers = pageTimers,
}: ViewLogOptions): ViewLog {
  const lastMs = new Map<string, number>();
  let timer: unknown;
  let telling: Promise<void> | undefined;

  const later = (waitMs: number): void => {
    timers.clear(timer);
    timer = timers.set(() => void log.tell(), waitMs);
  };
  const tellAll = async (): Promise<void> => {
    for (;;) {
      const waiting = await shelf.first(batch);
      if (waiting.length === 0) return;
      if (!(await send(waiting))) {
        later(againMs);
        return;
      }
      await shelf.drop(waiting.map(({ id }) => id));
    }
  };
  const log: ViewLog = {
    note: (shown) => {
      const atMs = now();
      const key = JSON.stringify([shown.person, shown.shown, shown.patient, shown.ward]);
      const before = lastMs.get(key);
      if (before !== undefined && Math.abs(atMs - before) < minuteMs) return;
      lastMs.set(key, atMs);
      void shelf
        .add({ ...shown, id: uuidV7(atMs, random(10)), at: instantOfMs(atMs) })
        .then(() => later(soonMs));
    },
    tell: () =>
      (telling ??= tellAll().finally(() => {
        telling = undefined;
      })),
  };
  return log;
}

/** For a browser that keeps nothing: views wait as long as the page is open. */
export function memoryShelf(): ViewShelf {
  const views = new Map<string, ShownView>();
  return {
    add: async (view) => void views.set(view.id, view),
    first: async (limit) => [...views.values()].slice(0, limit),
    drop: async (ids) => {
      for (const id of ids) views.delete(id);
    },
  };
}

const databaseName = 'ebbline-views';
const storeName = 'views';

/** Ids are made in order of time, so that the first are the oldest. */
export function indexedShelf(factory: IDBFactory = indexedDB): ViewShelf {
  let opened: Promise<IDBDatabase> | undefined;
  const database = (): Promise<IDBDatabase> =>
    (opened ??= new Promise((resolve, reject) => {
      const request = factory.open(databaseName, 1);
      request.addEventListener('upgradeneeded', () => {
        request.result.createObjectStore(storeName, { keyPath: 'id' });
      });
      request.addEventListener('success', () => resolve(request.result));
      request.addEventListener('error', () => reject(request.error ?? new Error('no views are kept')));
    }));
  const write = async (work: (store: IDBObjectStore) => void): Promise<void> => {
    const transaction = (await database()).transaction(storeName, 'readwrite', { durability: 'strict' });
    await new Promise<void>((resolve, reject) => {
      transaction.addEventListener('complete', () => resolve());
      transaction.addEventListener('abort', () => reject(transaction.error ?? new Error('not written')));
      work(transaction.objectStore(storeName));
    });
  };
  return {
    add: (view) => write((store) => store.put(view)),
    first: async (limit) => {
      const request = (await database()).transaction(storeName).objectStore(storeName).getAll(null, limit);
      return new Promise((resolve, reject) => {
        request.addEventListener('success', () => resolve(request.result as ShownView[]));
        request.addEventListener('error', () => reject(request.error ?? new Error('not read')));
      });
    },
    drop: (ids) =>
      write((store) => {
        for (const id of ids) store.delete(id);
      }),
  };
}

/** Keeps in memory from the moment that the browser keeps nothing. */
function lastingWhenPossible(): ViewShelf {
  let shelf = typeof indexedDB === 'undefined' ? memoryShelf() : indexedShelf();
  return {
    add: (view) =>
      shelf.add(view).catch(() => {
        shelf = memoryShelf();
        return shelf.add(view);
      }),
    first: (limit) => shelf.first(limit).catch(() => []),
    drop: (ids) => shelf.drop(ids).catch(() => undefined),
  };
}

const sendByHttp = (views: readonly ShownView[]): Promise<boolean> =>
  fetch('/api/audit/views', {
    method: 'POST',
    credentials: 'same-origin',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ views }),
  }).then(
    ({ ok }) => ok,
    () => false,
  );

/** The log of this page. */
export const viewLog: ViewLog = createViewLog({ shelf: lastingWhenPossible(), send: sendByHttp });
// A page drawn outside a browser has no network to come back.
if ('addEventListener' in globalThis) addEventListener('online', () => void viewLog.tell());

const cookieDays = 400;

/** The name of this tablet goes with every request, also with a link to a printed page. */
export function tellTabletName(name: string): void {
  if (typeof document === 'undefined' || typeof location === 'undefined') return;
  const secure = location.protocol === 'https:' ? '; Secure' : '';
  document.cookie = `ebbline-tablet=${name}; Path=/; SameSite=Strict; Max-Age=${cookieDays * 86_400}${secure}`;
}
