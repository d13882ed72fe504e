/**
 * Patient messages over the line, answered after they are on the disk, beside the database alone (one at a time) and beside a
 * server that answers without keeping anything (64 lines, one message in flight on each). Alternately, in one process.
 *
 *     node bench/feed.ts [rounds]
 *
 * Peer      node:sqlite, write-ahead log, synchronous=FULL, one row a commit; a naive frame-and-answer server
 * Aim       0.6 of the first, 0.3 of the second (S-server-measuring)
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { connect, createServer, type AddressInfo, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { defaultSettings } from '../packages/core/src/record/index.ts';
import { frameOf, openFrames } from '../packages/interop/src/hl7v2/index.ts';
import { openSqliteStore } from '../packages/store/src/sqlite/index.ts';
import { fileFeed } from '../apps/server/src/wires/feed-book.ts';
import { listenForMessages } from '../apps/server/src/wires/mllp-listener.ts';
import { openPatientFeed } from '../apps/server/src/wires/patient-feed.ts';

const rounds = Math.max(7, Math.min(25, Number(process.argv[2] ?? 9)));
const single = 200;
const lines = 64;
const perLine = 12;

const folder = mkdtempSync(join(tmpdir(), 'ebbline-bench-'));
const raw = new DatabaseSync(join(folder, 'raw.sqlite'));
raw.exec(
  'pragma journal_mode = wal; pragma synchronous = full; create table message (id integer primary key, content text not null) strict',
);
const insert = raw.prepare('insert into message (content) values (?)');
const store = openSqliteStore({ path: join(folder, 'ours.sqlite'), organisation: 'bench' });
const book = fileFeed(join(folder, 'feed.ndjson'));
const ward = {
  id: 'tern',
  name: 'Tern',
  purpose: 'bench',
  hospital: 'North',
  zone: 'Europe/Lisbon',
  beds: ['1'],
  settings: defaultSettings,
  shiftChanges: [],
};
const feed = openPatientFeed({
  book,
  store,
  wards: () => [ward],
  settings: { name: 'bench', zone: 'Europe/Lisbon' },
  now: () => Date.now(),
});
const ours = await listenForMessages(
  { host: '127.0.0.1', port: 0 },
  { message: (bytes) => feed.take(bytes) },
);
const naive = createServer((socket) => {
  const frames = openFrames(1_000_000);
  socket.setNoDelay(true);
  socket.on('data', (chunk) => {
    for (const framed of frames.take(chunk)) {
      if (framed.kind !== 'message') continue;
      const header = new TextDecoder().decode(framed.bytes).split('\r', 1)[0]?.split('|') ?? [];
      socket.write(
        frameOf(new TextEncoder().encode(`MSH|^~\\&|||||||ACK|1|P|2.5.1\rMSA|AA|${header[9] ?? ''}\r`)),
      );
    }
  });
});
await new Promise<void>((resolve) => {
  naive.listen(0, '127.0.0.1', () => resolve());
});
const naivePort = (naive.address() as AddressInfo).port;

let count = 0;
/** About 410 bytes, as such messages are; one in four is a new patient. */
function message(): Uint8Array {
  count += 1;
  const patient = Math.floor(count / 4);
  return frameOf(
    new TextEncoder().encode(
      [
        `MSH|^~\\&|FEED|NORTH|EBBLINE|NORTH|20260512080000||ADT^${count % 4 === 0 ? 'A01' : 'A08'}|m${count}|P|2.5.1|||AL|NE||UNICODE UTF-8`,
        'EVN||20260512080000|||OPERATOR',
        `PID|1||n${patient}^^^NORTH^MR~${patient}77^^^EAST^PI||Quill^Ada^B||19500203|F|||1 Made-up Street^^Selvoy^^0000||000 000|||S`,
        `PV1|1|I|tern^4^${patient % 30}|E|||200^Made^Up|201^Made^Up||MED|||||||200^Made^Up|IN|v${patient}|||||||||||||||||||||||||20260512080000`,
      ].join('\r'),
    ),
  );
}

async function line(port: number): Promise<{ ask: (bytes: Uint8Array) => Promise<void>; socket: Socket }> {
  const socket = connect({ host: '127.0.0.1', port });
  socket.setNoDelay(true);
  const frames = openFrames(1_000_000);
  let answered = (): void => undefined;
  socket.on('data', (chunk) => {
    for (const framed of frames.take(chunk)) if (framed.kind === 'message') answered();
  });
  await new Promise<void>((resolve) => {
    socket.once('connect', () => resolve());
  });
  const ask = (bytes: Uint8Array): Promise<void> =>
    new Promise((resolve) => {
      answered = resolve;
      socket.write(bytes);
    });
  return { ask, socket };
}
async function timed(work: () => void | Promise<void>): Promise<number> {
  const start = performance.now();
  await work();
  return performance.now() - start;
}
const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] as number;
const report = (name: string, ratios: readonly number[], aim: number): boolean => {
  const middle = median(ratios);
  const spread = `${Math.min(...ratios).toFixed(2)} to ${Math.max(...ratios).toFixed(2)}`;
  process.stdout.write(`${name}: ${middle.toFixed(2)} (${spread} over ${ratios.length} pairs; aim ${aim})\n`);
  return middle >= aim;
};

const one = await line(ours.port);
const many = await Promise.all(Array.from({ length: lines }, () => line(ours.port)));
const manyNaive = await Promise.all(Array.from({ length: lines }, () => line(naivePort)));
const flood = (over: typeof many): Promise<number> =>
  timed(async () => {
    await Promise.all(
      over.map(async ({ ask }) => {
        for (let turn = 0; turn < perLine; turn += 1) await ask(message());
      }),
    );
  });

const oneByOne: number[] = [];
const together: number[] = [];
for (let round = 0; round <= rounds; round += 1) {
  const texts = Array.from({ length: single }, message);
  const rawMs = await timed(() => {
    for (const bytes of texts) insert.run(new TextDecoder().decode(bytes));
  });
  const ownMs = await timed(async () => {
    for (const bytes of texts) await one.ask(bytes);
  });
  const naiveMs = await flood(manyNaive);
  const floodMs = await flood(many);
  await feed.settle();
  // The first round warms all up.
  if (round === 0) continue;
  oneByOne.push(rawMs / ownMs);
  together.push(naiveMs / floodMs);
}
const first = report('messages one at a time, of raw commits', oneByOne, 0.6);
const second = report(`${lines} lines, of answering without keeping`, together, 0.3);
for (const { socket } of [one, ...many, ...manyNaive]) socket.destroy();
await feed.close();
await ours.close();
await new Promise<void>((resolve) => {
  naive.close(() => resolve());
});
await book.close();
await store.close();
raw.close();
rmSync(folder, { recursive: true, force: true });
process.exitCode = first && second ? 0 : 1;
