// Proves     an outline is moved by mouse, by touch and by keyboard with the volume following, undone exactly, kept with the
//            program's beside it, and both are seen in the record; scale and layout are asked for; nothing goes over the
//            network but entries; axe in light and night on a desk, a tablet and a telephone.
// Published  examples/planes: nine turned planes of an ellipsoid of 175.9 mL (closed form, examples/make-planes.ts).
// Tolerance  volume 15 % (the sets' own scoring rule); a dragged point lands within 2 pixels of the screen; from the move of
//            a finger to the new number 16 ms of work; no task of the main thread above 200 ms while twelve planes are traced.
//            Both figures are printed
import { readdirSync, readFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { expect, test, type Locator, type Page } from '@playwright/test';
import type { PayloadOf } from '@ebbline/core/record';
import { drawnFolder } from './drawn-set.ts';
import { openWard, type Sent } from './entry-ward.ts';
import { expectNoViolations } from './ward.ts';

test.use({ serviceWorkers: 'block' });
const examples = join(import.meta.dirname, '../../../examples/planes');
const exampleFiles = readdirSync(examples).map((name) => join(examples, name));
const pictureFiles = exampleFiles.filter((name) => name.endsWith('.png'));

async function openExample(page: Page, theme: 'light' | 'night' = 'light'): Promise<Sent> {
  const sent = await openWard(page, '#/images/p-4', { theme });
  await page.locator('[data-files]').setInputFiles(exampleFiles);
  await expect(volume(page)).toContainText('mL', { timeout: 20_000 });
  return sent;
}
const volume = (page: Page): Locator => page.locator('[data-volume]');
const volumeMl = async (page: Page): Promise<number> =>
  Number(/\d+/.exec(await volume(page).innerText())?.[0]);
const slider = (page: Page): Locator => page.getByRole('slider', { name: /^Outline of plane/ });
const handle = (page: Page, index: number): Locator => page.locator('[data-point]').nth(index);

async function middleOf(target: Locator): Promise<{ x: number; y: number }> {
  const box = await target.boundingBox();
  if (!box) throw new Error('the point is not drawn');
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}
const reading = (sent: Sent): PayloadOf<'reading'> =>
  sent.entries.find((one) => one.kind === 'reading')?.payload as PayloadOf<'reading'>;

test('a point is dragged by mouse, the volume follows, and undo gives the program’s answer back', async ({
  page,
}) => {
  await openExample(page);
  const before = await volumeMl(page);
  expect(Math.abs(before / 175.9 - 1)).toBeLessThan(0.15);
  const from = await middleOf(handle(page, 0));
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  await page.mouse.move(from.x + 60, from.y, { steps: 6 });
  const during = await volumeMl(page);
  expect(during).toBeGreaterThan(before);
  await page.mouse.up();
  expect(await volumeMl(page)).toBe(during);
  const to = await middleOf(handle(page, 0));
  // Along its own ray: what the finger went, projected on the way the point went.
  const went = { x: to.x - from.x, y: to.y - from.y };
  expect(went.x).toBeGreaterThan(50);
  expect(Math.abs((went.x * 60) / Math.hypot(went.x, went.y) - Math.hypot(went.x, went.y))).toBeLessThan(2);
  await expect(page.getByText('1 of 9 planes changed by hand.')).toBeVisible();
  await page.getByRole('button', { name: 'Undo' }).click();
  expect(await volumeMl(page)).toBe(before);
  await expect(page.getByText('planes changed by hand.')).toHaveCount(0);
  await page.keyboard.press('Control+y');
  expect(await volumeMl(page)).toBe(during);
  await page.keyboard.press('Control+z');
  expect(await volumeMl(page)).toBe(before);
});

test('a point is moved by keys alone, and each step is said', async ({ page }) => {
  await openExample(page);
  const before = await volumeMl(page);
  await slider(page).focus();
  await page.keyboard.press('ArrowRight');
  await expect(slider(page)).toHaveAttribute(
    'aria-valuetext',
    /^point 2 of \d+, [\d.]+ mm from the centre, .*\d+ mL/,
  );
  const at = async (): Promise<number> =>
    Number(/, ([\d.]+) mm/.exec((await slider(page).getAttribute('aria-valuetext')) ?? '')?.[1]);
  const first = await at();
  await page.keyboard.press('ArrowUp');
  expect(await at()).toBeCloseTo(first + 0.5, 1);
  await page.keyboard.press('Shift+ArrowUp');
  expect(await at()).toBeCloseTo(first + 2.5, 1);
  await page.keyboard.press('PageDown');
  await page.keyboard.press('ArrowDown');
  expect(await at()).toBeCloseTo(first, 1);
  for (let press = 0; press < 4; press += 1) await page.keyboard.press('PageUp');
  expect(await volumeMl(page)).toBeGreaterThan(before);
  await page.getByRole('button', { name: 'All as the program had it' }).press('Enter');
  expect(await volumeMl(page)).toBe(before);
});

test('keys without a drag move a point too', async ({ page }) => {
  await openExample(page);
  const before = await volumeMl(page);
  await page.getByRole('button', { name: 'Next point', exact: true }).click();
  for (let press = 0; press < 4; press += 1) await page.getByRole('button', { name: 'Out 2 mm' }).click();
  expect(await volumeMl(page)).toBeGreaterThan(before);
});

test.describe('by touch on a telephone', () => {
  test.use({ hasTouch: true, viewport: { width: 390, height: 844 } });
  test('a point is dragged and kept: the record shows both outlines, and only entries leave the tablet', async ({
    page,
  }) => {
    const asked: string[] = [];
    page.on('request', (request) => asked.push(request.url()));
    const sent = await openExample(page);
    const before = await volumeMl(page);
    await page.getByRole('button', { name: 'Closer' }).tap();
    await handle(page, 0).scrollIntoViewIfNeeded();
    const from = await middleOf(handle(page, 0));
    const touch = await page.context().newCDPSession(page);
    const point = (x: number): { touchPoints: { x: number; y: number }[] } => ({
      touchPoints: [{ x, y: from.y }],
    });
    await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', ...point(from.x) });
    for (let x = 5; x <= 30; x += 5)
      await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', ...point(from.x + x) });
    await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
    await expect.poll(() => volumeMl(page)).toBeGreaterThan(before);
    const kept = await volumeMl(page);
    const keep = page.getByRole('button', { name: /^Keep as a reading/ });
    await expect(keep).toBeDisabled();
    await page.getByRole('button', { name: 'Before a void' }).tap();
    await keep.tap();
    await expect.poll(() => sent.entries.length).toBeGreaterThan(0);
    expect(reading(sent)).toMatchObject({
      volumeMl: kept,
      source: 'images',
      method: 'traced-from-images',
      evidence: {
        drawnBy: 'both',
        scaleFrom: 'file',
        layoutFrom: 'file',
        program: { answer: 'volume' },
        person: { who: 'kl' },
      },
    });
    expect(reading(sent).evidence?.program?.outlines).toHaveLength(9);
    expect(reading(sent).evidence?.person?.outlines.map((one) => one.plane)).toEqual([0]);
    expect(Math.round(reading(sent).evidence?.program?.volumeMl ?? 0)).toBe(before);
    await page.waitForURL(/#\/patient\/p-4$/);
    await page.evaluate(() => {
      location.hash = '#/patient/p-4/record';
    });
    await expect(page.getByText(`The program alone said ${before} mL.`)).toBeVisible();
    await page.getByRole('button', { name: /^Look at the outlines of/ }).tap();
    await expect(page.getByRole('img', { name: 'Plane 1, outline: both' })).toBeVisible();
    await expect(page.getByRole('img', { name: 'Plane 2, outline: program' })).toBeVisible();
    await expectNoViolations(page);
    const own = new URL(page.url()).origin;
    expect(asked.filter((url) => !url.startsWith(own) && !url.startsWith('blob:'))).toEqual([]);
  });
});

for (const theme of ['light', 'night'] as const) {
  for (const [name, width, height] of [
    ['a desk', 1440, 900],
    ['a tablet', 820, 1180],
    ['a telephone', 390, 844],
  ] as const) {
    test(`is within reach of everybody and does not scroll sideways on ${name}, ${theme}`, async ({
      page,
    }) => {
      await page.setViewportSize({ width, height });
      await openExample(page, theme);
      await handle(page, 0).hover();
      await page.getByRole('button', { name: 'Out 2 mm' }).click();
      await expectNoViolations(page);
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      expect(wide).toBeLessThanOrEqual(width);
      const target = await handle(page, 0).boundingBox();
      expect(target?.width).toBeGreaterThanOrEqual(47.5);
    });
  }
}

/** The made-up ward has a made-up clock; what is measured here needs the real one. */
async function keepRealClock(page: Page): Promise<void> {
  await page.addInitScript(() => {
    Object.assign(globalThis, {
      realNowMs: performance.now.bind(performance),
      realFrame: requestAnimationFrame.bind(globalThis),
    });
  });
}
interface RealClock {
  readonly realNowMs: () => number;
  readonly realFrame: (then: () => void) => number;
}

test('a number follows a finger within a frame, also on twelve planes', async ({ page }) => {
  test.slow();
  await keepRealClock(page);
  await openWard(page, '#/images/p-4');
  await page.locator('[data-files]').setInputFiles(drawnFolder([5, -3, 70], [42, 36, 30]));
  await expect(volume(page)).toContainText('mL', { timeout: 20_000 });
  await expect(page.getByRole('region', { name: 'The body in space' })).toBeVisible({ timeout: 20_000 });
  const round = (): Promise<number[]> =>
    page.evaluate(async () => {
      const { realNowMs, realFrame } = globalThis as unknown as RealClock;
      const target = document.querySelector('[data-point]') as HTMLElement;
      const figure = document.querySelector('[data-volume]') as HTMLElement;
      const box = target.getBoundingClientRect();
      const at = { x: box.left + box.width / 2, y: box.top + box.height / 2 };
      const fire = (type: string, x: number): boolean =>
        target.dispatchEvent(
          new PointerEvent(type, { bubbles: true, pointerId: 1, button: 0, clientX: x, clientY: at.y }),
        );
      target.setPointerCapture = () => undefined;
      fire('pointerdown', at.x);
      const taken: number[] = [];
      for (let move = 1; move <= 60; move += 1) {
        const before = figure.textContent;
        const changed = new Promise<number>((resolve) => {
          const watch = new MutationObserver(() => {
            if (figure.textContent === before) return;
            watch.disconnect();
            resolve(realNowMs());
          });
          watch.observe(figure, { subtree: true, childList: true, characterData: true });
        });
        // A browser hands moves over at the start of a frame.
        await new Promise<void>((resolve) => realFrame(resolve));
        const start = realNowMs();
        fire('pointermove', at.x + (move % 2 === 0 ? 0 : 30 + move / 4));
        taken.push((await changed) - start);
      }
      fire('pointercancel', at.x);
      return taken;
    });
  // Time of the processor in the calmest of six rounds: other programs lengthen a round, never shorten it. What a clock
  // says is printed beside it.
  const devtools = await page.context().newCDPSession(page);
  await devtools.send('Performance.enable', { timeDomain: 'threadTicks' });
  const spentMs = async (): Promise<number> => {
    const { metrics } = await devtools.send('Performance.getMetrics');
    const parts = ['ScriptDuration', 'LayoutDuration', 'RecalcStyleDuration'];
    return 1000 * metrics.reduce((sum, one) => sum + (parts.includes(one.name) ? one.value : 0), 0);
  };
  await round();
  const moves = 60;
  const works: number[] = [];
  const medians: number[] = [];
  for (let take = 0; take < 6; take += 1) {
    const before = await spentMs();
    const sorted = (await round()).toSorted((a, b) => a - b);
    works.push(((await spentMs()) - before) / moves);
    medians.push(sorted[moves / 2] ?? NaN);
  }
  const work = Math.min(...works);
  console.log(
    `from finger to number: ${work.toFixed(1)} ms of work a move; by the clock of this machine ${Math.min(...medians).toFixed(1)} ms`,
  );
  expect(work).toBeLessThanOrEqual(16);
});

test('the page stays awake while twelve planes are read and traced', async ({ page }) => {
  test.slow();
  await keepRealClock(page);
  await openWard(page, '#/images/p-4');
  const files = drawnFolder([5, -3, 70], [42, 36, 30]);
  // As above, the calmest of six; a calm one is enough.
  const longestAllowedMs = 200;
  const takes: { longest: number; shown: number }[] = [];
  for (let take = 0; take < 6 && !takes.some((one) => one.longest <= longestAllowedMs); take += 1) {
    await page.evaluate(() => {
      const { realNowMs } = globalThis as unknown as RealClock;
      const kept = { tasks: [] as { from: number; ms: number }[], from: realNowMs(), shownAt: Infinity };
      Object.assign(globalThis, { kept });
      new PerformanceObserver((list) => {
        for (const one of list.getEntries()) kept.tasks.push({ from: one.startTime, ms: one.duration });
      }).observe({ type: 'longtask' });
      new MutationObserver((_changes, watch) => {
        if (!document.querySelector('[data-volume]')) return;
        kept.shownAt = realNowMs();
        watch.disconnect();
      }).observe(document.body, { subtree: true, childList: true });
    });
    await page.locator('[data-files]').setInputFiles(files);
    await expect(volume(page)).toContainText('mL', { timeout: 20_000 });
    takes.push(
      await page.evaluate(() => {
        const { kept } = globalThis as unknown as {
          kept: { tasks: { from: number; ms: number }[]; from: number; shownAt: number };
        };
        const ours = kept.tasks.filter((one) => one.from >= kept.from && one.from <= kept.shownAt);
        return { longest: Math.max(0, ...ours.map((one) => one.ms)), shown: kept.shownAt - kept.from };
      }),
    );
    await page.getByRole('button', { name: 'Set the images aside' }).click();
  }
  const worker = page.workers().find((one) => one.url().includes('worker'));
  const inWorker = await worker?.evaluate(() =>
    performance.getEntriesByType('measure').map(({ name, duration }) => ({ name, ms: duration })),
  );
  const told = (name: string): string =>
    (inWorker ?? [])
      .filter((one) => one.name === name)
      .map((one) => one.ms.toFixed(0))
      .join(', ');
  console.log(
    `in the worker: images read in ${told('images read')} ms, volume traced in ${told('volume traced')} ms`,
  );
  const longest = Math.min(...takes.map((one) => one.longest));
  console.log(
    `twelve planes read, traced and shown by the clock after ${takes.map((one) => one.shown.toFixed(0)).join(', ')} ms`,
  );
  console.log(
    `longest task of the main thread while reading and tracing: ${longest === 0 ? 'below 50' : longest.toFixed(0)} ms`,
  );
  expect(longest).toBeLessThanOrEqual(longestAllowedMs);
});

test('work that runs can be stopped, and nothing is lost by it', async ({ page }) => {
  // A worker that never answers stands for a set that takes long.
  await page.addInitScript(() => {
    class Silent extends EventTarget {
      postMessage(): void {}
      terminate(): void {}
    }
    Object.assign(globalThis, { Worker: Silent });
  });
  const sent = await openWard(page, '#/images/p-4');
  await page.locator('[data-files]').setInputFiles(exampleFiles);
  await expect(page.getByRole('progressbar')).toBeVisible();
  await page.getByRole('button', { name: 'Stop' }).click();
  await expect(page.getByRole('progressbar')).toHaveCount(0);
  await expect(page.locator('[data-files]')).toBeVisible();
  expect(sent.entries).toEqual([]);
});

test('files may be dropped on the page, and a wrong one costs nothing of what is on it', async ({ page }) => {
  await openWard(page, '#/images/p-4');
  const drop = async (files: readonly { name: string; base64: string }[]): Promise<void> => {
    const transfer = await page.evaluateHandle((given) => {
      const all = new DataTransfer();
      for (const { name, base64 } of given)
        all.items.add(new File([Uint8Array.from(atob(base64), (one) => one.charCodeAt(0))], name));
      return all;
    }, files);
    await page.dispatchEvent('h1', 'drop', { dataTransfer: transfer });
  };
  await drop(
    exampleFiles.map((file) => ({ name: basename(file), base64: readFileSync(file).toString('base64') })),
  );
  await expect(volume(page)).toContainText('mL', { timeout: 20_000 });
  await page.getByRole('button', { name: 'Out 2 mm' }).click();
  const moved = await volume(page).innerText();
  await drop([{ name: 'letter.txt', base64: btoa('a letter') }]);
  await expect(page.getByRole('alert')).toContainText('images/not-known', { timeout: 20_000 });
  expect(await volume(page).innerText()).toBe(moved);
  await expect(page.getByText('1 of 9 planes changed by hand.')).toBeVisible();
});

test('pictures alone ask for scale and layout, and the reading says that they were given by hand', async ({
  page,
}) => {
  const sent = await openWard(page, '#/images/p-4');
  await page.locator('[data-files]').setInputFiles(pictureFiles);
  await expect(page.getByRole('heading', { name: 'What the files do not say' })).toBeVisible({
    timeout: 20_000,
  });
  await expectNoViolations(page);
  await page.getByRole('button', { name: 'Find the outline' }).click();
  await expect(page.getByRole('alert')).toContainText('Tap both ends of a known length');
  // 100 mm down the middle of the picture at 0.7 mm a pixel.
  const picker = page.locator('[data-picker]');
  const box = await picker.boundingBox();
  const px = (box?.width ?? 0) / 353;
  await picker.click({ position: { x: 176 * px, y: 40 * px } });
  await picker.click({ position: { x: 176 * px, y: (40 + 100 / 0.7) * px } });
  await page.getByLabel('Length between the two points, mm').fill('100');
  await expect(page.getByText(/One pixel is 0\.(69|70)/)).toBeVisible();
  await page.getByLabel('How do the planes lie to each other?').selectOption('rotational_fan');
  await page.getByRole('button', { name: 'Find the outline' }).click();
  await expect(volume(page)).toContainText('mL', { timeout: 20_000 });
  expect(Math.abs((await volumeMl(page)) / 175.9 - 1)).toBeLessThan(0.15);
  await expect(page.getByText('scale or layout given by hand')).toBeVisible();
  await page.getByRole('button', { name: 'No void', exact: true }).click();
  await page.getByRole('button', { name: /^Keep as a reading/ }).click();
  await expect.poll(() => sent.entries.length).toBeGreaterThan(0);
  expect(reading(sent).evidence).toMatchObject({ scaleFrom: 'hand', layoutFrom: 'hand', drawnBy: 'program' });
});

test('a folder of JPEG pictures is read like one of PNG', async ({ page }) => {
  await openWard(page, '#/images/p-4');
  // The browser that shows them writes them.
  const jpegOf = async (file: string): Promise<Buffer> => {
    const png = readFileSync(file).toString('base64');
    const jpeg = await page.evaluate(async (source) => {
      const image = new Image();
      image.src = `data:image/png;base64,${source}`;
      await image.decode();
      const canvas = document.createElement('canvas');
      [canvas.width, canvas.height] = [image.width, image.height];
      canvas.getContext('2d')?.drawImage(image, 0, 0);
      return canvas.toDataURL('image/jpeg', 0.92).split(',')[1] ?? '';
    }, png);
    return Buffer.from(jpeg, 'base64');
  };
  const files = [];
  for (const file of pictureFiles) {
    const name = basename(file).replace('.png', '.jpg');
    files.push({ name, mimeType: 'image/jpeg', buffer: await jpegOf(file) });
  }
  const geometry = readFileSync(join(examples, 'geometry.json'), 'utf8').replaceAll('.png', '.jpg');
  files.push({ name: 'geometry.json', mimeType: 'application/json', buffer: Buffer.from(geometry) });
  await page.locator('[data-files]').setInputFiles(files);
  await expect(volume(page)).toContainText('mL', { timeout: 20_000 });
  expect(Math.abs((await volumeMl(page)) / 175.9 - 1)).toBeLessThan(0.15);
});

test('the bladder is pointed at, and drawn by hand by two points from the keyboard', async ({ page }) => {
  await openExample(page);
  const before = await volumeMl(page);
  await page.getByRole('button', { name: 'The bladder is here…' }).click();
  await page.locator('[data-picker]').focus();
  await page.keyboard.press('Enter');
  await expect(page.getByRole('progressbar')).toHaveCount(0, { timeout: 20_000 });
  expect(await volumeMl(page)).toBe(before);
  await page.getByRole('button', { name: 'Draw this plane by hand…' }).click();
  await page.locator('[data-picker]').focus();
  await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Shift+ArrowRight');
  await page.keyboard.press('Shift+ArrowRight');
  await page.keyboard.press('Enter');
  await expect(page.getByText('1 of 9 planes changed by hand.')).toBeVisible();
  await expect(slider(page)).toHaveAttribute('aria-valuetext', /drawn by guess/);
});

test('where no bladder is found a person draws every plane, and half of them give no volume', async ({
  page,
}) => {
  await openWard(page, '#/images/p-4');
  // A body of half a millimetre: speckle and nothing else.
  await page.locator('[data-files]').setInputFiles(drawnFolder([0, 0, 70], [0.5, 0.5, 0.5]));
  await expect(volume(page)).toContainText('no bladder seen', { timeout: 20_000 });
  await expect(page.getByText('This does not exclude a full one that was missed.')).toBeVisible();
  await page.getByRole('button', { name: 'Draw this plane by hand…' }).click();
  const picker = page.locator('[data-picker]');
  const box = await picker.boundingBox();
  const [width, height] = [box?.width ?? 0, box?.height ?? 0];
  await picker.click({ position: { x: 0.4 * width, y: 0.5 * height } });
  await picker.click({ position: { x: 0.6 * width, y: 0.5 * height } });
  await expect(volume(page)).toContainText('no volume');
  await expect(page.getByRole('alert')).toContainText('Outline plane 2');
  for (let plane = 2; plane <= 12; plane += 1) {
    await page.getByRole('button', { name: new RegExp(`^Plane ${plane}, `) }).click();
    await page.getByRole('button', { name: /^Take the outline of plane/ }).click();
  }
  await expect(volume(page)).toContainText(/\d+ mL/);
});

test('three diameters are measured on the pictures with the coefficient of the unit', async ({ page }) => {
  const sent = await openExample(page);
  await page.getByRole('button', { name: 'Measure three diameters instead' }).click();
  const picker = page.locator('[data-picker]');
  const box = await picker.boundingBox();
  const [px, py] = [(box?.width ?? 0) / 353, (box?.height ?? 0) / 216];
  // 70 mm is 100 pixels.
  for (const [x, y, toX, toY] of [
    [130, 100, 230, 100],
    [130, 120, 230, 120],
    [176, 60, 176, 160],
  ] as const) {
    await picker.click({ position: { x: x * px, y: y * py } });
    await picker.click({ position: { x: toX * px, y: toY * py } });
  }
  await page.getByLabel(/Coefficient of this unit/).selectOption('A1');
  // π/6 · 70³ mm³ = 179.6 mL
  expect(Math.abs((await volumeMl(page)) - 179.6)).toBeLessThan(5);
  await expectNoViolations(page);
  await page.getByRole('button', { name: 'No void', exact: true }).click();
  await page.getByRole('button', { name: /^Keep as a reading/ }).click();
  await expect.poll(() => sent.entries.length).toBeGreaterThan(0);
  expect(reading(sent)).toMatchObject({
    method: 'calipers',
    source: 'images',
    evidence: { layout: 'three_diameters' },
  });
});

test('the planes with their outlines are saved as one picture', async ({ page }) => {
  await openExample(page);
  const coming = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Picture of the planes (PNG)' }).click();
  const file = await coming;
  expect(file.suggestedFilename()).toBe('planes.png');
  const stream = await file.createReadStream();
  let size = 0;
  for await (const part of stream) size += (part as Buffer).length;
  expect(size).toBeGreaterThan(20_000);
});
