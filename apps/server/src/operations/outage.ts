/**
 * When nobody could reach the record, as far as its own store can tell: each minute a running server leaves a mark; a
 * start that finds the last one old knows from when to when there was none. Works after a power cut as after a stop, and
 * for several servers on one store.
 *
 * Units     whole seconds since the epoch in the store's bookmarks
 */
import { minuteMs } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';

type Marks = Pick<EntryStore, 'bookmark' | 'setBookmark'>;

/** A mark is left each minute; without one for longer there was no server. */
const goneAfterMs = 2.5 * minuteMs;

const seconds = (ms: number): number => Math.floor(ms / 1000);

export const markAlive = (store: Marks, nowMs: number): Promise<void> =>
  store.setBookmark('alive', seconds(nowMs));

/** At a start: keeps the hours since the last mark as the newest outage, when there were any. */
export async function noteOutage(store: Marks, nowMs: number): Promise<void> {
  const aliveMs = (await store.bookmark('alive')) * 1000;
  if (aliveMs > 0 && nowMs - aliveMs > goneAfterMs) {
    await store.setBookmark('outage-from', seconds(aliveMs));
    await store.setBookmark('outage-to', seconds(nowMs));
  }
  await markAlive(store, nowMs);
}

export async function lastOutage(
  store: Pick<EntryStore, 'bookmark'>,
): Promise<{ readonly fromMs: number; readonly toMs: number } | undefined> {
  const [from, to] = [await store.bookmark('outage-from'), await store.bookmark('outage-to')];
  return from === 0 ? undefined : { fromMs: from * 1000, toMs: to * 1000 };
}
