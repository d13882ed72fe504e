/**
 * Makes every picture of docs/guide/pictures anew: the demonstration's ward with one seed, at one moment of one evening,
 * on a server of its own that is stopped again. Run `npm run build` first; then `node scripts/make-pictures.mjs`, or
 * with the names of some pictures.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { chromium } from '@playwright/test';
import { browserSwitches, findBrowser } from './find-browser.mjs';
import { smallPng } from './shared/small-png.mjs';

const root = path.resolve(import.meta.dirname, '..');
const folder = path.join(root, 'docs/guide/pictures');
const largestKb = 250;
/** The evening on which every picture is taken, in the ward's own time 18:30. */
const moment = '2026-05-14T16:30:00Z';
const person = 'tove-wrenfield';

const desk = { width: 1440, height: 900 };
const phone = { width: 390, height: 844 };
const first = (page) => page.locator('tr[data-patient]').first();
const openFirst = async (page) => {
  await first(page).click();
  await page.locator('[data-next-step]').waitFor();
};
const goTo = (page, hash) =>
  page.evaluate((to) => {
    location.hash = to;
  }, hash);
const openEntry = async (page) => {
  await openFirst(page);
  const patient = new URL(page.url()).hash.split('/')[2];
  await goTo(page, `#/entry/${patient}/reading`);
  const pad = page.getByRole('group', { name: 'Number pad' });
  for (const digit of '430') await pad.getByRole('button', { name: digit, exact: true }).click();
  await page.getByRole('button', { name: 'Lower edge behind the pubic bone' }).click();
  await page.getByRole('button', { name: /^After a void/ }).click();
};

const openImages = async (page) => {
  await openFirst(page);
  await page.getByRole('link', { name: 'Images' }).click();
  const planes = path.join(root, 'examples/planes');
  const files = readdirSync(planes).filter((name) => name === 'geometry.json' || name.endsWith('.png'));
  await page.locator('[data-files]').setInputFiles(files.map((name) => path.join(planes, name)));
  await page.getByRole('heading', { name: 'Volume from these images' }).waitFor();
  await page.getByRole('button', { name: /^Plane 3, / }).click();
  await page.getByRole('button', { name: 'Three points wide' }).click();
  for (let step = 0; step < 2; step += 1) await page.getByRole('button', { name: 'Out 2 mm' }).click();
  await page.getByRole('heading', { name: 'The body in space' }).waitFor();
};

/** What each picture shows. `full` takes the whole page, not only what fits on the screen. */
const pictures = {
  'board.png': { size: desk, full: true },
  'board-night.png': { size: desk, full: true, theme: 'night' },
  'patient.png': { size: desk, full: true, act: openFirst },
  'patient-phone.png': { size: phone, act: openFirst },
  'entry.png': { size: { width: 820, height: 1180 }, act: openEntry },
  'entry-phone.png': { size: phone, act: openEntry },
  'handover.png': { size: desk, full: true, act: (page) => goTo(page, '#/handover'), see: 'Handover' },
  'unit.png': { size: desk, full: true, act: (page) => goTo(page, '#/unit'), see: /^The unit/ },
  'protocol.png': {
    size: desk,
    act: async (page) => {
      await openFirst(page);
      await page.getByRole('link', { name: /^Rule/ }).first().click();
      await page.getByRole('heading', { name: /^Rule/ }).waitFor();
    },
  },
  'protocol-editor.png': {
    size: desk,
    act: async (page) => {
      await goTo(page, '#/protocol/after-surgery');
      await page.getByRole('button', { name: 'Make a draft' }).click();
      await page.locator('[data-row="AS-32"]').getByRole('rowheader').click();
      await page.getByRole('button', { name: 'Delete this row' }).click();
      await page.locator('[data-fault]').first().waitFor();
      await page.getByRole('button', { name: 'See the first fault' }).click();
    },
  },
  'images.png': { size: { width: 1400, height: 1060 }, act: openImages },
  'body.png': {
    size: { width: 1100, height: 760 },
    act: async (page) => {
      await openImages(page);
      await page
        .getByRole('heading', { name: 'The body in space' })
        .evaluate((heading) => heading.scrollIntoView({ block: 'start' }));
    },
  },
  'practice.png': {
    size: { width: 820, height: 760 },
    act: async (page) => {
      await goTo(page, '#/practice/trace/plain/41');
      const planes = page.getByRole('list', { name: 'Planes' }).getByRole('button');
      await planes.nth(3).waitFor({ timeout: 60_000 });
      await page.getByRole('button', { name: 'Draw this plane' }).click();
      for (const across of [0.38, 0.62]) {
        const surface = page.locator('[data-picker]');
        const box = await surface.boundingBox();
        await surface.click({ position: { x: across * box.width, y: 0.45 * box.height } });
      }
      for (const plane of [2, 3, 4]) {
        await planes.nth(plane - 1).click();
        await page.getByRole('button', { name: 'Take the outline of plane' }).click();
      }
      await page.getByRole('button', { name: /show where I was off/ }).click();
      await page.getByRole('region', { name: 'How far off you were' }).waitFor();
    },
  },
};

