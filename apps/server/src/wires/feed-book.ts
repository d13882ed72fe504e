/**
 * Every message that came in by a wire, as it came: kept before it is answered, never changed. What became of it is worked
 * out from it anew whenever somebody asks, so that a message can be looked at again under other settings.
 *
 * Files     feed.ndjson: one JSON line each, on the disk before `add` resolves; lines that wait share one write
 * Errors    `server/feed-file`; a disk that fails throws, and nothing of that add is kept
 */
import { closeSync, fdatasyncSync, ftruncateSync, openSync, readFileSync, writeSync } from 'node:fs';
import { refuse, RefusalError, type Instant } from '@ebbline/core/quantity';
import { z } from 'zod';

const shape = z.strictObject({
  /** From 1 without a gap. */
  number: z.number().int().min(1),
  receivedAt: z.string(),
  /** Name of the feed. */
  feed: z.string(),
  /** The bytes as base64: what can't be read is kept too. */
  bytes: z.string(),
});

export interface FeedMessage {
  readonly number: number;
  readonly receivedAt: Instant;
  readonly feed: string;
  readonly bytes: Uint8Array;
}

export interface FeedBook {
  add(feed: string, bytes: Uint8Array, receivedAt: Instant): Promise<FeedMessage>;
  /** Messages after a number, ascending. */
  after(number: number, limit: number): Promise<readonly FeedMessage[]>;
  head(): Promise<number>;
  close(): Promise<void>;
}

function bookOf(
  first: readonly FeedMessage[],
  save: (messages: readonly FeedMessage[]) => void,
  close: () => void,
): FeedBook {
  const kept = [...first];
  let waiting: { readonly message: FeedMessage; done(): void; failed(problem: unknown): void }[] = [];
  let given = first.length;
  let saving = false;

  /** What came while the disk was busy goes to it together. */
  const saveAll = async (): Promise<void> => {
    if (saving) return;
    saving = true;
    // Those of one turn of the loop are gathered before the first write.
    await Promise.resolve();
    while (waiting.length > 0) {
      const some = waiting;
      waiting = [];
      try {
        save(some.map(({ message }) => message));
        kept.push(...some.map(({ message }) => message));
        for (const one of some) one.done();
      } catch (problem) {
        // Their numbers are given again: none of them was kept.
        const lost = [...some, ...waiting];
        waiting = [];
        given = kept.length;
        for (const one of lost) one.failed(problem);
      }
      await new Promise((resolve) => setImmediate(resolve));
    }
    saving = false;
  };

  return {
    add: (feed, bytes, receivedAt) =>
      new Promise((resolve, reject) => {
        const message = { number: (given += 1), receivedAt, feed, bytes };
        waiting.push({ message, done: () => resolve(message), failed: reject });
        void saveAll();
      }),
    after: async (number, limit) => kept.slice(number, number + limit),
    head: async () => kept.length,
    close: async () => close(),
  };
}

export const memoryFeed = (): FeedBook =>
  bookOf(
    [],
    () => undefined,
    () => undefined,
  );

function readLines(text: string): readonly FeedMessage[] {
  return text
    .split('\n')
    .slice(0, -1)
    .map((line, at) => {
      let read: unknown;
      try {
        read = JSON.parse(line);
      } catch {
        read = undefined;
      }
      const checked = shape.safeParse(read);
      if (!checked.success || checked.data.number !== at + 1)
        throw new RefusalError(
          refuse('server/feed-file', {
            asked: 'Messages of the hospital’s systems',
            found: 'a line of feed.ndjson that is not as it was written',
            allowed: 'the file that this program wrote',
            todo: 'Bring it back from a backup.',
            where: `line ${at + 1}`,
          }),
        );
      return { ...checked.data, bytes: Uint8Array.from(Buffer.from(checked.data.bytes, 'base64')) };
    });
}

export function fileFeed(path: string): FeedBook {
  const file = openSync(path, 'a+', 0o600);
  const before = readFileSync(file);
  // Half a line is what a killed process left; its message was not answered.
  let bytes = before.lastIndexOf(0x0a) + 1;
  if (bytes < before.length) ftruncateSync(file, bytes);
  return bookOf(
    readLines(before.subarray(0, bytes).toString('utf8')),
    (messages) => {
      const lines = Buffer.from(
        messages
          .map((one) => `${JSON.stringify({ ...one, bytes: Buffer.from(one.bytes).toString('base64') })}\n`)
          .join(''),
      );
      try {
        for (let done = 0; done < lines.length; done += writeSync(file, lines, done));
        fdatasyncSync(file);
        bytes += lines.length;
      } catch (problem) {
        ftruncateSync(file, bytes);
        throw problem;
      }
    },
    () => closeSync(file),
  );
}
