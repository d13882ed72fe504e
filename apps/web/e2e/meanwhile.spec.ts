// Proves     what was keyed in long after it happened stands on the page of what changed meanwhile, linked to its patient; an
//            administrator sees how the server is, and nothing of patients; no barrier by day, by night, on a phone
// Published  WCAG 2.2 AA by axe
import { expect, test } from '@playwright/test';
import { boardIsShown, chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

test('an entry from paper is told as come in late, and opens its patient', async ({ page }) => {
  test.slow();
  await signIn(page, people.second);
  await boardIsShown(page);
  const patient = (await page.locator('tr[data-patient]').last().getAttribute('data-patient')) ?? '';
  await page.evaluate(
    (to) => {
      location.hash = to;
    },
    `#/entry/${encodeURIComponent(patient)}/from-paper`,
  );
  const then = new Date(Date.now() - 95 * 60_000);
  const zone = { timeZone: 'Europe/Copenhagen' } as const;
  const dayOf = (date: Date): string => date.toLocaleDateString('en-GB', zone);
  await page.getByLabel('What row 1').selectOption({ label: 'Drunk or given' });
  await page
    .getByLabel('Day row 1')
    .selectOption({ label: dayOf(then) === dayOf(new Date()) ? 'today' : 'yesterday' });
  await page
    .getByLabel('Time, 24 h row 1')
    .fill(then.toLocaleTimeString('en-GB', { ...zone, hour: '2-digit', minute: '2-digit' }));
  await page.getByLabel('Taken in row 1').fill('175');
  await page.getByLabel('How row 1').selectOption({ label: 'Drunk' });
  await page.getByRole('button', { name: 'Save 1 entry' }).click();
  await expect(page.getByText(/1 entry from paper/)).toBeVisible();

  await page.getByRole('link', { name: 'Board' }).click();
  await page.getByRole('link', { name: /^What changed meanwhile/ }).click();
  await expect(page.getByRole('heading', { level: 1, name: 'What changed meanwhile' })).toBeVisible();
  const line = page.locator('[data-kind="came-late"]', { hasText: 'Drink 175 mL' });
  // The record hears of it a moment later.
  await expect(async () => {
    await page.getByRole('button', { name: 'Ask again' }).click();
    await expect(line).toBeVisible({ timeout: 2_000 });
  }).toPass();
  await expect(line).toContainText(/came in 1 h 3[5-9] min later, from paper/);
  await expectNoViolations(page);
  await page.screenshot({ path: 'test-results/meanwhile-light.png', fullPage: true });
  await page.setViewportSize({ width: 390, height: 844 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  await page.screenshot({ path: 'test-results/meanwhile-phone.png' });
  const section = page.locator('section', { has: line });
  await section.getByRole('link', { name: 'Open the patient' }).click();
  await expect(page).toHaveURL(new RegExp(`#/patient/${encodeURIComponent(patient)}`));
});

test('without the network it says so; by night nothing is in the way', async ({ page, context }) => {
  await chooseTheme(page, 'night', people.charge);
  await signIn(page, people.charge);
  await boardIsShown(page);
  await page.evaluate(() => {
    location.hash = `#/meanwhile/${Date.now() - 8 * 3_600_000}`;
  });
  await expect(page.getByText(/, from .* to .*, 8 h\./)).toBeVisible();
  await expectNoViolations(page);
  await page.screenshot({ path: 'test-results/meanwhile-night.png' });
  await context.setOffline(true);
  await page.getByRole('button', { name: 'Ask again' }).click();
  await expect(page.getByText('The ward’s record is not reached.')).toBeVisible();
  await context.setOffline(false);
});

test('an administrator sees how the server is', async ({ page }) => {
  await page.goto('/');
  const welcome = (await (await page.request.get('/api/welcome')).json()) as {
    people: { id: string; role: string }[];
  };
  const administrator = welcome.people.find(({ role }) => role === 'administrator')?.id ?? '';
  await page.getByLabel('Who are you?').selectOption(administrator);
  await page.getByLabel('Secret').fill('demo');
  await page.getByRole('button', { name: 'Open' }).click();
  await page.getByRole('link', { name: 'Operations' }).click();
  await expect(page.locator('[data-check="store"]')).toContainText('good, writes');
  await expect(page.locator('[data-check="disk"]')).toContainText('GB free');
  await expectNoViolations(page);
  await page.screenshot({ path: 'test-results/operations.png' });
});
