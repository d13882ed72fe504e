// Finds a Chromium-family browser for the page tests, in a fixed order.
import { accessSync, constants } from 'node:fs';
import path from 'node:path';

const executable = (file) => {
  try {
    accessSync(file, constants.X_OK);
    return true;
  } catch {
    return false;
  }
};

const onPath = (name) =>
  (process.env.PATH ?? '')
    .split(path.delimiter)
    .map((folder) => path.join(folder, name))
    .find(executable);

/** Path of a usable browser, or undefined. */
export async function findBrowser() {
  if (process.env.CHROME_BIN && executable(process.env.CHROME_BIN)) return process.env.CHROME_BIN;
  const { chromium } = await import('@playwright/test');
  if (executable(chromium.executablePath())) return chromium.executablePath();
  for (const name of [
    'chromium',
    'chromium-browser',
    'google-chrome',
    'google-chrome-stable',
    'microsoft-edge',
  ]) {
    const found = onPath(name);
    if (found) return found;
  }
  return undefined;
}

/** Switches that let the browser run as root and keep it off the network. */
export const browserSwitches = [
  ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];
