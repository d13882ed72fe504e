// Proves     every screen of the shell is free of accessibility faults that axe can find, in both themes; none scrolls sideways
// Published  WCAG 2.2 A and AA by axe-core (S-axe-core)
import { expect, test } from '@playwright/test';
import { boardIsShown, chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

const sizes = [
  { name: 'a laptop', width: 1440, height: 900 },
  { name: 'a tablet', width: 820, height: 1180 },
  { name: 'a phone', width: 390, height: 844 },
] as const;

for (const theme of ['light', 'night'] as const) {
  test(`the door and the lock have no fault, ${theme}`, async ({ page }) => {
    await chooseTheme(page, theme, people.nurse);
    await page.goto('/');
    await expect(page.getByLabel('Secret')).toBeVisible();
    await expectNoViolations(page);
    await signIn(page, people.nurse);
    await page.getByRole('button', { name: /signed in as/ }).click();
    await expectNoViolations(page);
    await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
    await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
    await expectNoViolations(page);
  });

  for (const size of sizes) {
    test(`board, handover, unit and wall have no fault on ${size.name}, ${theme}`, async ({ page }) => {
      await page.setViewportSize(size);
      await chooseTheme(page, theme, people.nurse);
      await signIn(page, people.nurse);
      await boardIsShown(page);
      expect(await page.evaluate(() => document.documentElement.dataset['theme'])).toBe(theme);
      const wide = (): Promise<number> => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      await expectNoViolations(page);
      expect(await wide()).toBeLessThanOrEqual(0);
      for (const [hash, heading] of [
        ['#/handover', 'Handover'],
        ['#/unit', /^The unit/],
        ...(size.width > 1000 ? [['#/wall', 'Gull Ward'] as const] : []),
      ] as const) {
        await page.evaluate((to) => {
          location.hash = to;
        }, hash);
        await expect(page.getByRole('heading', { level: 1, name: heading })).toBeVisible();
        await page.waitForTimeout(400);
        await expectNoViolations(page);
        expect(await wide()).toBeLessThanOrEqual(0);
      }
    });
  }
}
