// Proves     a patient is added, put on watch with an own limit and charted by keyboard alone, as far as the next step; and
//            the pages for it, and the protocol's, have no accessibility fault that axe can find, in both themes.
// Published  WCAG 2.2 A and AA by axe-core (S-axe-core)
import { expect, test, type Page } from '@playwright/test';
import { chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

/** A ward of the made-up coast that the other tests leave alone, and its nurse. */
const nurse = 'arlo-penning';

/** Goes on with Tab until what has the focus is called so; a page that cannot be left by Tab fails here. */
async function tabTo(page: Page, name: RegExp, longest = 80): Promise<void> {
  for (let step = 0; step < longest; step += 1) {
    await page.keyboard.press('Tab');
    const called = await page.evaluate(() => {
      const at = document.activeElement;
      if (!(at instanceof HTMLElement)) return '';
      const label = at instanceof HTMLInputElement || at instanceof HTMLSelectElement ? at.labels?.[0] : null;
      return (at.getAttribute('aria-label') ?? label?.textContent ?? at.textContent ?? '').trim();
    });
    if (name.test(called)) return;
  }
  throw new Error(`Tab does not reach ${String(name)} in ${longest} steps.`);
}

test('a patient is added, watched and charted by keyboard alone', async ({ page }) => {
  test.setTimeout(60_000);
  await signIn(page, nurse);
  await expect(page.getByRole('heading', { level: 1, name: /^Board of/ })).toBeAttached();

  await tabTo(page, /^Add a patient$/);
  await page.keyboard.press('Enter');
  await expect(page.getByRole('heading', { name: 'Add a patient' })).toBeVisible();

  // Saved too early: the fault is said, and the focus is on the first field that lacks something.
  await tabTo(page, /^Add, then start the watch$/);
  await page.keyboard.press('Enter');
  await expect(page.getByText('Read or write the number on the wristband.')).toBeVisible();
  await expect(page.getByLabel('Number on the wristband')).toBeFocused();

  await page.keyboard.type('PL-70051');
  await tabTo(page, /^Bed$/);
  await page.keyboard.press('ArrowDown');
  await tabTo(page, /^Family name$/);
  await page.keyboard.type('Marrowby');
  await tabTo(page, /^Given name$/);
  await page.keyboard.type('Ilse');
  await tabTo(page, /^or age in years$/);
  await page.keyboard.type('66');
  await tabTo(page, /^Sex in the record$/);
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('Enter');
  await tabTo(page, /^Add, then start the watch$/);
  await page.keyboard.press('Enter');

  const form = page.locator('[data-form="watch-opened"]');
  await expect(form).toBeFocused();
  await tabTo(page, /^After surgery$/);
  await page.keyboard.press('Space');
  await tabTo(page, /^Why this person\?$/);
  await page.keyboard.type('knee replacement');
  await tabTo(page, /^4 h ago$/);
  await page.keyboard.press('Space');
  // There is no number pad on this form: the limit is typed into its own box.
  await tabTo(page, /^Limit for this person/);
  await page.keyboard.type('600');
  await page.keyboard.press('Enter');

  const step = page.locator('[data-next-step]');
  await expect(step).toBeVisible();
  await expect(page.getByText('600 mL', { exact: false }).first()).toBeVisible();
  await expect(page.locator('output').filter({ hasText: /^Saved \d\d:\d\d/ })).toContainText(
    'watch opened: after surgery',
  );

  await tabTo(page, /^Record a reading$/);
  await page.keyboard.press('Enter');
  await expect(page.locator('[data-form="reading"]')).toBeFocused();
  await page.keyboard.type('240');
  await tabTo(page, /^No void$/);
  await page.keyboard.press('Space');
  await page.keyboard.press('Enter');
  await expect(page.locator('output').filter({ hasText: /^Saved \d\d:\d\d/ })).toContainText(
    'reading, 240 mL, no void',
  );
  await expect(step).toContainText('Look again');
  await expect(step).toContainText('Rule AS-31');
  await expect(step).toContainText('limit of 600 mL');
});

test('a patient without a watch is one step from the board', async ({ page }) => {
  await signIn(page, nurse, '#/new-patient');
  await page.getByLabel('Number on the wristband').fill('PL-70052');
  await page.getByLabel('Bed', { exact: true }).selectOption({ index: 2 });
  await page.getByLabel('Family name').fill('Quistgaard');
  await page.getByLabel('Given name').fill('Oda');
  await page.getByLabel('or age in years').fill('81');
  await page.getByLabel('Sex in the record').selectOption('female');
  await page.getByRole('button', { name: 'Add, then start the watch' }).click();
  await expect(page.locator('[data-form="watch-opened"]')).toBeVisible();
  await page.goto('/#/board');
  await page
    .getByRole('region', { name: 'Added, not yet on watch' })
    .getByRole('link', { name: /O\.Q\./ })
    .click();
  await expect(page.locator('[data-next-step]')).toContainText('Nobody is on watch here');
});

for (const theme of ['light', 'night'] as const) {
  test(`adding a patient and the protocol have no fault, ${theme}`, async ({ page }) => {
    await chooseTheme(page, theme, people.nurse);
    await signIn(page, people.nurse, '#/new-patient');
    await expect(page.getByRole('heading', { name: 'Add a patient' })).toBeVisible();
    await expectNoViolations(page);
    await page.getByRole('button', { name: 'Add, then start the watch' }).click();
    await expect(page.getByText('Read or write the number on the wristband.')).toBeVisible();
    await expectNoViolations(page);
    for (const [hash, heading] of [
      ['#/protocol', 'Protocols'],
      ['#/protocol/after-surgery/AS-31', 'Rule AS-31'],
    ] as const) {
      await page.evaluate((to) => {
        location.hash = to;
      }, hash);
      await expect(page.getByRole('heading', { name: heading })).toBeVisible();
      await expectNoViolations(page);
      await page.setViewportSize({ width: 390, height: 844 });
      await expectNoViolations(page);
      expect(
        await page.evaluate(
          () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
        ),
        hash,
      ).toBeLessThanOrEqual(0);
      await page.setViewportSize({ width: 1440, height: 900 });
    }
  });
}
