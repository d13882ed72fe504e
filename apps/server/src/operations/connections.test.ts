// Proves     a stop finishes what runs and takes nothing new; a client that sends a byte a second is cut; 500 idle connections keep
//            nobody out; limits of size and rate hold at the very limit; TLS by certificate and key; request ids carry no words
// Published  none
// Tolerance  the cut within a second of its time
import { connect, type AddressInfo, type Socket } from 'node:net';
import { request } from 'node:https';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { openMemoryStore } from '@ebbline/store/memory';
import { bodyLimitBytes } from '../build-server.ts';
import { openWorld, organisation, startMs, type World } from '../testing/world.ts';
import { selfSigned } from '../testing/self-signed.ts';
import { finishRequests, within } from './stopping.ts';
import { readTls } from './tls.ts';

const worlds: World[] = [];
const sockets: Socket[] = [];
afterEach(async () => {
  for (const socket of sockets.splice(0)) socket.destroy();
  for (const world of worlds.splice(0)) await world.server.close();
});
async function listening(options: Parameters<typeof openWorld>[0] = {}): Promise<[World, number]> {
  const world = await openWorld(options);
  worlds.push(world);
  await world.server.listen({ host: '127.0.0.1', port: 0 });
  return [world, (world.server.server.address() as AddressInfo).port];
}
const opened = (port: number): Promise<Socket> =>
  new Promise((resolve, reject) => {
    const socket = connect(port, '127.0.0.1', () => resolve(socket));
    socket.on('error', reject);
    sockets.push(socket);
  });
const ended = (socket: Socket): Promise<string> =>
  new Promise((resolve) => {
    let text = '';
    socket.on('data', (part: Buffer) => (text += part.toString()));
    socket.on('close', () => resolve(text));
  });

describe('a stop', () => {
  it('finishes 40 saves that run, and keeps what it answered for', async () => {
    const store = openMemoryStore({ organisation });
    let go = (): void => undefined;
    const gate = new Promise<void>((resolve) => (go = resolve));
    let waiting = 0;
    const [world, port] = await listening({
      store: {
        ...store,
        append: async (...given) => {
          waiting += 1;
          await gate;
          return store.append(...given);
        },
      },
    });
    const cookie = await world.signIn('nurse');
    const live = await fetch(`http://127.0.0.1:${port}/api/live`, { headers: { cookie } });
    const answers = Array.from({ length: 40 }, (_, one) =>
      fetch(`http://127.0.0.1:${port}/api/entries`, {
        method: 'POST',
        headers: { cookie, 'content-type': 'application/json' },
        body: JSON.stringify({ entries: [world.registered(`p${one}`)] }),
      }),
    );
    await expect.poll(() => waiting).toBe(40);
    const stopped = finishRequests(world.server, 5_000);
    // The live line ends by itself: its screens come back to whoever is there next.
    await live.text();
    await expect(opened(port)).rejects.toThrow('ECONNREFUSED');
    go();
    const done = await Promise.all(answers);
    expect(done.map(({ status }) => status)).toEqual(Array.from({ length: 40 }, () => 200));
    const kept = await Promise.all(done.map(async (one) => (await one.json()) as { kept: unknown[] }));
    expect(kept.every((one) => one.kept.length === 1)).toBe(true);
    await stopped;
    expect(await store.head()).toBe(40);
  });

  it('cuts what does not come to its end in time', async () => {
    const store = openMemoryStore({ organisation });
    const [world, port] = await listening({
      store: { ...store, append: () => new Promise(() => undefined) },
    });
    const cookie = await world.signIn('nurse');
    const answer = fetch(`http://127.0.0.1:${port}/api/entries`, {
      method: 'POST',
      headers: { cookie, 'content-type': 'application/json' },
      body: JSON.stringify({ entries: [world.registered('p1')] }),
    });
    const refused = expect(answer).rejects.toThrow('fetch failed');
    await expect
      .poll(() => (world.server.server as unknown as { _connections: number })._connections)
      .toBe(1);
    const startedMs = performance.now();
    expect(await within(finishRequests(world.server, 200), 5_000)).toBe(true);
    expect(performance.now() - startedMs).toBeGreaterThanOrEqual(190);
    await refused;
  });
});

/** Sends one byte each time the interval comes round until it is cut; seconds until then, and what was answered. */
async function drip(port: number, text: string, everyMs: number): Promise<[number, string]> {
  const socket = await opened(port);
  const startedMs = performance.now();
  let at = 0;
  const timer = setInterval(() => socket.write(text[at++ % text.length] ?? 'x'), everyMs);
  const answer = await ended(socket);
  clearInterval(timer);
  return [(performance.now() - startedMs) / 1000, answer];
}
const slowHead = `GET /healthz HTTP/1.1\r\nx-slow: ${'z'.repeat(4_000)}`;
const slowBody = `POST /api/sign-in HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ncontent-length: 4000\r\n\r\n`;

describe('a client that drips', () => {
  it('is cut at the time, in its head and in its body', async () => {
    const [, port] = await listening({ requestWithinMs: 600 });
    const cuts = await Promise.all([drip(port, slowHead, 20), drip(port, slowBody + 'x'.repeat(3_000), 3)]);
    for (const [seconds, answer] of cuts) {
      expect(seconds).toBeGreaterThan(0.5);
      expect(seconds).toBeLessThan(3);
      expect(answer).toContain('408');
    }
  });

  it.runIf(process.env['EBBLINE_LONG'] === '1')(
    'with a byte a second is cut at 30 s',
    async () => {
      const [, port] = await listening();
      const [seconds] = await drip(port, slowHead, 1_000);
      expect(seconds).toBeGreaterThan(29);
      expect(seconds).toBeLessThan(33);
    },
    60_000,
  );
});

