/**
 * The live line against plain server-sent events: from the moment an entry is kept to the moment the last of 200 open
 * screens has it, ours and a bare HTTP server that writes the same text, alternately, in one process. Prints the ratio.
 *
 *     node bench/live.ts [rounds]
 *
 * Peer      node:http, `response.write` to 200 sockets
 * Aim       at most twice the peer's time, by the median of the pairs (S-server-measuring)
 */
import { createServer, get, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { buildServer, fixedDirectory, type AccountBook } from '../apps/server/src/index.ts';
import { openMemoryStore } from '../packages/store/src/memory/index.ts';
import { entryMaker, organisation } from '../packages/store/src/testing/entries.ts';

const rounds = Math.max(21, Math.min(200, Number(process.argv[2] ?? 61)));
const screens = 200;

const nobody: AccountBook = {
  secretIs: async () => false,
  pinIs: async () => false,
  set: async () => undefined,
  setFirst: async () => false,
};
const store = openMemoryStore({ organisation });
// Before the server listens: the moment at which an entry is kept.
let keptAt = 0;
store.onAppended(() => {
  keptAt = performance.now();
});
const server = await buildServer({
  store,
  directory: fixedDirectory({ organisation, wards: [], people: [], scanners: [] }),
  accounts: nobody,
  tokens: { find: async () => ({ id: 'machine-bench', role: 'integration' }) },
  now: () => Date.now(),
  log: false,
});
const ours = await server.listen({ port: 0, host: '127.0.0.1' });
const open = new Set<ServerResponse>();
const plain = createServer((_request, response) => {
  response.writeHead(200, { 'content-type': 'text/event-stream' });
  response.socket?.setNoDelay(true);
  response.write('event: alive\ndata: {}\n\n');
  open.add(response);
});
await new Promise<void>((resolve) => plain.listen(0, '127.0.0.1', resolve));
const peer = `http://127.0.0.1:${(plain.address() as AddressInfo).port}`;

/** Counts `entry` events of many screens; `all` resolves when each has one more. */
async function openScreens(url: string) {
  let missing = 0;
  let done = (): void => undefined;
  const answers: IncomingMessage[] = [];
  for (let index = 0; index < screens; index += 1) {
    const answer = await new Promise<IncomingMessage>((resolve, reject) =>
      get(url, { headers: { authorization: 'Bearer bench' }, agent: false }, resolve).on('error', reject),
    );
    let text = '';
    answer.setEncoding('utf8');
    answer.on('data', (part: string) => {
      text += part;
      for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
        if (text.startsWith('event: entry') && (missing -= 1) === 0) done();
        text = text.slice(end + 2);
      }
    });
    answers.push(answer);
  }
  return {
    all: () =>
      new Promise<void>((resolve) => {
        missing = screens;
        done = resolve;
      }),
    close: () => {
      for (const answer of answers) answer.destroy();
    },
  };
}

const [ourScreens, peerScreens] = [await openScreens(`${ours}/api/live`), await openScreens(peer)];
const make = entryMaker(1);
const ratios: number[] = [];
const oursMs: number[] = [];
const peersMs: number[] = [];
for (let round = 0; round < rounds + 5; round += 1) {
  const entry = make.voided('p1');
  let waiting = ourScreens.all();
  const { kept } = await store.append([entry], { receivedAt: entry.recordedAt, actor: 'bench' });
  const one = kept.map(({ entry: inside, receivedAt, sequence }) => ({
    entry: inside,
    receivedAt,
    sequence,
  }));
  await waiting;
  const ourMs = performance.now() - keptAt;

  const text = `event: entry\nid: ${round}\ndata: ${JSON.stringify(one[0])}\n\n`;
  waiting = peerScreens.all();
  const start = performance.now();
  for (const response of open) response.write(text);
  await waiting;
  const peerMs = performance.now() - start;
  // The first rounds warm both up.
  if (round < 5) continue;
  ratios.push(ourMs / peerMs);
  oursMs.push(ourMs);
  peersMs.push(peerMs);
}
const sorted = ratios.toSorted((a, b) => a - b);
const middle = sorted[Math.floor(sorted.length / 2)] as number;
process.stdout.write(
  `kept to the last of ${screens} screens: ${middle.toFixed(2)} of plain server-sent events (${sorted[0]?.toFixed(2)} to ${sorted.at(-1)?.toFixed(2)} over ${sorted.length} pairs; aim at most 2)\n`,
);
const at = (values: readonly number[], share: number): string =>
  `${(values.toSorted((a, b) => a - b)[Math.ceil(share * values.length) - 1] as number).toFixed(1)} ms`;
// Times belong to this machine at this moment: they are read beside the peer's, never alone.
process.stdout.write(
  `ours half ${at(oursMs, 0.5)}, 99 in 100 ${at(oursMs, 0.99)} (aim 60 ms on a machine at rest); peer ${at(peersMs, 0.5)}, ${at(peersMs, 0.99)}\n`,
);
ourScreens.close();
peerScreens.close();
plain.closeAllConnections();
plain.close();
await server.close();
if (middle > 2) process.exitCode = 1;
