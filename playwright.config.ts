// Browser tests: the built screens on the real server with the made-up coast in a folder of its own.
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { defineConfig } from '@playwright/test';
import { browserSwitches, findBrowser } from './scripts/find-browser.mjs';

const port = Number(process.env['EBBLINE_E2E_PORT'] ?? 4671);
// Read again in every worker: the folder is made once, by the first.
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