describe('connections', () => {
  it('that idle, 500 of them, keep the next one from nothing', async () => {
    const [, port] = await listening();
    for (let tens = 0; tens < 50; tens += 1)
      await Promise.all(Array.from({ length: 10 }, () => opened(port)));
    const answer = await fetch(`http://127.0.0.1:${port}/healthz`);
    expect([answer.status, ((await answer.json()) as { status: string }).status]).toEqual([200, 'answering']);
    expect(sockets.filter((one) => one.destroyed)).toEqual([]);
  });
});

describe('limits', () => {
  it('let a body of exactly the limit pass, and refuse one byte more', async () => {
    const world = await openWorld();
    worlds.push(world);
    const cookie = await world.signIn('nurse');
    const bodyOf = (bytes: number): string => {
      const start = '{"entries":[],"x":"';
      return `${start}${'x'.repeat(bytes - start.length - 2)}"}`;
    };
    const send = (bytes: number) =>
      world.server.inject({
        method: 'POST',
        url: '/api/entries',
        headers: { cookie, 'content-type': 'application/json' },
        payload: bodyOf(bytes),
      });
    const atLimit = await send(bodyLimitBytes);
    expect([atLimit.statusCode, atLimit.json().refusal.code]).toEqual([400, 'server/not-as-described']);
    const over = await send(bodyLimitBytes + 1);
    expect([over.statusCode, over.json().refusal.code]).toEqual([413, 'server/too-large']);
  });

  it('let so many requests a minute pass and no more, then so many again; each address counts for itself', async () => {
    const world = await openWorld({ requestsPerMinute: 4, trustedProxies: ['127.0.0.1'] });
    worlds.push(world);
    const ask = async (from: string, count: number) => {
      const codes: number[] = [];
      for (let one = 0; one < count; one += 1)
        codes.push((await world.get('/api/welcome', { 'x-forwarded-for': from })).statusCode);
      return codes;
    };
    expect(await ask('10.0.0.1', 5)).toEqual([200, 200, 200, 200, 429]);
    expect(await ask('10.0.0.2', 1)).toEqual([200]);
  });

  it('do not believe an address that nobody trusted tells', async () => {
    const world = await openWorld({ requestsPerMinute: 2 });
    worlds.push(world);
    const codes: number[] = [];
    for (let one = 0; one < 3; one += 1)
      codes.push((await world.get('/api/welcome', { 'x-forwarded-for': `10.0.0.${one}` })).statusCode);
    expect(codes).toEqual([200, 200, 429]);
  });
});

describe('TLS', () => {
  const { cert, key } = selfSigned(Date.now());

  it('is spoken with the certificate that was given', async () => {
    const [, port] = await listening({ tls: { cert, key }, secureCookie: true });
    const answer = await new Promise<unknown>((resolve, reject) => {
      request(
        { host: '127.0.0.1', servername: 'localhost', port, path: '/healthz', ca: cert },
        (response) => {
          response.resume();
          resolve([response.statusCode, response.headers['strict-transport-security']]);
        },
      )
        .on('error', reject)
        .end();
    });
    expect(answer).toEqual([200, 'max-age=31536000']);
    expect(await ended((await opened(port)).end('GET / HTTP/1.1\r\n\r\n'))).not.toContain('200');
  });

  it('is refused before the start with files that do not fit, and says which', () => {
    const folder = mkdtempSync(join(tmpdir(), 'ebbline-tls-'));
    const put = (name: string, text: string): string => {
      writeFileSync(join(folder, name), text);
      return join(folder, name);
    };
    const [certPath, keyPath] = [put('cert.pem', cert), put('key.pem', key)];
    expect(readTls({ certPath, keyPath })).toEqual({ cert, key });
    const other = put('other.pem', selfSigned(startMs).key);
    expect(() => readTls({ certPath, keyPath: other })).toThrow('the key of another certificate');
    expect(() => readTls({ certPath: keyPath, keyPath })).toThrow('EBBLINE_TLS_CERT');
    expect(() => readTls({ certPath, keyPath: join(folder, 'none.pem') })).toThrow('ENOENT');
    rmSync(folder, { recursive: true });
  });
});

describe('a request’s id', () => {
  it('is told in the answer; a proxy’s is taken over only when it is a UUID', async () => {
    const world = await openWorld();
    worlds.push(world);
    const idOf = async (given?: string) =>
      String(
        (await world.get('/healthz', given === undefined ? {} : { 'x-request-id': given })).headers[
          'x-request-id'
        ],
      );
    const [first, second] = [await idOf(), await idOf()];
    expect(first).toMatch(/^[0-9a-f]{8}-\d+$/);
    expect(second).not.toBe(first);
    const uuid = '0190f0a2-7a52-7c0e-9d5e-1f2a3b4c5d6e';
    expect(await idOf(uuid)).toBe(uuid);
    expect(await idOf('Zzyzwick, Wilma')).toMatch(/^[0-9a-f]{8}-\d+$/);
  });
});
