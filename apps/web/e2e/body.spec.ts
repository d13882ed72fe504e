// Proves     the traced body is drawn and turned by keys, buttons and drag where there is a graphics card, flat where there
//            is none; its words and table say the same; nothing moves on its own; axe in both themes; nothing scrolls sideways
//            on a telephone.
// Tolerance  the drawn ellipsoid is 84 × 72 × 60 mm: each extent within 6 mm as traced from the pictures
import { createHash } from 'node:crypto';
import { expect, test, type Page } from '@playwright/test';
import { drawnFolder } from './drawn-set.ts';
import { openWard } from './entry-ward.ts';
import { expectNoViolations } from './ward.ts';

test.use({ serviceWorkers: 'block' });
// Without a graphics card the processor draws, and two cores are shared.
test.setTimeout(90_000);

const withoutWebGl = (page: Page): Promise<unknown> =>
  page.addInitScript(() => {
    const usual = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (
      this: HTMLCanvasElement,
      kind: string,
      ...rest: never[]
    ) {
      return kind.startsWith('webgl') ? null : usual.call(this, kind, ...rest);
    } as typeof usual;
  });

async function openBody(
  page: Page,
  centre: readonly [number, number, number] = [5, -3, 70],
  theme: 'light' | 'night' = 'light',
): Promise<void> {
  await openWard(page, '#/images/p-4', { theme });
  await page.locator('[data-files]').setInputFiles(drawnFolder(centre, [42, 36, 30]));
  await expect(page.getByRole('region', { name: 'The body in space' })).toBeVisible({ timeout: 20_000 });
}
const region = (page: Page) => page.getByRole('region', { name: 'The body in space' });
const drawing = (page: Page) => region(page).getByRole('slider', { name: 'The body, turned' });
/** Every pixel of the drawing as a short sum, to see whether it changed. */
const pixels = async (page: Page): Promise<string> =>
  createHash('sha256')
    .update(await region(page).locator('[data-drawn] canvas').screenshot())
    .digest('hex');

test('its words say extents, volume and what was seen', async ({ page }) => {
  await openBody(page);
  const words = await region(page).locator('p.speak').innerText();
  const [length, width, depth] =
    /Length (\d+) mm.*width (\d+) mm, depth (\d+) mm/.exec(words)?.slice(1).map(Number) ?? [];
  expect(Math.abs((length ?? 0) - 72)).toBeLessThanOrEqual(6);
  expect(Math.abs((width ?? 0) - 84)).toBeLessThanOrEqual(6);
  expect(Math.abs((depth ?? 0) - 60)).toBeLessThanOrEqual(6);
  expect(words).toContain('The two agree.');
  await expect(region(page).getByRole('row')).toHaveCount(7);
});

for (const theme of ['light', 'night'] as const) {
  test(`is turned by keys and buttons, and by nothing else, ${theme}`, async ({ page }) => {
    await openBody(page, [5, -3, 70], theme);
    await expect(region(page).locator('[data-drawn="solid"]')).toBeVisible();
    await expect(drawing(page)).toHaveAttribute(
      'aria-valuetext',
      /turned 30° to the right, tipped 20° towards you/,
    );
    const first = await pixels(page);
    await page.clock.runFor(5_000);
    expect(await pixels(page)).toBe(first);
    await drawing(page).focus();
    await page.keyboard.press('ArrowLeft');
    await page.keyboard.press('ArrowLeft');
    await page.keyboard.press('ArrowUp');
    await expect(drawing(page)).toHaveAttribute(
      'aria-valuetext',
      /seen from the front, tipped 5° towards you/,
    );
    expect(await pixels(page)).not.toBe(first);
    await region(page).getByRole('button', { name: 'Turn right' }).click();
    await expect(drawing(page)).toHaveAttribute('aria-valuetext', /turned 15° to the right/);
    const before = await pixels(page);
    await region(page).getByRole('button', { name: 'Larger' }).click();
    expect(await pixels(page)).not.toBe(before);
    await region(page).getByRole('button', { name: 'As at first' }).click();
    await expect(drawing(page)).toHaveAttribute(
      'aria-valuetext',
      /turned 30° to the right, tipped 20° towards you/,
    );
    const again = await pixels(page);
    await region(page).getByRole('button', { name: 'Show the planes' }).click();
    await expect.poll(() => pixels(page)).not.toBe(again);
    await expectNoViolations(page);
  });
}

test('is turned by a drag', async ({ page }) => {
  await openBody(page);
  await expect(region(page).locator('[data-drawn="solid"]')).toBeVisible();
  const canvas = region(page).locator('[data-drawn] canvas');
  await canvas.scrollIntoViewIfNeeded();
  const box = await canvas.boundingBox();
  if (!box) throw new Error('no drawing');
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + 40, y, { steps: 4 });
  await page.mouse.up();
  await page.mouse.move(x + 120, y);
  await expect(drawing(page)).toHaveAttribute('aria-valuetext', /turned 50° to the right/);
});

test('is drawn flat from three sides without a graphics card, hatched where it leaves the picture', async ({
  page,
}) => {
  await withoutWebGl(page);
  await openBody(page, [0, -52, 70]);
  await expect(region(page).locator('[data-drawn="flat"]')).toBeVisible();
  await expect(region(page).locator('svg[data-flat]')).toHaveCount(3);
  const hatched = region(page).locator('svg[data-flat="front"] path[fill^="url"]');
  expect((await hatched.getAttribute('d'))?.length ?? 0).toBeGreaterThan(50);
  await expect(region(page).getByRole('row', { name: /towards the feet/ })).toContainText('not seen');
  await expectNoViolations(page);
});

test('fits a telephone', async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await openBody(page);
  await expect(region(page).locator('[data-drawn="solid"]')).toBeVisible();
  expect(
    await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
  ).toBeLessThanOrEqual(0);
  for (const key of await region(page).getByRole('button').all())
    expect((await key.boundingBox())?.height ?? 0).toBeGreaterThanOrEqual(48);
});

test('gives the graphics card back when the page is left', async ({ page }) => {
  await page.addInitScript(() => {
    const taken: WebGL2RenderingContext[] = [];
    Object.assign(globalThis, { taken });
    const usual = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (
      this: HTMLCanvasElement,
      kind: string,
      ...rest: never[]
    ) {
      const context = usual.call(this, kind, ...rest);
      if (kind === 'webgl2' && context) taken.push(context as unknown as WebGL2RenderingContext);
      return context;
    } as typeof usual;
  });
  const held = (): Promise<boolean[]> =>
    page.evaluate(() =>
      (globalThis as unknown as { taken: WebGL2RenderingContext[] }).taken.map((one) => !one.isContextLost()),
    );
  await openBody(page);
  await expect(region(page).locator('[data-drawn="solid"]')).toBeVisible();
  expect((await held()).filter(Boolean)).toHaveLength(1);
  await page.evaluate(() => {
    location.hash = '#/board';
  });
  await expect(region(page)).toBeHidden();
  await expect.poll(async () => (await held()).filter(Boolean)).toHaveLength(0);
});
