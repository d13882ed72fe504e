/**
 * The board of 200 patients beside a plain page of 200 rows: what the page costs a browser above the least that any
 * board costs it. Ours and the floor alternate, A B A B, in one browser, with the processor as it is and slowed four
 * times. Prints ratios to the floor, never seconds: a shared machine moves by a factor of three.
 *
 *     node bench/board.ts [--pairs 7] [--web folder] [--times]
 *
 * Peer      a page of plain markup made at run time (board/peer.ts), kept by its own service worker
 * Asked     first contentful paint and last row painted, on an empty tablet and on one that was open before; a key that
 *           changes what is shown, a row that opens its patient (Event Timing, as INP counts); a change by a second
 *           client until the row shows it; longest task after the first paint; layout shift; bytes of script
 * Aim       an answer to a hand takes at most 1.5 times the floor, nothing moves by itself (S-web-board-floor)
 * Bounds    at most 15 pairs and 400 seconds; the server, the peer and the browser end with the bench
 */
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { chromium, type BrowserContext, type Page } from '@playwright/test';
import { browserSwitches, findBrowser } from '../scripts/find-browser.mjs';
import { loadWardId, nurse, startOurs } from './board/ours.ts';
import { startPeer } from './board/peer.ts';
import { probe, type Seen } from './board/probe.ts';

const given = (name: string): string | undefined => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? undefined : process.argv[at + 1];
};
const patients = 200;
const pairs = Math.max(7, Math.min(15, Number(given('pairs') ?? 7)));
const webFolder = given('web') ?? fileURLToPath(new URL('../apps/web/dist', import.meta.url));
const times = process.argv.includes('--times');
const untilMs = performance.now() + 400_000;
const patienceMs = 20_000;
const aimOfAnswers = 1.5;
/** Event Timing says nothing below this; an answer that is missing counts as this long, for both. */
const shortestMs = 16;

if (!existsSync(`${webFolder}/index.html`)) {
  process.stderr.write('The screens are not built: run "npm run build" first.\n');
  process.exit(1);
}
const executablePath = await findBrowser();
if (executablePath === undefined) {
  process.stderr.write('peer missing: there is no Chromium on this machine to show either page in.\n');
  process.exit(1);
}

const measures = [
  'first paint, empty tablet',
  'last row, empty tablet',
  'first paint, opened before',
  'last row, opened before',
  'a key on the board',
  'the rows after a key',
  'opening a patient',
  'change by another, until shown',
] as const;
type Measure = (typeof measures)[number];
interface Taken {
  readonly ms: Record<Measure, number>;
  readonly shift: number;
  readonly moved: readonly string[];
  /** Tasks above 50 ms after the first paint of either start, and the longest of them. */
  readonly longTasks: number;
  readonly longestMs: number;
  readonly scriptBytes: number;
}

const now = (): number => performance.timeOrigin + performance.now();

async function open(context: BrowserContext, url: string, slower: number): Promise<Page> {
  const page = await context.newPage();
  if (slower > 1)
    await (await context.newCDPSession(page)).send('Emulation.setCPUThrottlingRate', { rate: slower });
  await page.goto(url, { timeout: patienceMs, waitUntil: 'commit' });
  await page.waitForFunction(() => window.seen?.lastRowMs > 0, undefined, { timeout: patienceMs });
  // Whatever still runs after the last row belongs to the start: long tasks and shifts are told a little later.
  await page.waitForTimeout(300);
  return page;
}

const started = (page: Page): Promise<{ paintMs: number; seen: Seen }> =>
  page.evaluate(() => ({
    paintMs: performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? Number.NaN,
    seen: window.seen,
  }));

/** When other rows had been painted than at the click, ms after it: a board may answer the hand first and follow. */
const rowsFollow = (page: Page): Promise<number> =>
  page.evaluate(
    () =>
      new Promise<number>((resolve) => {
        const count = (): number =>
          [...document.querySelectorAll<HTMLElement>('tr[data-patient]')].filter(
            (row) => row.offsetHeight > 0,
          ).length;
        addEventListener(
          'click',
          ({ timeStamp }) => {
            const before = count();
            const look = (): void => {
              if (count() !== before || performance.now() - timeStamp > 3000)
                resolve(performance.now() - timeStamp);
              else requestAnimationFrame(look);
            };
            requestAnimationFrame(look);
          },
          { once: true, capture: true },
        );
      }),
  );

