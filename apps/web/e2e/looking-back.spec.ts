// Proves     the page of a patient who was found over the limit says since when that probably was so, for how long and by
//            how much, and "Why?" opens the entries of that stretch, by key and by thumb, in both themes.
// Published  none
// Tolerance  exact words but for the times; targets at least 48 px.
import { AxeBuilder } from '@axe-core/playwright';
import { expect, test } from '@playwright/test';
import { openWard } from './entry-ward.ts';

test.use({ serviceWorkers: 'block' });

const of = 'Over the limit, found at 16:10';

test('says since when, with "Why?" beside it', async ({ page }) => {
  await openWard(page, '#/patient/p-4');
  await expect(page.locator('[data-look-back]')).toHaveText(
    /^Probably over the limit from about 15:\d\d \(between 1[45]:\d\d and 1[56]:\d\d\), (\d+ min|\d\.\d h) and (under 5|[\d,]+) mL·h above it\.$/,
  );
  const key = page.getByRole('button', { name: `Why? ${of}` });
  const box = await key.boundingBox();
  expect(Math.min(box?.width ?? 0, box?.height ?? 0)).toBeGreaterThanOrEqual(48);
  await key.focus();
  await page.keyboard.press('Enter');
  const opened = page.getByRole('region', { name: `Why: ${of}` });
  await expect(opened).toContainText(/690 mL were drained at 16:10, over her limit of 600 mL\./);
  await expect(opened).toContainText(
    /By one straight line from the last known volume it was over for about 38 min/,
  );
  await expect(opened.getByRole('row', { name: /16:10 Drained: in and out 690 mL/ })).toBeVisible();
  await expect(opened.getByRole('row', { name: /15:56 Reading/ })).toBeVisible();
  await page.keyboard.press('Enter');
  await expect(opened).toHaveCount(0);
});

for (const theme of ['light', 'night'] as const)
  for (const [width, height] of [
    [1440, 900],
    [390, 844],
  ] as const)
    test(`breaks no rule of access and scrolls nothing sideways, ${theme}, ${width} wide`, async ({
      page,
    }) => {
      await page.setViewportSize({ width, height });
      await openWard(page, '#/patient/p-4', { theme });
      await page.getByRole('button', { name: `Why? ${of}` }).click();
      await expect(page.getByRole('region', { name: `Why: ${of}` })).toBeVisible();
      const found = await new AxeBuilder({ page })
        .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
        .analyze();
      expect(found.violations.map((one) => one.id)).toEqual([]);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
      ).toBeLessThanOrEqual(0);
    });
