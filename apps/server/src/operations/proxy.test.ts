// Proves     the proxy configuration that the guide gives: TLS at the proxy, the host as the page wrote it, the live line at once, the
//            client's own address and not one that it tells
// Published  none
// Tolerance  exact; skipped where nginx is not installed
import { spawn, spawnSync, type ChildProcess } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { request, type RequestOptions } from 'node:https';
import { createServer, type AddressInfo } from 'node:net';
import type { IncomingMessage } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { openWorld, secret, type World } from '../testing/world.ts';
import { selfSigned } from '../testing/self-signed.ts';

const sample = fileURLToPath(new URL('../../../../docs/guide/examples/nginx.conf', import.meta.url));
const binary = ['nginx', '/usr/sbin/nginx'].find((name) => spawnSync(name, ['-v']).error === undefined);
const { cert, key } = selfSigned(Date.now());

const freePort = (): Promise<number> =>
  new Promise((resolve) => {
    const probe = createServer().listen(0, '127.0.0.1', () => {
      const { port } = probe.address() as AddressInfo;
      probe.close(() => resolve(port));
    });
  });

describe.skipIf(binary === undefined)('behind the proxy of the guide', () => {
  let world: World;
  let folder = '';
  let proxy: ChildProcess;
  let port = 0;
  beforeAll(async () => {
    world = await openWorld({ secureCookie: true, trustedProxies: ['127.0.0.1'], requestsPerMinute: 40 });
    await world.server.listen({ host: '127.0.0.1', port: 0 });
    const own = (world.server.server.address() as AddressInfo).port;
    port = await freePort();
    folder = mkdtempSync(join(tmpdir(), 'ebbline-proxy-'));
    writeFileSync(join(folder, 'cert.pem'), cert);
    writeFileSync(join(folder, 'key.pem'), key);
    const site = readFileSync(sample, 'utf8')
      .replaceAll('listen 8443', `listen 127.0.0.1:${port}`)
      .replaceAll('127.0.0.1:8080', `127.0.0.1:${own}`)
      .replaceAll('/etc/ebbline/', `${folder}/`);
    const temporary = ['client_body', 'proxy', 'fastcgi', 'uwsgi', 'scgi']
      .map((name) => `${name}_temp_path ${folder}/${name};`)
      .join('\n');
    writeFileSync(
      join(folder, 'nginx.conf'),
      `daemon off;\npid ${folder}/pid;\nerror_log ${folder}/error.log;\nevents {}\nhttp {\naccess_log off;\n${temporary}\n${site}\n}\n`,
    );
    proxy = spawn(binary as string, ['-p', folder, '-c', join(folder, 'nginx.conf')], { stdio: 'ignore' });
    await vi.waitFor(async () => expect((await ask('/healthz')).statusCode).toBe(200), { timeout: 10_000 });
  });
  afterAll(async () => {
    proxy?.kill('SIGTERM');
    await world?.server.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const ask = (path: string, more: RequestOptions = {}, body?: string): Promise<IncomingMessage> =>
    new Promise((resolve, reject) => {
      request(
        { host: '127.0.0.1', servername: 'localhost', port, path, ca: cert, agent: false, ...more },
        resolve,
      )
        .on('error', reject)
        .end(body);
    });
  const text = async (answer: IncomingMessage): Promise<string> => {
    let all = '';
    for await (const part of answer) all += String(part);
    return all;
  };

  it('signs in from the page’s own address with a cookie for TLS alone, and refuses another page', async () => {
    const send = (origin: string) =>
      ask(
        '/api/sign-in',
        {
          method: 'POST',
          headers: { host: `ebbline.example:${port}`, origin, 'content-type': 'application/json' },
        },
        JSON.stringify({ person: 'nurse', secret }),
      );
    const own = await send(`https://ebbline.example:${port}`);
    expect([own.statusCode, own.headers['set-cookie']?.[0]]).toEqual([
      200,
      expect.stringMatching(/^__Host-ebbline=.*Secure/),
    ]);
    expect(own.headers['strict-transport-security']).toBe('max-age=31536000');
    expect((await send('https://elsewhere.example')).statusCode).toBe(403);
  });

  it('hands on the live line at once', async () => {
    const cookie = (await world.signIn('nurse')) ?? '';
    const line = await ask('/api/live', { headers: { cookie } });
    expect(line.headers['content-type']).toContain('text/event-stream');
    const first = await new Promise<string>((resolve) => line.once('data', (part) => resolve(String(part))));
    expect(first).toContain('event: alive');
    line.destroy();
  });

  it('counts by the client’s address, whatever address the client tells', async () => {
    const codes: (number | undefined)[] = [];
    for (let one = 0; one < 45; one += 1) {
      const answer = await ask('/api/welcome', { headers: { 'x-forwarded-for': `10.0.0.${one}` } });
      await text(answer);
      codes.push(answer.statusCode);
    }
    expect(codes).toContain(429);
  });
});