/** Clicks with the mouse in the middle of it, and gives the longest answer of that interaction. */
async function answerTo(page: Page, selector: string): Promise<number> {
  const box = await page.locator(selector).first().boundingBox({ timeout: patienceMs });
  if (!box) throw new Error(`${selector} is not shown`);
  await page.evaluate(() => {
    window.seen.answers = {};
  });
  await page.mouse.click(box.x + Math.min(20, box.width / 2), box.y + Math.min(14, box.height / 2));
  await page.waitForTimeout(500);
  const longest = await page.evaluate(() => Math.max(0, ...Object.values(window.seen.answers)));
  return Math.max(shortestMs, longest);
}

/** From the moment that a second client begins to send to the moment that the row has been painted with it. */
async function shownAfter(
  page: Page,
  patient: string,
  words: string,
  send: () => Promise<void>,
): Promise<number> {
  const shown = page.evaluate(
    ([id, text]) =>
      new Promise<number>((resolve, reject) => {
        const late = setTimeout(() => reject(new Error(`"${text}" was not shown`)), 15_000);
        const look = (): void => {
          const row = document.querySelector(`tr[data-patient="${id}"]`);
          if (!row?.textContent?.replaceAll('\u00A0', ' ').includes(text as string)) return;
          changed.disconnect();
          clearTimeout(late);
          requestAnimationFrame(() => {
            const after = new MessageChannel();
            after.port1.addEventListener('message', () =>
              resolve(performance.timeOrigin + performance.now()),
            );
            after.port1.start();
            after.port2.postMessage(0);
          });
        };
        const changed = new MutationObserver(look);
        changed.observe(document, { childList: true, subtree: true, characterData: true });
        look();
      }),
    [patient, words],
  );
  await page.waitForTimeout(30);
  const fromMs = now();
  await send();
  return (await shown) - fromMs;
}

interface Side {
  readonly url: string;
  readonly keys: readonly string[];
  prepare(context: BrowserContext): Promise<void>;
  send(patient: string, volumeMl: number): Promise<void>;
}

let round = 0;
async function take(side: Side, slower: number): Promise<Taken> {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 } });
  try {
    await side.prepare(context);
    await context.addInitScript(probe, { selector: 'tr[data-patient]', count: patients });
    let scriptBytes = 0;
    const reading: Promise<void>[] = [];
    context.on('response', (answer) => {
      if (answer.request().resourceType() !== 'script') return;
      reading.push(
        answer.body().then(
          (body) => void (scriptBytes += gzipSync(body).length),
          () => undefined,
        ),
      );
    });
    const cold = await open(context, side.url, slower);
    const first = await started(cold);
    await Promise.all(reading);
    const initialBytes = scriptBytes;
    await cold.waitForFunction(() => navigator.serviceWorker.ready.then(() => true), undefined, {
      timeout: patienceMs,
    });
    await cold.close();

    const page = await open(context, side.url, slower);
    const second = await started(page);
    const keyed: number[] = [];
    const followed: number[] = [];
    for (const key of side.keys) {
      const follow = rowsFollow(page);
      keyed.push(await answerTo(page, key));
      followed.push(await follow);
    }
    const patient = `load-${1 + (round % patients)}`;
    round += 7;
    const volumeMl = 101 + (round % 800);
    const changeMs = await shownAfter(page, patient, `passed ${volumeMl} mL`, () =>
      side.send(patient, volumeMl),
    );
    const openedMs = await answerTo(page, 'tr[data-patient] a[data-row]');
    const after = (one: typeof first) =>
      one.seen.tasks.filter((task) => task.startMs + task.lengthMs > one.paintMs);
    const tasks = [...after(first), ...after(second)];
    await page.close();
    return {
      ms: {
        'first paint, empty tablet': first.paintMs,
        'last row, empty tablet': first.seen.lastRowMs,
        'first paint, opened before': second.paintMs,
        'last row, opened before': second.seen.lastRowMs,
        'a key on the board': Math.max(...keyed),
        'the rows after a key': Math.max(...followed),
        'opening a patient': openedMs,
        'change by another, until shown': changeMs,
      },
      shift: Math.max(first.seen.shift, second.seen.shift),
      moved: [...first.seen.moved, ...second.seen.moved],
      longTasks: tasks.length,
      longestMs: Math.max(0, ...tasks.map((task) => task.lengthMs)),
      scriptBytes: initialBytes,
    };
  } finally {
    await context.close();
  }
}

