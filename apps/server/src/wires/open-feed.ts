/**
 * The patient feed of a running server: its book in the data folder, the door on which it listens, and the record behind it.
 *
 * Errors    `server/feed-file`, `server/feed-characters`; a port that is taken throws as the platform says it
 */
import { join } from 'node:path';
import { refuse, RefusalError } from '@ebbline/core/quantity';
import { characterSets } from '@ebbline/interop/hl7v2';
import type { EntryStore } from '@ebbline/store';
import type { DirectoryBook } from '../directory-book.ts';
import { fileFeed, memoryFeed } from './feed-book.ts';
import { listenForMessages, type Listener } from './mllp-listener.ts';
import { openPatientFeed, type PatientFeed } from './patient-feed.ts';

export const feedFileName = 'feed.ndjson';

export interface FeedConfig {
  readonly host: string;
  readonly port: number;
  readonly zone: string | undefined;
  readonly characters: string;
  /** What the feed calls a ward → the ward's id here. */
  readonly wards: Readonly<Record<string, string>>;
}

export interface OpenFeed {
  readonly feed: PatientFeed;
  /** Opens the door; until then nothing comes in. */
  listen(): Promise<Listener>;
  close(): Promise<void>;
}

export interface OpenFeedParts {
  readonly config: FeedConfig;
  /** Data folder; absent for a demo, whose messages are forgotten with it. */
  readonly folder: string | undefined;
  readonly store: EntryStore;
  readonly directory: DirectoryBook;
  readonly now: () => number;
  readonly failed: (problem: unknown) => void;
  readonly fault: (what: string) => void;
}

export function openFeed({ config, folder, store, directory, now, failed, fault }: OpenFeedParts): OpenFeed {
  if (!characterSets.includes(config.characters))
    throw new RefusalError(
      refuse('server/feed-characters', {
        asked: 'Patient feed',
        found: 'characters that are not known',
        allowed: characterSets.join(', '),
        todo: 'Set EBBLINE_MLLP_CHARACTERS to one of these.',
      }),
    );
  const book = folder === undefined ? memoryFeed() : fileFeed(join(folder, feedFileName));
  const zone = config.zone ?? directory.current().wards[0]?.zone ?? 'UTC';
  const feed = openPatientFeed({
    book,
    store,
    wards: () => directory.current().wards,
    settings: { name: 'hospital', zone, characters: config.characters, wards: config.wards },
    now,
    failed,
  });
  let listener: Listener | undefined;
  return {
    feed,
    listen: async () => {
      // What was kept and not brought in before the last stop.
      await feed.settle().catch(failed);
      listener = await listenForMessages(
        { host: config.host, port: config.port },
        { message: (bytes) => feed.take(bytes), fault },
      );
      return listener;
    },
    close: async () => {
      await listener?.close();
      await feed.close().catch(failed);
      await book.close();
    },
  };
}
