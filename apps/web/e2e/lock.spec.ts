// Proves     a tablet that nobody touches locks and shows no patient and no name; a reload does not open it; another
//            person comes in by their own PIN and is the author from then on
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