const middle = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
const spread = (values: readonly number[], digits = 2): string =>
  `${Math.min(...values).toFixed(digits)} to ${Math.max(...values).toFixed(digits)}`;

const ours = await startOurs({ patients, webFolder });
const peer = await startPeer(patients);
const browser = await chromium.launch({ executablePath, args: [...browserSwitches] });
let failed = false;
try {
  const board: Side = {
    url: `${ours.address}/#/board`,
    keys: ['fieldset button >> nth=1', 'fieldset button >> nth=0'],
    prepare: async (context) => {
      const at = ours.cookie.indexOf('=');
      await context.addCookies([
        { name: ours.cookie.slice(0, at), value: ours.cookie.slice(at + 1), url: ours.address },
      ]);
      await context.addInitScript(
        ([person, ward]) => {
          localStorage.setItem('ebbline.touch', String(Date.now()));
          localStorage.setItem(`ebbline.ward.${person}`, ward as string);
        },
        [nurse, loadWardId],
      );
    },
    send: (patient, volumeMl) => ours.record(patient, volumeMl),
  };
  const floor: Side = {
    url: peer.address,
    keys: ['button >> nth=1', 'button >> nth=0'],
    prepare: async () => undefined,
    send: async (patient, volumeMl) => peer.change(Number(patient.slice(5)), `passed ${volumeMl} mL`),
  };
  for (const slower of [1, 4]) {
    const a: Taken[] = [];
    const b: Taken[] = [];
    // The first pair warms both up.
    for (let pair = 0; pair <= pairs && performance.now() < untilMs; pair += 1) {
      const [one, other] = [await take(board, slower), await take(floor, slower)];
      if (pair === 0) continue;
      a.push(one);
      b.push(other);
    }
    process.stdout.write(`processor ×${slower}, ${patients} patients, ${a.length} pairs\n`);
    if (a.length < 7) {
      process.stdout.write('  too few pairs in the time allowed: no ratio is told\n');
      failed = true;
      continue;
    }
    for (const measure of measures) {
      const ratios = a.map((one, index) => one.ms[measure] / ((b[index] as Taken).ms[measure] || Number.NaN));
      const isAnswer = measure === 'a key on the board' || measure === 'opening a patient';
      const missed = isAnswer && slower === 1 && middle(ratios) > aimOfAnswers;
      failed ||= missed;
      process.stdout.write(
        `  ${measure}: ${middle(ratios).toFixed(2)} of the floor (${spread(ratios)}${isAnswer ? `; aim ${aimOfAnswers} at ×1` : ''})${missed ? '  MISSED' : ''}\n`,
      );
      if (times)
        process.stdout.write(
          `      this run, ms: ours ${middle(a.map((one) => one.ms[measure])).toFixed(0)} (${spread(
            a.map((one) => one.ms[measure]),
            0,
          )}), floor ${middle(b.map((one) => one.ms[measure])).toFixed(0)} (${spread(
            b.map((one) => one.ms[measure]),
            0,
          )})\n`,
        );
    }
    const shifts = a.map((one) => one.shift);
    const tooMuch = Math.max(...shifts) > 0;
    failed ||= tooMuch;
    process.stdout.write(
      `  layout shift: ${middle(shifts).toFixed(4)} (${spread(shifts, 4)}; aim 0; floor ${spread(
        b.map((one) => one.shift),
        4,
      )})${tooMuch ? `  MISSED: ${[...new Set(a.flatMap((one) => one.moved))].slice(0, 4).join(' | ')}` : ''}\n`,
    );
    process.stdout.write(
      `  tasks over 50 ms after the first paint, two starts: ${middle(a.map((one) => one.longTasks))} (${spread(
        a.map((one) => one.longTasks),
        0,
      )}), floor ${middle(b.map((one) => one.longTasks))}${
        times
          ? `; longest ${middle(a.map((one) => one.longestMs))} ms (${spread(
              a.map((one) => one.longestMs),
              0,
            )})`
          : ''
      }\n`,
    );
    if (slower === 1)
      process.stdout.write(
        `  script before the last row on an empty tablet: ${(middle(a.map((one) => one.scriptBytes)) / 1000).toFixed(0)} kB gzip (aim at most 150; the floor's is inline, ${(peer.scriptBytes / 1000).toFixed(1)} kB as it stands)\n`,
      );
  }
} finally {
  await browser.close();
  await peer.close();
  await ours.close();
}
if (failed) process.exitCode = 1;
