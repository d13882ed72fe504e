// Proves     a reading near the limit says what another one would bring, while it is typed and on the patient's page, with
//            "Why?" beside it.
// Published  none
// Tolerance  exact words but for the counts
import { AxeBuilder } from '@axe-core/playwright';
import { expect, test } from '@playwright/test';
import { entry } from '../src/features/patient/testing/worked-patient.ts';
import { openWard, wardEntries } from './entry-ward.ts';

test.use({ serviceWorkers: 'block' });

const said =
  /Another reading by you would settle it (less than 1 time|\d times?) in 10, by somebody else \d times in 10; it takes 2 minutes\./;
const early = wardEntries.filter((one) => Date.parse(one.effectiveAt) < Date.parse('2026-05-14T14:00:00Z'));
const near = [
  ...early,
  entry('15:00', 'reading', { result: 'exact', volumeMl: 575, relation: 'no-void', doubts: [] }),
];

test('is said while the number is typed', async ({ page }) => {
  await openWard(page, '#/entry/p-4/reading', { clock: '15:00', entries: early });
  await page.keyboard.type('575');
  await expect(page.locator('[data-meaning]')).toContainText(said);
});

for (const [theme, width] of [
  ['light', 1440],
  ['night', 390],
] as const)
  test(`stands on the patient’s page with its "Why?", ${theme}, ${width} wide`, async ({ page }) => {
    await page.setViewportSize({ width, height: 900 });
    await openWard(page, '#/patient/p-4', { clock: '15:05', entries: near, theme });
    const plate = page.locator('[data-another-reading]');
    await expect(plate).toContainText(said);
    await page.getByRole('button', { name: 'Why? What another reading would bring' }).click();
    const opened = page.getByRole('region', { name: 'Why: What another reading would bring' });
    await expect(opened).toContainText('575 mL lie 25 mL from her limit of 600 mL.');
    await expect(opened.getByRole('row', { name: /15:00 Reading/ })).toBeVisible();
    const found = await new AxeBuilder({ page })
      .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
      .analyze();
    expect(found.violations.map((one) => one.id)).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
  });

test('is gone once the reading is old', async ({ page }) => {
  await openWard(page, '#/patient/p-4', { clock: '15:40', entries: near });
  await expect(page.locator('[data-next-step]')).toBeVisible();
  await expect(page.locator('[data-another-reading]')).toHaveCount(0);
});
