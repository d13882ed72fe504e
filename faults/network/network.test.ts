// Proves     two tablets and a server process with a hostile network between them (cut, stalled, deaf, doubled, delayed and
//            reordered requests): nothing saved is lost, nothing stands twice, and all hold the same soon after it ends
// Method     the product's own sync, replica and HTTP remote, with shorter waits, through a proxy of our own; ten seconds of
//            bad weather drawn from a seed, ten minutes in `npm run long`
// Tolerance  exact
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { isRefusal, seededRandom } from '@ebbline/core/quantity';
import { defaultSettings, type Directory } from '@ebbline/core/record';
import { verifyStore } from '@ebbline/store';
import { nodeDigest, openSqliteStore } from '@ebbline/store/sqlite';
import { memoryStore } from '../../apps/web/src/shell/local-store.ts';
import { openReplica, type OpenReplica } from '../../apps/web/src/shell/open-replica.ts';
import type { Draft } from '../../apps/web/src/shell/replica.ts';
import { browserNames, hurry, pageRemote } from './page.ts';
import { fairWeather, Proxy } from './proxy.ts';

const long = process.env['EBBLINE_LONG'] === '1';
const main = fileURLToPath(new URL('../../apps/server/src/main.ts', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'ebbline-network-'));
const secret = 'heron-under-the-pier';
let takeNamesAway = (): void => undefined;
let stopServer = async (): Promise<void> => undefined;
beforeAll(() => {
  takeNamesAway = browserNames();
});
afterAll(async () => {
  takeNamesAway();
  await stopServer();
  rmSync(folder, { recursive: true, force: true });
});

const directory: Directory = {
  organisation: 'our-organisation',
  wards: [
    {
      id: 'harbour',
      name: 'Harbour',
      purpose: 'tests',
      hospital: 'Nowhere',
      zone: 'Europe/Lisbon',
      beds: ['1', '2'],
      settings: defaultSettings,
      shiftChanges: ['07:30', '19:30'],
    },
  ],
  people: [
    { id: 'administrator', name: 'Administrator', initials: 'AD', role: 'administrator', wards: [] },
    { id: 'nurse-a', name: 'A', initials: 'AA', role: 'nurse', wards: ['harbour'] },
    { id: 'nurse-b', name: 'B', initials: 'BB', role: 'nurse', wards: ['harbour'] },
  ],
  scanners: [],
};

