// Proves     whatever a request holds, each reader of it answers with what it kept or with one typed refusal; none fails
//            inside, none takes longer than 50 ms of its thread
// Method     requests damaged by a seed, into the whole server without a network; texts into the readers of ward logs and
//            decision models. Some hundreds each; 60 s each in `npm run long`
// Tolerance  time is that of the thread, the least of three tries: a slow machine does not fail it
import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isRefusal, seededRandom, type RandomSource } from '@ebbline/core/quantity';
import { readWardLog } from '@ebbline/interop/wardlog';
import { readDmn } from '@ebbline/protocol';
import { directory, openWorld, pin, secret, type World } from '../../apps/server/src/testing/world.ts';
import { damagedJson, damagedText } from './damage.ts';

const long = process.env['EBBLINE_LONG'] === '1';
const longMs = 60_000;
const mostMs = 50;

let world: World;
const cookies = new Map<string, string>();
beforeAll(async () => {
  world = await openWorld({ requestsPerMinute: 1e9, signInsPerMinute: 1e9 });
  for (const person of ['nurse', 'administrator', 'specialist-nurse'])
    cookies.set(person, await world.signIn(person));
});
afterAll(() => world.server.close());

const threadMs = (): number => {
  const { user, system } = process.threadCpuUsage();
  return (user + system) / 1000;
};

/** Runs something three times if it was slow; the least counts. */
async function tookMs(work: () => unknown): Promise<number> {
  let least = Number.POSITIVE_INFINITY;
  for (let tries = 0; tries < 3 && least > mostMs; tries += 1) {
    const before = threadMs();
    await work();
    least = Math.min(least, threadMs() - before);
  }
  return least;
}

/** As many inputs as asked for, or as fit in a minute. */
async function feed(
  name: string,
  count: number,
  one: (random: RandomSource) => Promise<void>,
): Promise<void> {
  const untilMs = performance.now() + longMs;
  let fed = 0;
  for (let seed = 1; long ? performance.now() < untilMs : seed <= count; seed += 1) {
    await one(seededRandom(seed));
    fed += 1;
  }
  if (long) process.stdout.write(`${name}: ${fed} inputs\n`);
  expect(fed).toBeGreaterThanOrEqual(long ? 100 : count);
}

const wholeDmn = readFileSync(
  new URL('../../packages/protocol/src/starter/after-surgery.dmn', import.meta.url),
  'utf8',
);
const entryBodies = (): readonly unknown[] => [
  { entries: [world.registered('p1'), world.entry('void', { how: 'measured', volumeMl: 300 })] },
  {
    entries: [
      world.entry('reading', { result: 'exact', volumeMl: 300, relation: 'no-void', doubts: [] }),
      world.entry('ownership-offered', { toPerson: 'second-nurse', occasion: 'shift' }),
    ],
  },
];
const requests: readonly {
  readonly method: 'POST' | 'PUT';
  readonly url: string;
  readonly by: string | undefined;
  readonly count: number;
  readonly whole: () => readonly unknown[];
}[] = [
  { method: 'POST', url: '/api/entries', by: 'nurse', count: 400, whole: entryBodies },
  {
    method: 'POST',
    url: '/api/sign-in',
    by: undefined,
    count: 200,
    whole: () => [{ person: 'nurse', secret }],
  },
  {
    method: 'POST',
    url: '/api/switch',
    by: 'nurse',
    count: 100,
    whole: () => [{ person: 'nurse', pin: 'no' }],
  },
  { method: 'PUT', url: '/api/directory', by: 'administrator', count: 200, whole: () => [directory] },
  {
    method: 'POST',
    url: '/api/accounts',
    by: 'administrator',
    count: 100,
    whole: () => [{ person: 'nurse', secret, pin }],
  },
  {
    method: 'POST',
    url: '/api/sealed',
    by: undefined,
    count: 200,
    whole: () => [
      { entries: [{ id: '019e1b34-1a60-7087-bbf7-479cb86dfe74', key: 'AAAA', box: 'A'.repeat(400) }] },
    ],
  },
  { method: 'POST', url: '/api/tablet-key', by: 'nurse', count: 100, whole: () => [{ copy: 'a-copy' }] },
  {
    method: 'POST',
    url: '/api/protocols/after-surgery/1/publish',
    by: 'specialist-nurse',
    count: 100,
    whole: () => [{ contentDigest: 'a'.repeat(64), reviewBy: '2027-01-01', pin }],
  },
];

describe('a damaged request', () => {
  it.each(requests)(
    'is kept or refused, and answered soon: $method $url',
    async ({ method, url, by, count, whole }) => {
      const cookie = by === undefined ? undefined : cookies.get(by);
      const ask = (payload: string) =>
        world.server.inject({
          method,
          url,
          payload,
          headers: { 'content-type': 'application/json', ...(cookie === undefined ? {} : { cookie }) },
        });
      await feed(`${method} ${url}`, count, async (random) => {
        const payload = damagedJson(random.pick(whole()), random);
        let answer = await ask(payload);
        const said = `${answer.statusCode} to ${payload.slice(0, 300)}: ${answer.body.slice(0, 300)}`;
        expect(answer.statusCode, said).toBeLessThan(500);
        if (answer.statusCode >= 400)
          expect(isRefusal((answer.json() as { refusal: unknown }).refusal), said).toBe(true);
        expect(await tookMs(async () => (answer = await ask(payload))), said).toBeLessThan(mostMs);
      });
      const whether = await world.get('/healthz');
      expect(whether.statusCode).toBe(200);
    },
    long ? 300_000 : 120_000,
  );
});

describe('a damaged text', () => {
  const log = readFileSync(new URL('../../examples/ward/log.ndjson', import.meta.url), 'utf8')
    .split('\n')
    .slice(0, 12)
    .join('\n');
  it(
    'of a ward log is read or refused, soon',
    async () => {
      await feed('ward log', 400, async (random) => {
        const text = damagedText(log, random);
        for (const keepGoodLines of [true, false]) {
          const read = readWardLog(text, { keepGoodLines });
          if (isRefusal(read)) expect(read.code).toMatch(/^wardlog\//);
          else expect(read.lines.every(({ id }) => typeof id === 'string')).toBe(true);
        }
        expect(await tookMs(() => readWardLog(text))).toBeLessThan(mostMs);
      });
    },
    long ? 300_000 : 60_000,
  );

  it(
    'of a decision model is read or refused, soon',
    async () => {
      await readDmn(wholeDmn);
      await feed('DMN', 40, async (random) => {
        const text = damagedText(wholeDmn, random);
        const read = await readDmn(text);
        if (isRefusal(read)) expect(read.code).toMatch(/^protocol\//);
        else expect(Array.isArray(read.decisions)).toBe(true);
      });
    },
    long ? 300_000 : 60_000,
  );
});
