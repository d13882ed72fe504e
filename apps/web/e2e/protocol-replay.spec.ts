// Proves     a draft is tried on the past and on made-up wards: progress, stop, paired tables, figure, whose step changes; an
//            untouched draft changes nothing; no accessibility fault, no page that scrolls sideways; it prints
// Published  none; the made-up coast
// Tolerance  signs and zeros exact; targets at least 48 px
import { expect, test, type Locator, type Page } from '@playwright/test';
import { chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

// Two protocols over every finished watch and 30 made-up patients take some seconds, more where others work too.
test.describe.configure({ timeout: 120_000 });
const longMs = 90_000;

const results = (page: Page): Locator => page.locator('[data-replay="done"]');
const difference = (page: Page, title: string): Locator =>
  results(page).locator(`[data-difference="${title}"]`);

async function openDraft(page: Page, person: string): Promise<void> {
  await signIn(page, person, '#/protocol/after-surgery');
  await page.getByRole('button', { name: 'Make a draft' }).click();
  await expect(page.getByRole('heading', { level: 1, name: 'Draft: After surgery' })).toBeVisible();
}

/** Looks under 250 mL come after 150 minutes instead of 90. */
async function waitLonger(page: Page): Promise<void> {
  const row = page.locator('[data-row="AS-31"]');
  const titles = await row.locator('xpath=ancestor::table').getByRole('columnheader').allTextContents();
  await row.locator('th, td').nth(titles.indexOf('Due in, min')).click();
  await page.getByRole('dialog').getByLabel('Due in, min', { exact: true }).fill('150');
  await page.getByRole('button', { name: 'Done' }).click();
}

async function tryIt(page: Page): Promise<void> {
  await page.getByRole('link', { name: 'Try it on the past' }).click();
  await expect(
    page.getByRole('heading', { level: 1, name: 'Try it on the past: After surgery' }),
  ).toBeVisible();
  await page.getByRole('button', { name: '30', exact: true }).click();
  await page.getByRole('button', { name: 'Try it', exact: true }).click();
}

for (const theme of ['light', 'night'] as const) {
  test(`a longer wait is tried: who is concerned, what was seen, what is modelled, ${theme}`, async ({
    page,
  }) => {
    await chooseTheme(page, theme, people.nurse);
    await openDraft(page, people.nurse);
    await waitLonger(page);
    await tryIt(page);
    await expect(page.getByRole('progressbar', { name: 'How much is done' })).toBeVisible();
    await expect(results(page)).toBeVisible({ timeout: longMs });

    await expect(results(page)).toContainText(
      /The draft answers \d+ steps otherwise, for \d+ of \d+ patients/,
    );
    await expect(results(page)).toContainText('the later course was not seen');
    await expect(results(page)).toContainText('modelled from everything charted');
    await expect(results(page)).toContainText('not how they do on people');
    await expect(difference(page, 'Minutes until the look')).toHaveText(/^\+\d+$/);
    await expect(difference(page, 'Catheterisations advised')).toHaveText('0.00');
    await expect(difference(page, 'Looks')).toHaveText(/^−\d/);
    const figure = page.getByRole('img', { name: /^Draft against the protocol in force/ });
    await expect(figure).toHaveAccessibleName(/Made-up wards, modelled, Looks: −\d+ %/);
    expect(await page.locator('main').textContent()).not.toContain('>');

    const first = results(page).locator('[data-changed]').first();
    await expect(first).toContainText('within 90 minutes');
    await expect(first).toContainText('within 150 minutes');
    await expect(first).toContainText('unseen');
    await expectNoViolations(page);
    const patient = await first.getAttribute('data-changed');
    await first.getByRole('link').click();
    expect(page.url()).toContain(`#/patient/${patient}`);
  });
}

test('an untouched draft changes nothing, and prints', async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await openDraft(page, people.second);
  await tryIt(page);
  await expect(results(page)).toBeVisible({ timeout: longMs });
  await expect(results(page)).toContainText('answers every one of them as the protocol in force does');
  for (const cell of await results(page).locator('[data-difference]').all())
    expect(Number(await cell.textContent())).toBe(0);
  await expect(results(page).locator('[data-difference]')).toHaveCount(10);
  await expect(results(page).locator('[data-changed]')).toHaveCount(0);
  expect(
    await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
  ).toBe(0);
  const small = await page.locator('main :is(button, a)').evaluateAll((all) =>
    all
      .map((one) => ({ size: one.getBoundingClientRect(), text: one.textContent }))
      .filter(({ size }) => size.width > 0 && (size.height < 47.5 || size.width < 47.5))
      .map(({ text, size }) => `${text} ${size.width} × ${size.height}`),
  );
  expect(small).toEqual([]);
  await page.emulateMedia({ media: 'print' });
  await expect(page.getByRole('button', { name: 'Print' })).toBeHidden();
  await expect(page.getByRole('img', { name: /^Draft against the protocol in force/ })).toBeVisible();
});

test('stopped work shows nothing that was half done', async ({ page }) => {
  await openDraft(page, people.third);
  await waitLonger(page);
  await tryIt(page);
  await page.getByRole('button', { name: 'Stop' }).click();
  await expect(page.locator('[data-replay-said]')).toHaveText(
    'Stopped. Nothing is shown of what was half done.',
  );
  await expect(results(page)).toHaveCount(0);
  await expect(page.getByRole('progressbar')).toHaveCount(0);
  await expect(page.getByRole('button', { name: 'Try it', exact: true })).toBeVisible();
});

test('who is to sign tries a version that waits, beside the protocol in force', async ({ page }) => {
  await openDraft(page, people.charge);
  await waitLonger(page);
  await expect(page.locator('[data-proof]')).toContainText('Proved');
  await page.getByRole('button', { name: 'Send for signing' }).click();
  const waiting = page.locator('[data-version="proved"]').filter({ hasText: 'After surgery' });
  await waiting.getByRole('link').click();
  const number = /v(\d+)$/.exec(page.url())?.[1];
  await tryIt(page);
  await expect(page.locator('main')).toContainText(
    `version ${number}, not signed yet, beside version 1, which is in force on Gull Ward`,
  );
  await expect(page.getByRole('progressbar', { name: 'How much is done' })).toBeVisible();
  await page.getByRole('button', { name: 'Stop' }).click();
  await page.getByRole('link', { name: `Back to version ${number}` }).click();

  // Taken back, so that the ward is as other tests expect it.
  await page.getByRole('button', { name: 'Take it back' }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByLabel('Why').fill('only tried');
  await dialog.getByLabel('Your PIN').fill('1234');
  await dialog.getByRole('button', { name: 'Take it back' }).click();
  await expect(dialog).toHaveCount(0);
  await expect(page.getByRole('link', { name: 'Try it on the past' })).toHaveCount(0);
});
