/**
 * Every message that came in by a wire, as it came: kept before it is answered, never changed. What became of it is worked
 * out from it anew whenever somebody asks, so that a message can be looked at again under other settings.
 *
 * Files     feed.ndjson: one JSON line each, on the disk before `add` resolves; lines that wait share one write
 * Errors    `server/feed-file`; a disk that fails throws, and nothing of that add is kept
 */
import {
  closeSync,
  constants,
  fdatasyncSync,
  ftruncateSync,
  openSync,
  readFileSync,
  writeSync,
} from 'node:fs';
import { refuse, RefusalError, type Instant } from '@ebbline/core/quantity';
import { z } from 'zod';

const shape = z.strictObject({
  /** From 1 without a gap. */
  number: z.number().int().min(1),
  /** Number of the first message of the same write. */
  since: z.number().int().min(1),
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

/** What a line says; nothing when it does not read. */
function readLine(line: string): z.infer<typeof shape> | undefined {
  try {
    return shape.safeParse(JSON.parse(line)).data;
  } catch {
    return undefined;
  }
}

/**
 * A power cut may leave any part of the last write, and none of its messages was answered: what is broken there is cut off.
 * A broken line before a later write is a damaged file.
 *
 * @returns the messages, and how many bytes of the file they take
 */
function readLines(text: string): { readonly messages: readonly FeedMessage[]; readonly bytes: number } {
  const messages: FeedMessage[] = [];
  let bytes = 0;
  // Behind the last message lies room, written as ends of line.
  const written = text.trimEnd();
  const lines = written.split('\n');
  for (const [at, line] of lines.entries()) {
    // A line without its end is not whole, though it may read.
    const ended = at < lines.length - 1 || written.length < text.length;
    const read = ended ? readLine(line) : undefined;
    if (read?.number !== at + 1) {
      const later = lines.slice(at + 1).some((other) => (readLine(other)?.since ?? 0) > at + 1);
      if (!later && (read === undefined || read.since <= at + 1)) break;
      throw new RefusalError(
        refuse('server/feed-file', {
          asked: 'Messages of the hospital’s systems',
          found: 'a line of feed.ndjson that is not as it was written',
          allowed: 'the file that this program wrote',
          todo: 'Bring it back from a backup.',
          where: `line ${at + 1}`,
        }),
      );
    }
    const { since: _since, ...message } = read;
    messages.push({ ...message, bytes: Uint8Array.from(Buffer.from(read.bytes, 'base64')) });
    bytes += Buffer.byteLength(line) + 1;
  }
  return { messages, bytes };
}

/** A file that need not grow is on the disk sooner: room is made for so much at a time. */
const roomBytes = 1 << 18;

export function fileFeed(path: string): FeedBook {
  const file = openSync(path, constants.O_RDWR | constants.O_CREAT, 0o600);
  const read = readLines(readFileSync(file, 'utf8'));
  let end = read.bytes;
  ftruncateSync(file, end);
  let room = end;
  const put = (bytes: Buffer, at: number): void => {
    for (
      let done = 0;
      done < bytes.length;
      done += writeSync(file, bytes, done, bytes.length - done, at + done)
    );
  };
  return bookOf(
    read.messages,
    (messages) => {
      const lines = Buffer.from(
        messages
          .map(
            (one) =>
              `${JSON.stringify({ ...one, since: messages[0]?.number, bytes: Buffer.from(one.bytes).toString('base64') })}\n`,
          )
          .join(''),
      );
      try {
        if (end + lines.length > room) {
          put(Buffer.alloc(lines.length + roomBytes, '\n'), room);
          room += lines.length + roomBytes;
        }
        put(lines, end);
        fdatasyncSync(file);
        end += lines.length;
      } catch (problem) {
        // What was not kept is not there after a restart either.
        ftruncateSync(file, end);
        room = end;
        throw problem;
      }
    },
    () => {
      ftruncateSync(file, end);
      closeSync(file);
    },
  );
}
