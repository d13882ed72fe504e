// Proves     the board is in the order in which somebody has to act, can be walked by keys alone, says its states without
//            colour, shows no names on the wall; fourteen rows fit a laptop
// Published  none
import { expect, test } from '@playwright/test';
import { boardIsShown, people, signIn } from './ward.ts';

test.beforeEach(async ({ page }) => {
  await signIn(page, people.nurse);
  await boardIsShown(page);
});

test('what is overdue stands first, then by time, whatever the bed', async ({ page }) => {
  const rows = await page.locator('tr[data-patient]').evaluateAll((all) =>
    all.map((row) => ({
      group: (row as HTMLElement).dataset['group'],
      bed: row.querySelector('th')?.textContent ?? '',
    })),
  );
  const order = ['now', 'within-the-hour', 'later', 'no-look-due'];
  const places = rows.map((row) => order.indexOf(row.group ?? ''));
  expect(places).toEqual([...places].sort((a, b) => a - b));
  expect(rows.length).toBeGreaterThan(10);
  const beds = rows.map((row) => Number.parseInt(row.bed.replace(/\D*/, ''), 10));
  expect(beds).not.toEqual([...beds].sort((a, b) => a - b));
});

test('keys alone lead to every row and into a patient', async ({ page }) => {
  for (let step = 0; step < 20; step += 1) {
    await page.keyboard.press('Tab');
    if (await page.evaluate(() => document.activeElement?.hasAttribute('data-row'))) break;
  }
  const current = (): Promise<string> =>
    page.evaluate(() => document.activeElement?.closest('tr')?.dataset['patient'] ?? '');
  const patients = await page
    .locator('tr[data-patient]')
    .evaluateAll((rows) => rows.map((row) => (row as HTMLElement).dataset['patient'] ?? ''));
  expect(await current()).toBe(patients[0]);
  await page.keyboard.press('ArrowDown');
  expect(await current()).toBe(patients[1]);
  await page.keyboard.press('End');
  expect(await current()).toBe(patients.at(-1));
  await page.keyboard.press('Home');
  await page.keyboard.press('Enter');
  await expect.poll(() => page.evaluate(() => location.hash)).toContain('#/patient/');
});

test('an overdue row says so in words and by its shape', async ({ page }) => {
  const overdue = page.locator('tr[data-group="now"]').first();
  await expect(overdue).toContainText(/overdue|no reply/);
  await expect(overdue.locator('svg[data-mark="overdue"], svg[data-mark="no-reply"]')).toHaveCount(1);
});

test('fourteen rows fit a laptop of 900 px', async ({ page }) => {
  const bottoms = await page
    .locator('tr[data-patient]')
    .evaluateAll((rows) => rows.map((row) => row.getBoundingClientRect().bottom));
  expect(bottoms.filter((bottom) => bottom <= 900).length).toBeGreaterThanOrEqual(14);
});

test('the wall names nobody, and is left only by PIN', async ({ page }) => {
  const named = await page
    .locator('tr[data-patient] th')
    .evaluateAll((cells) =>
      cells
        .map((cell) => /[A-Z]\.[A-Z]\./.exec(cell.textContent ?? '')?.[0] ?? '')
        .filter((one) => one !== ''),
    );
  expect(named.length).toBeGreaterThan(10);
  await page.evaluate(() => {
    location.hash = '#/wall';
  });
  await expect(page.getByText('No names on this screen')).toBeVisible();
  const words = await page.locator('body').innerText();
  for (const initials of named) expect(words).not.toContain(initials);
  await page.getByRole('link', { name: /Leave it by PIN/ }).click();
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
});
