// Proves     a tablet that nobody touches locks and shows no patient and no name; a reload does not open it; another
//            person comes in by their own PIN and is the author from then on; the record hears of a lock
// Published  none
import { expect, test } from '@playwright/test';
import { boardIsShown, people, signIn } from './ward.ts';

test("[H12-lock] locks after the unit's seconds, stays locked after a reload, and changes hands by PIN", async ({
  page,
}) => {
  await page.clock.install();
  await signIn(page, people.nurse);
  await boardIsShown(page);
  const patients = await page
    .locator('tr[data-patient]')
    .evaluateAll((rows) => rows.map((row) => (row as HTMLElement).dataset['patient'] ?? ''));
  await page.clock.runFor(62_000);
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
  const html = await page.content();
  for (const patient of patients) expect(html).not.toContain(patient);
  expect(html).not.toContain('Wrenfield');

  await page.reload();
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
  await page.getByLabel('PIN').fill('9999');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.getByRole('alert')).toBeVisible();

  await page.getByLabel('Initials').selectOption(people.second);
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.getByRole('button', { name: /signed in as Odile Marchetti/ })).toBeVisible();
});

test('tells the record when it is locked by hand, and stays open after the PIN', async ({ page }) => {
  await signIn(page, people.nurse);
  await boardIsShown(page);
  await page.getByRole('button', { name: /signed in as/ }).click();
  const told = page.waitForResponse('**/api/lock');
  await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
  expect((await told).status()).toBe(204);
  // Until a PIN this sign-in reads nothing.
  expect((await page.request.get('/api/entries?after=0')).status()).toBe(401);
  await page.getByLabel('PIN').fill('1234');
  const live = page.waitForResponse((response) => response.url().includes('/api/live'));
  await page.getByRole('button', { name: 'Open' }).click();
  expect((await live).status()).toBe(200);
  await boardIsShown(page);
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeHidden();
});

test('[H12-lock] is locked at once after a reload, however long the record takes to answer', async ({
  page,
}) => {
  await signIn(page, people.nurse);
  await boardIsShown(page);
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
  let letGo = (): void => {};
  const answers = new Promise<void>((resolve) => {
    letGo = resolve;
  });
  await page.route('**/api/**', async (route) => {
    await answers;
    await route.continue();
  });
  await page.reload();
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
  await expect(page.getByLabel('Initials')).toContainText('OM, nurse');
  letGo();
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await boardIsShown(page);
});
