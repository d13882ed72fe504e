// Browser tests: the built screens on the real server with the made-up coast in a folder of its own.
import { mkdtempSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { defineConfig } from '@playwright/test';
import { browserSwitches, findBrowser } from './scripts/find-browser.mjs';

/** A port that nobody listens on now, so that two runs on one machine don't meet. */
const freePort = (): Promise<number> =>
  new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => resolve(typeof address === 'object' && address !== null ? address.port : 0));
    });
  });
// Read again in every worker: port and folder are chosen once, by the first.
const port = Number((process.env['EBBLINE_E2E_PORT'] ??= String(await freePort())));
const folder = (process.env['EBBLINE_E2E_DATA'] ??= mkdtempSync(path.join(tmpdir(), 'ebbline-e2e-')));
const executablePath = await findBrowser();

export default defineConfig({
  testDir: 'apps/web/e2e',
  testMatch: '*.spec.ts',
  outputDir: 'test-results',
  fullyParallel: true,
  workers: 2,
  timeout: 30_000,
  expect: { timeout: 8_000 },
  forbidOnly: process.env['CI'] !== undefined,
  use: {
    baseURL: `http://127.0.0.1:${port}`,
    viewport: { width: 1440, height: 900 },
    launchOptions: {
      ...(executablePath === undefined ? {} : { executablePath }),
      args: [...browserSwitches],
    },
    trace: 'retain-on-failure',
  },
  webServer: {
    command: 'node apps/server/src/main.ts',
    url: `http://127.0.0.1:${port}/readyz`,
    reuseExistingServer: false,
    env: { EBBLINE_PORT: String(port), EBBLINE_DATA: folder, EBBLINE_DEMO: 'on', EBBLINE_LOG: 'error' },
  },
});
