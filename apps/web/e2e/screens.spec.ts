// Proves     every screen of the shell is free of accessibility faults that axe can find, in both themes; none scrolls sideways
// Published  WCAG 2.2 A and AA by axe-core (S-axe-core)
import { expect, test } from '@playwright/test';
import { boardIsShown, chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

const sizes = [
  { name: 'a laptop', width: 1440, height: 900 },
  { name: 'a tablet', width: 820, height: 1180 },
  { name: 'a phone', width: 390, height: 844 },
] as const;

const screens = [
  ['board', '#/board', /^Board of/],
  ['handover', '#/handover', 'Handover'],
  ['unit', '#/unit', /^The unit/],
  ['wall', '#/wall', 'Gull Ward'],
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

  for (const [name, hash, heading] of screens) {
    test(`the ${name} has no fault, ${theme}`, async ({ page }) => {
      await chooseTheme(page, theme, people.nurse);
      await signIn(page, people.nurse, hash);
      await expect(page.getByRole('heading', { level: 1, name: heading })).toBeVisible();
      if (name === 'board' || name === 'wall')
        await expect(page.locator('tr[data-group]').nth(5)).toBeVisible();
      expect(await page.evaluate(() => document.documentElement.dataset['theme'])).toBe(theme);
      await expectNoViolations(page);
    });
  }
}

for (const size of sizes) {
  test(`no screen scrolls sideways on ${size.name}`, async ({ page }) => {
    await page.setViewportSize(size);
    await signIn(page, people.nurse);
    await boardIsShown(page);
    for (const [name, hash, heading] of screens) {
      if (name === 'wall') continue;
      await page.evaluate((to) => {
        location.hash = to;
      }, hash);
      await expect(page.getByRole('heading', { level: 1, name: heading })).toBeVisible();
      expect(
        await page.evaluate(
          () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
        ),
        name,
      ).toBeLessThanOrEqual(0);
    }
  });
}

test('the board has no fault on a tablet, where its rows are drawn otherwise', async ({ page }) => {
  await page.setViewportSize(sizes[1]);
  await signIn(page, people.nurse);
  await boardIsShown(page);
  await expectNoViolations(page);
});

test('handover on paper begins at the top, without keys and places', async ({ page }) => {
  await signIn(page, people.charge, '#/handover');
  await expect(page.getByRole('heading', { level: 1, name: 'Handover' })).toBeVisible();
  await page.setViewportSize({ width: 720, height: 1050 });
  await page.emulateMedia({ media: 'print' });
  const top = await page
    .getByRole('heading', { level: 1, name: 'Handover' })
    .evaluate((heading) => heading.getBoundingClientRect().top);
  expect(top).toBeLessThan(150);
  await expect(page.getByRole('navigation', { name: 'Pages' })).toBeHidden();
  await expect(page.getByRole('button')).toHaveCount(0);
});