/** A server process with this unit in it. */
async function startUnit(): Promise<string> {
  const child = spawn(process.execPath, [main], {
    env: {
      PATH: process.env['PATH'],
      EBBLINE_DATA: folder,
      EBBLINE_PORT: '0',
      EBBLINE_LOG: 'error',
      EBBLINE_DEMO: 'off',
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const ended = new Promise<void>((resolve) => child.on('close', () => resolve()));
  stopServer = () => {
    child.kill('SIGTERM');
    return ended;
  };
  let said = '';
  let notes = '';
  child.stdout.on('data', (part: Buffer) => (said += part.toString()));
  child.stderr.on('data', (part: Buffer) => (notes += part.toString()));
  for (let tries = 0; !said.includes('\n') || !notes.includes('the secret '); tries += 1) {
    if (tries > 1200) throw new Error(`the server did not start: ${notes}`);
    await pause(50);
  }
  const address = /ready at (http:\S+)/.exec(said)?.[1] ?? '';
  const first = /the secret (\S+)/.exec(notes)?.[1] ?? '';
  const page = pageRemote(address);
  await page.signIn('administrator', first);
  const put = async (method: string, path: string, body: unknown): Promise<void> => {
    await page.welcome();
    const answer = await fetch(path, {
      method,
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(body),
    });
    expect(answer.status, await answer.text()).toBe(200);
  };
  await put('PUT', '/api/directory', directory);
  for (const person of ['nurse-a', 'nurse-b']) await put('POST', '/api/accounts', { person, secret });
  return address;
}

const registration = (patient: string): Draft => ({
  patient,
  kind: 'patient-registered',
  payload: {
    familyName: 'Ostrander',
    givenName: 'Wilma',
    sex: 'female',
    identifierSystem: 'urn:made-up',
    identifierValue: patient,
    ward: 'harbour',
    bed: '1',
  },
});

interface Tablet {
  readonly proxy: Proxy;
  readonly replica: OpenReplica;
}

async function openTablet(address: string, person: string, seed: number): Promise<Tablet> {
  const random = seededRandom(seed);
  const proxy = new Proxy(address, random);
  const remote = pageRemote(await proxy.listen());
  const signedIn = await remote.signIn(person, secret);
  if (signedIn.state !== 'reached') throw new Error(`sign-in: ${signedIn.state}`);
  const replica = await openReplica({
    me: signedIn.value,
    directory,
    store: memoryStore(),
    remote,
    madeOn: `tablet-${person}`,
    now: () => Date.now(),
    random: (count) => Uint8Array.from({ length: count }, () => random.below(256)),
    jitter: () => 0.5 + random.next(),
    timers: {
      set: (work, ms) => setTimeout(work, ms / hurry),
      clear: (timer) => clearTimeout(timer as NodeJS.Timeout | undefined),
    },
    onSignedOut: () => {
      throw new Error(`${person} was signed out`);
    },
  });
  replica.start();
  return { proxy, replica };
}

const kinds = ['cut', 'stalled', 'deaf', 'doubled', 'held back', 'broken', 'fair'] as const;

describe('two tablets and a server with a hostile network between them', () => {
  const badMs = long ? 600_000 : 10_000;
  it(
    `hold the same, each entry once, soon after ${badMs / 1000} s of bad weather`,
    async () => {
      const random = seededRandom(20_261_128);
      const address = await startUnit();
      const tablets = [await openTablet(address, 'nurse-a', 1), await openTablet(address, 'nurse-b', 2)];
      const saved = new Set<string>();
      const seen = new Set<string>();
      const save = async (tablet: Tablet, draft: Draft): Promise<void> => {
        const done = await tablet.replica.record([draft]);
        if (isRefusal(done)) throw new Error(done.code);
        for (const { id } of done) saved.add(id);
      };
      await save(tablets[0] as Tablet, registration('p1'));
      await save(tablets[1] as Tablet, registration('p2'));
      const untilMs = Date.now() + badMs;
      while (Date.now() < untilMs) {
        const tablet = random.pick(tablets);
        const kind = random.pick(kinds);
        seen.add(kind);
        tablet.proxy.weather = {
          ...fairWeather,
          cut: kind === 'cut',
          stalled: kind === 'stalled',
          deaf: kind === 'deaf',
          doubleShare: kind === 'doubled' ? 0.8 : 0.1,
          heldBackMs: kind === 'held back' ? 900 : 0,
        };
        if (kind === 'cut' || kind === 'broken') tablet.proxy.breakAll();
        for (let count = random.below(4); count > 0; count -= 1) {
          const patient = random.pick(tablet.replica.patients());
          const volumeMl = random.below(600);
          await save(random.pick(tablets), { patient, kind: 'void', payload: { how: 'measured', volumeMl } });
        }
        await pause(random.below(250));
      }
      for (const { proxy } of tablets) {
        proxy.weather = { ...fairWeather };
        proxy.breakAll();
      }
      const ids = ({ replica }: Tablet): readonly string[] => replica.entries().map(({ id }) => id);
      const wanted = [...saved].sort();
      const behind = (): boolean =>
        tablets.some((one) => one.replica.waiting() > 0 || ids(one).length < wanted.length);
      for (let tries = 0; behind() && tries < 1200; tries += 1) await pause(50);
      for (const tablet of tablets) {
        expect(tablet.replica.network().refused).toEqual([]);
        expect([...ids(tablet)].sort()).toEqual(wanted);
        tablet.replica.close();
        tablet.proxy.close();
      }
      expect(seen.size).toBe(kinds.length);
      expect(tablets.reduce((sum, { proxy }) => sum + proxy.doubled, 0)).toBeGreaterThan(5);
      expect(tablets.reduce((sum, { proxy }) => sum + proxy.broken, 0)).toBeGreaterThan(5);
      await stopServer();
      const store = openSqliteStore({
        path: join(folder, 'record.sqlite'),
        organisation: directory.organisation,
      });
      expect((await store.after(0, 100_000)).map(({ entry }) => entry.id).sort()).toEqual(wanted);
      expect(isRefusal(await verifyStore(store, nodeDigest))).toBe(false);
      await store.close();
    },
    badMs + 240_000,
  );
});