const wanted = process.argv.slice(2);
const unknown = wanted.filter((name) => !(name in pictures));
if (unknown.length > 0) {
  console.error(
    `No picture is called ${unknown.join(', ')}. There are: ${Object.keys(pictures).join(', ')}.`,
  );
  process.exit(2);
}

/** Runs before the server: its clock begins at the evening and goes on from there. */
const clock = `
  const began = Date.now(), at = Date.parse(${JSON.stringify(moment)}), Real = Date;
  globalThis.Date = class extends Real {
    constructor(...given) { if (given.length === 0) super(Date.now()); else super(...given); }
    static now() { return at + (Real.now() - began); }
  };`;

async function startServer(data) {
  const server = spawn(
    process.execPath,
    ['--import', `data:text/javascript,${encodeURIComponent(clock)}`, 'apps/server/src/main.ts'],
    {
      cwd: root,
      env: {
        ...process.env,
        EBBLINE_PORT: '0',
        EBBLINE_DATA: data,
        EBBLINE_DEMO: 'on',
        EBBLINE_LOG: 'error',
      },
      stdio: ['ignore', 'pipe', 'inherit'],
    },
  );
  const address = await new Promise((resolve, reject) => {
    let said = '';
    server.stdout.on('data', (piece) => {
      said += piece;
      const found = /https?:\/\/[\d.:]+/.exec(said);
      if (found) resolve(found[0]);
    });
    server.once('exit', (code) => reject(new Error(`The server stopped with ${code} before it was ready.`)));
  });
  return { server, address };
}

async function take(browser, address, name) {
  const { size, full = false, theme = 'light', act, see } = pictures[name];
  const context = await browser.newContext({ viewport: size, serviceWorkers: 'block' });
  await context.addInitScript(
    ([who, value]) => {
      localStorage.setItem('ebbline.theme', value);
      localStorage.setItem(`ebbline.theme.${who}`, value);
    },
    [person, theme],
  );
  const page = await context.newPage();
  await page.clock.setFixedTime(new Date(moment));
  await page.goto(address);
  await page.getByLabel('Who are you?').selectOption(person);
  await page.getByLabel('Secret').fill('demo');
  await page.getByRole('button', { name: 'Open' }).click();
  await first(page).waitFor();
  // Everything of the ward has come when the number of rows stands still.
  let rows = 0;
  for (;;) {
    await page.waitForTimeout(700);
    const now = await page.locator('tr[data-patient]').count();
    if (now === rows) break;
    rows = now;
  }
  await act?.(page);
  if (see) await page.getByRole('heading', { level: 1, name: see }).waitFor();
  await page.waitForTimeout(900);
  await page.mouse.move(0, 0);
  const picture = smallPng(await page.screenshot({ fullPage: full, animations: 'disabled' }));
  const sizeKb = Math.ceil(picture.length / 1024);
  if (sizeKb > largestKb) throw new Error(`${name} is ${sizeKb} kB; at most ${largestKb} kB.`);
  writeFileSync(path.join(folder, name), picture);
  console.log(`${name}  ${sizeKb} kB`);
  await context.close();
}

const data = mkdtempSync(path.join(tmpdir(), 'ebbline-pictures-'));
let server;
let browser;
try {
  const started = await startServer(data);
  server = started.server;
  const executablePath = await findBrowser();
  browser = await chromium.launch({
    ...(executablePath === undefined ? {} : { executablePath }),
    args: [...browserSwitches],
  });
  for (const name of wanted.length > 0 ? wanted : Object.keys(pictures))
    await take(browser, started.address, name);
} finally {
  await browser?.close();
  server?.removeAllListeners('exit');
  server?.kill();
  rmSync(data, { recursive: true, force: true });
}
