// Proves     the process starts, tells its address in one line, keeps its record over a stop, begins the demo anew, and
//            stops cleanly when told
// Published  none
// Tolerance  exact; waits end with what they wait for
import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, describe, expect, it } from 'vitest';
import { demo } from './demo.ts';

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

    const second = await start(folder, {});
    expect(second.address).toBe('');
    expect(await second.ended).toBe(3);
    expect(second.notes()).toContain('server/data-in-use');

    expect(await server.stop()).toBe(0);
    expect(existsSync(join(folder, 'demo', 'serve.lock'))).toBe(false);
  });

  it('starts an own record with one administrator, whose first secret is shown once', async () => {
    const folder = newFolder();
    const own = { EBBLINE_DEMO: 'off' };
    const first = await start(folder, own);
    const secret = /with the secret (\S+) and/.exec(first.notes())?.[1];
    expect(
      (await fetch(`${first.address}/api/sign-in`, json({ person: 'administrator', secret }))).status,
    ).toBe(200);
    expect(await first.stop()).toBe(0);
    const again = await start(folder, own);
    expect(again.notes()).toBe('');
    expect(
      (await fetch(`${again.address}/api/sign-in`, json({ person: 'administrator', secret }))).status,
    ).toBe(200);
    expect(await again.stop()).toBe(0);
  });

  it('does not start with settings that are wrong', async () => {
    const server = await start(newFolder(), { EBBLINE_PORT: 'eighty' });
    expect(await server.ended).toBe(2);
    expect(server.notes()).toContain('server/config');
  });
});
