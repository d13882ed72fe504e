// Proves     the screens come with headers that let a browser run nothing else, and with the right time to keep
// Published  none
// Tolerance  exact
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openWorld, type World } from '../../testing/world.ts';

const folder = mkdtempSync(join(tmpdir(), 'ebbline-web-'));
let world: World;
beforeAll(async () => {
  mkdirSync(join(folder, 'assets'));
  writeFileSync(join(folder, 'index.html'), '<!doctype html><title>screens</title>');
  writeFileSync(join(folder, 'sw.js'), '// worker');
  writeFileSync(join(folder, '.secret'), 'hidden');
  writeFileSync(join(folder, 'assets', 'page-AbCd1234.js'), 'export {}');
  world = await openWorld({ webFolder: folder });
});
afterAll(async () => {
  await world.server.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('the screens', () => {
  it('are asked for anew, their hashed parts kept for ever, answers of the record never', async () => {
    const page = await world.get('/');
    expect([page.statusCode, page.headers['cache-control'], page.headers['content-type']]).toEqual([
      200,
      'no-cache',
      'text/html; charset=utf-8',
    ]);
    expect((await world.get('/sw.js')).headers['cache-control']).toBe('no-cache');
    const part = await world.get('/assets/page-AbCd1234.js');
    expect([part.statusCode, part.headers['cache-control']]).toEqual([
      200,
      'public, max-age=31536000, immutable',
    ]);
    for (const url of ['/api/me', '/api/welcome', '/api/nothing', '/healthz'])
      expect((await world.get(url)).headers['cache-control']).toBe('no-store');
  });

  it('come with a policy that allows no inline code, no evaluated code, no frame and no guessing of types', async () => {
    for (const url of ['/', '/api/me', '/nothing', '/assets/page-AbCd1234.js', '/openapi.json']) {
      const { headers } = await world.get(url);
      const policy = String(headers['content-security-policy']);
      expect(policy).toContain("default-src 'none'");
      expect(policy).toContain("frame-ancestors 'none'");
      expect(policy).toContain("worker-src 'self'");
      expect(policy).not.toMatch(/unsafe-inline|unsafe-eval|https?:|\*/);
      expect(headers['x-content-type-options']).toBe('nosniff');
      expect(headers['referrer-policy']).toBe('no-referrer');
    }
  });

  it('may run WebAssembly only when they hold some', async () => {
    writeFileSync(join(folder, 'assets', 'codec-AbCd1234.wasm'), '');
    const other = await openWorld({ webFolder: folder });
    expect((await other.get('/')).headers['content-security-policy']).toContain(
      "script-src 'self' 'wasm-unsafe-eval';",
    );
    await other.server.close();
    rmSync(join(folder, 'assets', 'codec-AbCd1234.wasm'));
  });

  it('give nothing outside their folder and no hidden file', async () => {
    for (const url of [
      '/../package.json',
      '/%2e%2e/package.json',
      '/..%2fpackage.json',
      '/.secret',
      '/assets/',
      '/nothing.js',
    ]) {
      const answer = await world.get(url);
      expect([url, answer.statusCode >= 400 && answer.statusCode < 500]).toEqual([url, true]);
      expect(answer.body).not.toContain('hidden');
    }
  });

  it('say how to build them when they are not built', async () => {
    const other = await openWorld({ webFolder: join(folder, 'nowhere') });
    const answer = await other.get('/');
    expect([answer.statusCode, answer.json().refusal.code]).toEqual([404, 'server/screens-not-built']);
    await other.server.close();
  });
});

describe('an address that is not there', () => {
  it('is answered with a refusal', async () => {
    const answer = await world.get('/api/nothing');
    expect([answer.statusCode, answer.json().refusal.code]).toEqual([404, 'server/not-there']);
  });
});

describe('too many requests', () => {
  it('from one address are refused for the rest of the minute, health excepted', async () => {
    const other = await openWorld({ requestsPerMinute: 5 });
    const statuses: number[] = [];
    for (let index = 0; index < 7; index += 1) statuses.push((await other.get('/api/welcome')).statusCode);
    expect(statuses).toEqual([200, 200, 200, 200, 200, 429, 429]);
    const refused = await other.get('/api/welcome');
    expect(refused.json().refusal.code).toBe('server/too-many');
    expect((await other.get('/healthz')).statusCode).toBe(200);
    await other.server.close();
  });
});
