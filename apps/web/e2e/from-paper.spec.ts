// Proves     several events from paper are keyed in by keyboard alone, without the network, saved together in the order in which they
//            happened and shown as copied from paper; the page asks what the printed form asks, in its words and order
// Published  WCAG 2.2 AA by axe
import { expect, test, type Page } from '@playwright/test';
import { askedAfter, fieldsInOrder, keysOf, paperForms } from '@ebbline/core/present';
import { boardIsShown, chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

const openPaper = async (page: Page, person: string): Promise<void> => {
  await signIn(page, person);
  await boardIsShown(page);
  const patient = await page.locator('tr[data-patient]').first().getAttribute('data-patient');
  await page.evaluate(
    (to) => {
      location.hash = to;
    },
    `#/entry/${encodeURIComponent(patient ?? '')}/from-paper`,
  );
  await expect(page.getByRole('heading', { name: 'From paper' })).toBeVisible();
};
/** The ward's wall clock so many minutes ago, with the day that the page calls it. */
const clockAgo = (minutes: number): { day: string; time: string } => {
  const zone = 'Europe/Copenhagen';
  const at = new Date(Date.now() - minutes * 60_000);
  const dayOf = (date: Date): string => date.toLocaleDateString('en-GB', { timeZone: zone });
  return {
    day: dayOf(at) === dayOf(new Date()) ? 'today' : 'yesterday',
    time: at.toLocaleTimeString('en-GB', { timeZone: zone, hour: '2-digit', minute: '2-digit' }),
  };
};

test('three events by keyboard alone, without the network, in the order in which they happened', async ({
  page,
  context,
}) => {
  await openPaper(page, people.nurse);
  await context.setOffline(true);
  const keys = page.keyboard;
  const [drink, passed, reading] = [clockAgo(20), clockAgo(14), clockAgo(9)];
  await page.getByLabel('What row 1').focus();
  await keys.type('Drunk');
  for (const text of [drink.day, drink.time]) {
    await keys.press('Tab');
    await keys.type(text);
  }
  await keys.press('Tab'); // About that time
  await keys.press('Tab');
  await keys.type('150');
  await keys.press('Tab');
  await keys.type('Drunk');
  await page.getByLabel('Taken in row 1').press('Enter');
  await expect(page.getByLabel('What row 2')).toBeFocused();
  await keys.type('Reading');
  for (const text of [reading.day, reading.time]) {
    await keys.press('Tab');
    await keys.type(text);
  }
  for (let tabs = 0; tabs < 3; tabs += 1) await keys.press('Tab');
  await keys.type('240');
  await page.getByLabel('Before or after a void? row 2').focus();
  await keys.type('After');
  await page.getByLabel('Reading row 2').press('Enter');
  await keys.type('Passed');
  for (const text of [passed.day, passed.time]) {
    await keys.press('Tab');
    await keys.type(text);
  }
  for (let tabs = 0; tabs < 3; tabs += 1) await keys.press('Tab');
  await keys.type('160');
  await expect(page.getByText(/^In order: .*drunk or given, .*passed, .*reading\.$/)).toBeVisible();
  await keys.press('Control+Enter');
  const asked = page.getByRole('button', { name: 'Save as it stands on the paper' });
  if (await asked.isVisible()) await keys.press('Control+Enter');
  await expect(page.getByText(/3 entries from paper/)).toBeVisible();
  await page.getByRole('link', { name: 'Record', exact: true }).click();
  await expect(page.getByText(/From paper\./)).toHaveCount(3);
  await context.setOffline(false);
});

test('asks what the printed form asks, in its words and order; no barrier by day, by night, on a phone', async ({
  page,
}) => {
  test.slow();
  await chooseTheme(page, 'night', people.nurse);
  await openPaper(page, people.nurse);
  for (const spec of paperForms) {
    await page.getByLabel('What row 1').selectOption({ label: spec.title });
    const shown = await page.locator('[data-row="1"]').evaluate((row) =>
      [...row.querySelectorAll('label, legend, option')].map((one) =>
        [...one.childNodes]
          .filter((node) => !(node instanceof Element && node.classList.contains('heard')))
          .map((node) => node.textContent)
          .join('')
          .trim(),
      ),
    );
    let from = 0;
    const next = (words: string): void => {
      const at = shown.indexOf(words, from);
      expect(at, `${spec.title}: ${words}`).toBeGreaterThanOrEqual(from);
      from = at + 1;
    };
    for (const field of fieldsInOrder(spec)) {
      if (askedAfter(spec, field) !== undefined) continue;
      next(field.label);
      for (const key of keysOf(field)) next(key);
    }
  }
  await page.getByLabel('What row 1').selectOption({ label: 'Reading' });
  await page.getByRole('button', { name: 'Another row' }).click();
  await expectNoViolations(page);
  await page.screenshot({ path: 'test-results/from-paper-night.png', fullPage: true });
  await page.setViewportSize({ width: 390, height: 844 });
  await expectNoViolations(page);
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  await page.screenshot({ path: 'test-results/from-paper-phone.png', fullPage: true });
});

test('the form at the bedside asks the same in the same order', async ({ page }) => {
  test.slow();
  await openPaper(page, people.nurse);
  const patient = decodeURIComponent(new URL(page.url()).hash.split('/')[2] ?? '');
  for (const id of ['reading', 'void', 'drained', 'intake']) {
    await page.evaluate(
      (to) => {
        location.hash = to;
      },
      `#/entry/${encodeURIComponent(patient)}/${id}`,
    );
    const form = page.locator(`[data-form="${id}"]`);
    await expect(form).toBeVisible();
    const more = form.getByRole('button', { name: /^More/ });
    if (await more.isVisible()) await more.click();
    const spec = paperForms.find((one) => one.id === id);
    if (!spec) throw new Error(`no form ${id}`);
    const wanted = fieldsInOrder(spec)
      .filter((field) => field.name !== spec.pad && askedAfter(spec, field) === undefined)
      .map(({ label }) => label);
    await expect(form.locator('fieldset > legend')).toHaveText(wanted);
  }
});

test('a time in the future, or none, is said at its row and nothing is saved', async ({ page }) => {
  await openPaper(page, people.aide);
  // An assistant finds only what they may record.
  await expect(page.getByLabel('What row 1').locator('option')).toHaveText([
    'Passed',
    'Drunk or given',
    'How it feels',
  ]);
  await page.getByLabel('Passed row 1').fill('120');
  await page.getByRole('button', { name: 'Save 1 entry' }).click();
  await expect(page.locator('[data-row="1"]').getByRole('alert')).toContainText('Write the time');
  await page.screenshot({ path: 'test-results/from-paper-light.png', fullPage: true });
});
