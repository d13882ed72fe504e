// Proves     a nurse's look at a patient, also without the network, is found by the privacy officer by the patient's name,
//            in words, light and night and narrow, and the question is found in turn
// Published  none
import { expect, test, type Page } from '@playwright/test';
import { boardIsShown, chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

const officer = 'zora-tilney';

/** Opens the first patient of the board and tells how they are called there and in the record. */
async function openSomebody(page: Page): Promise<string> {
  const patient = await page.locator('tr[data-patient]').first().getAttribute('data-patient');
  const id = patient ?? '';
  await page.evaluate((to) => {
    location.hash = `#/patient/${encodeURIComponent(to)}`;
  }, id);
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
  return id;
}

test('who looked at a patient is answered with the look, also one without the network', async ({
  page,
  context,
  browser,
}) => {
  test.slow();
  await signIn(page, people.second);
  await boardIsShown(page);
  const taken = page.waitForResponse('**/api/audit/views');
  await context.setOffline(true);
  const patient = await openSomebody(page);
  await context.setOffline(false);
  expect((await taken).status()).toBe(200);

  const other = await browser.newContext();
  const desk = await other.newPage();
  await chooseTheme(desk, 'light', officer);
  await signIn(desk, officer, '#/who-looked');
  await desk.getByRole('textbox', { name: 'Patient' }).fill('nobody of that name');
  await desk.getByRole('button', { name: 'Find' }).click();
  await expect(desk.getByText('Nobody is found by')).toBeVisible();
  await expectNoViolations(desk);

  await desk.evaluate((to) => {
    location.hash = `#/who-looked/patient/${encodeURIComponent(to)}`;
  }, patient);
  const line = desk.getByRole('row').filter({ hasText: 'Odile Marchetti' }).filter({ hasText: 'Opened' });
  await expect(line.first()).toContainText('Opened the patient’s page');
  await expect(line.first()).toContainText(/tablet-[0-9a-f]{8}/);
  await expectNoViolations(desk);
  await desk.setViewportSize({ width: 390, height: 844 });
  expect(await desk.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  await expectNoViolations(desk);
  await desk.setViewportSize({ width: 1440, height: 900 });

  const table = desk.waitForEvent('download');
  await desk.getByRole('link', { name: 'Take out as a table' }).click();
  expect((await table).suggestedFilename()).toBe('who-looked.csv');

  await desk.evaluate(() => {
    location.hash = '#/who-looked/person/zora-tilney';
  });
  await expect(desk.getByRole('cell', { name: 'Took out who looked, as a table' }).first()).toBeVisible();
  await expect(desk.getByRole('cell', { name: 'Asked who looked' }).first()).toBeVisible();
  await other.close();
});

test('the question is found by name and stays readable at night, and nobody else has the page', async ({
  page,
  browser,
}) => {
  await signIn(page, people.nurse);
  await expect(page.getByRole('link', { name: 'Who looked' })).toHaveCount(0);
  await page.evaluate(() => {
    location.hash = '#/who-looked';
  });
  await expect(page.getByText('This page is not for your role')).toBeVisible();

  const other = await browser.newContext();
  const desk = await other.newPage();
  await chooseTheme(desk, 'night', officer);
  await signIn(desk, officer);
  await desk.getByRole('link', { name: 'Who looked' }).first().click();
  await desk.getByRole('textbox', { name: 'Patient' }).fill('gull ward 4');
  await desk.keyboard.press('Enter');
  const found = desk.getByRole('listitem').getByRole('link').first();
  const name = await found.locator('b').textContent();
  await found.click();
  await expect(desk.getByRole('heading', { name: `Who looked at ${name}` })).toBeVisible();
  await expect(desk.getByRole('row').nth(1)).toBeVisible();
  await expectNoViolations(desk);
  await other.close();
});
