// Proves     an administrator sees what came in and what goes out in words, and can send a refused result again; the page
//            breaks no rule of access, light and night, wide and narrow
// Published  none; the answers of the server are made here, as its own tests give them
import { expect, test, type Page } from '@playwright/test';
import { chooseTheme, expectNoViolations, signIn } from './ward.ts';

const administrator = 'hale-dorrin';
const message = (number: number, state: 'used' | 'refused', words: string) => ({
  number,
  receivedAt: `2026-05-12T08:0${number}:00Z`,
  state,
  type: 'ADT A01',
  words,
});
const aside = {
  sequence: 7,
  entry: '0197f000-0000-7000-8000-000000000001',
  words: 'no such patient',
  at: '2026-05-12T08:00:00Z',
};

async function withWires(page: Page): Promise<{ resent: string[] }> {
  const resent: string[] = [];
  let left = [aside];
  await page.route('**/api/feed/messages**', (route) =>
    route.fulfill({
      json: {
        open: true,
        head: 2,
        messages: [
          message(1, 'used', 'Somebody came in.'),
          message(2, 'refused', 'nobody named. Have the sender fill PID.'),
        ],
      },
    }),
  );
  await page.route('**/api/results', (route) =>
    route.fulfill({
      json: { open: true, waiting: 'some', trouble: 'The receiver is not reached.', aside: left },
    }),
  );
  await page.route('**/api/results/*/resend', (route) => {
    resent.push(route.request().url());
    left = [];
    return route.fulfill({ json: { arrived: true } });
  });
  return { resent };
}

test('says that no wire is set, and how to set one', async ({ page }) => {
  await signIn(page, administrator, '#/connections');
  await expect(page.getByText('No feed is set.')).toBeVisible();
  await expect(page.getByText('No receiver is set.')).toBeVisible();
});

test('tells what came in, what stands in the way of what goes out, and sends a refused result again', async ({
  page,
}) => {
  const { resent } = await withWires(page);
  await signIn(page, administrator, '#/connections');
  await expect(page.locator('[data-message="2"]')).toContainText('Not used: nobody named.');
  await expect(page.locator('[data-message="1"]')).toContainText('Somebody came in.');
  await expect(page.getByText('The receiver is not reached. What is charted waits')).toBeVisible();
  await page.locator('[data-aside="7"]').getByRole('button', { name: 'Send again' }).click();
  await expect(page.getByText('It arrived.')).toBeVisible();
  await expect(page.locator('[data-aside]')).toHaveCount(0);
  expect(resent).toHaveLength(1);
});

for (const theme of ['light', 'night'] as const)
  for (const width of [1440, 390]) {
    test(`breaks no rule of access and scrolls nothing sideways, ${theme}, ${width} wide`, async ({
      page,
    }) => {
      await page.setViewportSize({ width, height: 900 });
      await chooseTheme(page, theme, administrator);
      await withWires(page);
      await signIn(page, administrator, '#/connections');
      await expect(page.locator('[data-aside="7"]')).toBeVisible();
      await expectNoViolations(page);
      const sideways = await page.evaluate(
        () => document.documentElement.scrollWidth > document.documentElement.clientWidth,
      );
      expect(sideways).toBe(false);
    });
  }
