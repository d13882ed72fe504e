// Finds a browser, or installs Debian's when that is possible, or says what to do.
import { spawnSync } from 'node:child_process';
import { findBrowser } from './find-browser.mjs';

if (!(await findBrowser())) {
  const canInstall =
    process.platform === 'linux' &&
    process.getuid?.() === 0 &&
    spawnSync('apt-get', ['--version']).status === 0;
  if (canInstall) {
    console.error("No browser found; installing Debian's chromium for the page tests.");
    const run = (...args) => spawnSync('apt-get', args, { stdio: ['ignore', 'ignore', 'inherit'] });
    run('update', '-qq');
    run('install', '-y', '-qq', '--no-install-recommends', 'chromium', 'fonts-liberation');
  }
  if (!(await findBrowser())) {
    console.error(
      'The page tests need a Chromium-family browser and none was found. Do one of these:\n' +
        '  1. install chromium with your package manager;\n' +
        '  2. set CHROME_BIN to the path of a Chrome, Chromium or Edge;\n' +
        '  3. run "npx playwright install chromium" where that download is allowed.',
    );
    process.exit(1);
  }
}
