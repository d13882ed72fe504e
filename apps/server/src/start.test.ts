// Proves     the process starts, tells its address in one line, keeps its record over a stop and signs it, begins the demo anew, and
//            stops cleanly when told
// Published  none
// Tolerance  exact; waits end with what they wait for
import { randomBytes } from 'node:crypto';
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { connect, createServer, type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { orThrow, uuidV7 } from '@ebbline/core/quantity';
import { answerTo, frameOf, openFrames, readMessage, recordOf, writeMessage } from '@ebbline/interop/hl7v2';
import { kneePatient } from '@ebbline/simulate';
import { openSqliteStore } from '@ebbline/store/sqlite';
import { readConfig, type Config } from './config.ts';
import { setName } from './downtime/write-set.ts';
import { lastOutage } from './operations/outage.ts';
import { directory } from './testing/world.ts';
import { demo, demoOrganisation } from './demo.ts';
import { verifyPath } from './keeping/index.ts';
import { startServer } from './start.ts';

const main = fileURLToPath(new URL('./main.ts', import.meta.url));
const folders: string[] = [];
const children: ChildProcess[] = [];
afterEach(() => {
  for (const child of children.splice(0)) child.kill('SIGKILL');
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});
const newFolder = (): string => {
  const folder = mkdtempSync(join(tmpdir(), 'ebbline-start-'));
  folders.push(folder);
  return folder;
};

interface Started {
  readonly address: string;
  readonly notes: () => string;
  readonly ended: Promise<number | null>;
  stop(): Promise<number | null>;
}

async function start(folder: string, env: Record<string, string>): Promise<Started> {
  const child = spawn(process.execPath, [main], {
    env: { PATH: process.env['PATH'], EBBLINE_DATA: folder, EBBLINE_PORT: '0', EBBLINE_LOG: 'error', ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  children.push(child);
  let notes = '';
  child.stderr.on('data', (part: Buffer) => (notes += part.toString()));
  const ended = new Promise<number | null>((resolve) => child.on('close', resolve));
  const line = await new Promise<string>((resolve) => {
    let text = '';
    child.stdout.on('data', (part: Buffer) => {
      text += part.toString();
      if (text.includes('\n')) resolve(text);
    });
    child.on('close', () => resolve(text));
  });
  const address = /^Ebbline is ready at (http:\S+)\n$/.exec(line)?.[1] ?? '';
  return {
    address,
    notes: () => notes,
    ended,
    stop: () => {
      child.kill('SIGTERM');
      return ended;
    },
  };
}

const json = (body: unknown): RequestInit => ({
  method: 'POST',
  headers: { 'content-type': 'application/json' },
  body: JSON.stringify(body),
});

describe('the process', () => {
  it('runs the demo: anybody signs in with the shown secret and reads a record; it stops with 0', async () => {
    const folder = newFolder();
    const server = await start(folder, {});
    const welcome = (await (await fetch(`${server.address}/api/welcome`)).json()) as {
      demo: boolean;
      secret: string;
      people: { id: string; role: string }[];
    };
    expect(welcome).toMatchObject({ demo: true, secret: demo.secret });
    const nurse = welcome.people.find(({ role }) => role === 'nurse');
    const signedIn = await fetch(
      `${server.address}/api/sign-in`,
      json({ person: nurse?.id, secret: welcome.secret }),
    );
    const cookie = signedIn.headers.get('set-cookie')?.split(';')[0] ?? '';
    const page = (await (
      await fetch(`${server.address}/api/entries?limit=1`, { headers: { cookie } })
    ).json()) as { head: number };
    expect(page.head).toBeGreaterThan(500);
    const ready = (await (await fetch(`${server.address}/readyz`)).json()) as { head: number };
    expect(ready.head).toBe(page.head);

    expect(await server.stop()).toBe(0);
    expect(existsSync(join(folder, 'demo', 'serve.lock'))).toBe(false);
  });
});

describe('the start', () => {
  const configOf = (folder: string): Config => ({
    ...(readConfig({}, { data: folder, port: '0' }) as Config),
    log: 'off',
  });
  const signIn = (address: string, person: string, secret: string | undefined) =>
    fetch(`${address}/api/sign-in`, json({ person, secret }));

  it('of an own record gives the one administrator a first secret, once, and keeps the record', async () => {
    const config = configOf(newFolder());
    const first = await startServer(config, false);
    expect((await signIn(first.address, 'administrator', first.firstSecret)).status).toBe(200);
    await first.close();
    const signedAtStop = { sound: true, checkpoints: 1, rowsSinceCheckpoint: 0 };
    expect(verifyPath(config.dataFolder)).toMatchObject(signedAtStop);
    const again = await startServer(config, false);
    expect(again.firstSecret).toBeUndefined();
    expect((await signIn(again.address, 'administrator', first.firstSecret)).status).toBe(200);
    await again.close();
    expect(verifyPath(config.dataFolder)).toMatchObject({ ...signedAtStop, checkpoints: 2 });
  });

  it('prints what wards work from, once more at a stop, and knows afterwards how long nobody was there', async () => {
    const [folder, prints] = [newFolder(), newFolder()];
    writeFileSync(
      join(folder, 'directory.json'),
      JSON.stringify({ ...directory, wards: directory.wards.slice(0, 1) }),
    );
    const config = { ...configOf(folder), downtime: { folder: prints, keep: 24 } };
    const first = await startServer(config, false);
    const ward = join(prints, 'harbour-3');
    const sets = (): readonly string[] =>
      existsSync(ward) ? readdirSync(ward).filter((name) => !name.startsWith('.')) : [];
    await expect.poll(() => sets().length, { timeout: 20_000 }).toBe(1);
    // A round within the same second has the same name.
    const [one] = sets();
    await expect.poll(() => setName(Date.now(), 'Europe/Lisbon') !== one).toBe(true);
    await first.close();
    expect(sets()).toHaveLength(2);
    const path = join(folder, 'record.sqlite');
    const store = openSqliteStore({ path, organisation: directory.organisation });
    const alive = await store.bookmark('alive');
    expect(Math.abs(alive - Date.now() / 1000)).toBeLessThan(60);
    await store.setBookmark('alive', alive - 3_600);
    await store.close();
    await (await startServer(configOf(folder), false)).close();
    const again = openSqliteStore({ path, organisation: directory.organisation });
    const outage = await lastOutage(again);
    expect(outage?.fromMs).toBe((alive - 3_600) * 1000);
    await again.close();
  });

  it('of the demo begins anew each time', async () => {
    const config = configOf(newFolder());
    const path = join(config.dataFolder, 'demo', 'record.sqlite');
    const first = await startServer(config, true, 0);
    await first.close();
    const left = openSqliteStore({ path, organisation: demoOrganisation });
    const before = await left.head();
    await left.setBookmark('left behind', 1);
    await left.close();
    const again = await startServer(config, true, 0);
    await again.close();
    const fresh = openSqliteStore({ path, organisation: demoOrganisation });
    expect(await fresh.bookmark('left behind')).toBe(0);
    expect(Math.abs((await fresh.head()) - before)).toBeLessThan(50);
    await fresh.close();
  });

  it('is refused while another process serves the same folder', async () => {
    const folder = newFolder();
    writeFileSync(join(folder, 'serve.lock'), `${process.ppid}\n`);
    await expect(startServer(configOf(folder), false)).rejects.toThrow('server/data-in-use');
    // The lock of a process that is gone does not count.
    writeFileSync(join(folder, 'serve.lock'), '4194999\n');
    await (await startServer(configOf(folder), false)).close();
  });

  it('frees the folder when the port is taken', async () => {
    const folder = newFolder();
    const first = await startServer(configOf(newFolder()), false);
    const port = Number(new URL(first.address).port);
    const running = process.getActiveResourcesInfo().filter((one) => one === 'Timeout').length;
    await expect(startServer({ ...configOf(folder), port }, false)).rejects.toThrow('EADDRINUSE');
    // Nothing of the start goes on: the process could end.
    const after = process.getActiveResourcesInfo().filter((one) => one === 'Timeout').length;
    expect(after).toBeLessThanOrEqual(running);
    expect(existsSync(join(folder, 'serve.lock'))).toBe(false);
    await first.close();
  });

  it('takes the hospital’s patient messages in at their own door, and brings in after a stop what it had kept', async () => {
    const folder = newFolder();
    const config = {
      ...(readConfig({
        EBBLINE_DATA: folder,
        EBBLINE_PORT: '0',
        EBBLINE_LOG: 'off',
        EBBLINE_MLLP_PORT: '0',
      }) as Config),
    };
    const running = await startServer(config, true, 0);
    const message = [
      'MSH|^~\\&|FEED|NORTH|||20260512080000||ADT^A01|m1|P|2.5.1',
      'EVN||20260512080000',
      'PID|1||a1^^^NORTH^MR||Quill^Ada|||F',
      'PV1|1|I|ward-gull^^4||||||||||||||||v1',
    ].join('\r');
    const socket = connect({ host: '127.0.0.1', port: running.feedPort as number });
    socket.write(frameOf(new TextEncoder().encode(message)));
    const answer = await new Promise<string>((resolve) => {
      socket.once('data', (chunk) => resolve(chunk.toString()));
    });
    socket.destroy();
    expect(answer).toContain('MSA|AA|m1');
    await running.close();
    const store = openSqliteStore({
      path: join(folder, 'demo', 'record.sqlite'),
      organisation: demoOrganisation,
    });
    const entries = await store.ofPatient(recordOf({ system: 'NORTH', value: 'a1' }));
    expect(entries.map(({ entry }) => [entry.kind, entry.author])).toEqual([
      ['patient-registered', 'feed-hospital'],
    ]);
    await store.close();
  });

  it('sends what is charted to the hospital’s record, and sends nothing of what was there before', async () => {
    const took: string[] = [];
    const chart = createServer((socket) => {
      const frames = openFrames(100_000);
      socket.on('data', (chunk) => {
        for (const framed of frames.take(chunk)) {
          if (framed.kind !== 'message') continue;
          const text = new TextDecoder().decode(framed.bytes);
          took.push(text);
          const message = orThrow(readMessage(text));
          const answer = answerTo(message, { code: 'AA', controlId: 'x', atMs: 0, zone: 'UTC' });
          socket.write(frameOf(new TextEncoder().encode(writeMessage(answer))));
        }
      });
    });
    await new Promise<void>((resolve) => {
      chart.listen(0, '127.0.0.1', () => resolve());
    });
    const { port } = chart.address() as AddressInfo;
    const folder = newFolder();
    const config = readConfig({
      EBBLINE_DATA: folder,
      EBBLINE_PORT: '0',
      EBBLINE_LOG: 'off',
      EBBLINE_RESULTS_TO: `127.0.0.1:${port}`,
      EBBLINE_RESULTS_RECEIVER: 'CHART^NORTH',
    }) as Config;
    const running = await startServer(config, true, 0);
    const signedIn = await fetch(
      `${running.address}/api/sign-in`,
      json({ person: 'tove-wrenfield', secret: demo.secret }),
    );
    const cookie = signedIn.headers.get('set-cookie')?.split(';', 1)[0] ?? '';
    const at = new Date().toISOString();
    const id = uuidV7(Date.now(), randomBytes(10));
    const entry = {
      id,
      organisation: demoOrganisation,
      patient: kneePatient,
      kind: 'void',
      effectiveAt: at,
      timeQuality: 'exact',
      recordedAt: at,
      author: 'tove-wrenfield',
      madeOn: 'tablet-1',
      payload: { how: 'measured', volumeMl: 321 },
    };
    const sent = await fetch(`${running.address}/api/entries`, {
      ...json({ entries: [entry] }),
      headers: { 'content-type': 'application/json', cookie },
    });
    expect(((await sent.json()) as { kept: unknown[] }).kept).toHaveLength(1);
    await expect.poll(() => took.length).toBe(1);
    expect(took[0]).toContain('|CHART|NORTH|');
    expect(took[0]).toContain(id);
    expect(took[0]).toContain('|321|mL^mL^UCUM|');
    await running.close();
    await new Promise<void>((resolve) => {
      chart.close(() => resolve());
    });
  });
});
