/**
 * Results of a running server on their way out: the book of those put aside, the line to the receiver, and the beat.
 *
 * Not for   several servers at once: set it on one of them
 */
import { minuteMs } from '@ebbline/core/quantity';
import type { EntryStore } from '@ebbline/store';
import type { Books } from '@ebbline/store/books';
import type { DirectoryBook } from '../directory-book.ts';
import { openSender } from './mllp-sender.ts';
import { openResultFeed, type ResultFeed } from './result-feed.ts';
import { openAside } from './results-aside.ts';

export interface ResultsConfig {
  readonly host: string;
  readonly port: number;
  readonly application: string;
  readonly facility: string;
}

export interface OpenResults {
  readonly feed: ResultFeed;
  /** Sends what waits, and from then on whatever is charted. */
  start(): void;
  close(): void;
}

export async function openResults(parts: {
  readonly config: ResultsConfig;
  readonly books: Books;
  readonly store: EntryStore;
  readonly directory: DirectoryBook;
  readonly now: () => number;
  readonly failed: (problem: unknown) => void;
}): Promise<OpenResults> {
  const { config, books, store, directory, now, failed } = parts;
  const sender = openSender({ host: config.host, port: config.port });
  const feed = openResultFeed({
    store,
    directory: () => directory.current(),
    sender,
    aside: await openAside(books),
    receiver: { application: config.application, facility: config.facility },
    now,
  });
  let closed = false;
  let timer: NodeJS.Timeout | undefined;
  const again = (waitMs: number): void => {
    if (closed) return;
    timer = setTimeout(() => {
      timer = undefined;
      run();
    }, waitMs);
  };
  const run = (): void => {
    // While it waits for a receiver that is down, what is charted waits with it.
    if (closed || timer !== undefined) return;
    feed.pass().then(
      (waitMs) => {
        if (waitMs !== undefined && timer === undefined) again(waitMs);
      },
      (problem: unknown) => {
        failed(problem);
        if (timer === undefined) again(minuteMs);
      },
    );
  };
  const letGo = store.onAppended(run);
  return {
    feed,
    start: run,
    close: () => {
      closed = true;
      clearTimeout(timer);
      letGo();
      sender.close();
    },
  };
}
