// What the browser tests of the shell share: coming in by the door, themes, axe.
import { AxeBuilder } from '@axe-core/playwright';
import { expect, type Page } from '@playwright/test';

/** People of the made-up coast. */
export const people = {
  nurse: 'tove-wrenfield',
  second: 'odile-marchetti',
  third: 'bram-sorrel',
  charge: 'ana-quillon',
  aide: 'milo-fenwarden',
  manager: 'ulla-perrin',
} as const;

export async function chooseTheme(page: Page, theme: 'light' | 'night', person: string): Promise<void> {
  await page.addInitScript(
    ([name, value]) => {
      localStorage.setItem('ebbline.theme', value as string);
      localStorage.setItem(`ebbline.theme.${name}`, value as string);
    },
    [person, theme],
  );
}

/** Through the door by name and secret, to a page. */
export async function signIn(page: Page, person: string, hash = '#/board'): Promise<void> {
  await page.goto('/');
  await page.getByLabel('Who are you?').selectOption(person);
  await page.getByLabel('Secret').fill('demo');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.getByRole('navigation', { name: 'Pages' })).toBeVisible();
  if (hash !== '#/board') {
    await page.evaluate((to) => {
      location.hash = to;
    }, hash);
  }
}

export async function boardIsShown(page: Page): Promise<void> {
  await expect(page.locator('tr[data-patient]').first()).toBeVisible();
  // Everything has come: the count of rows stands still.
  await expect
    .poll(async () => {
      const before = await page.locator('tr[data-patient]').count();
      await page.waitForTimeout(300);
      return (await page.locator('tr[data-patient]').count()) - before;
    })
    .toBe(0);
}

/** No violation of WCAG 2.2 A and AA, nor of axe's best practices. */
export async function expectNoViolations(page: Page): Promise<void> {
  const { violations } = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'])
    .analyze();
  expect(
    violations.map(
      (one) =>
        `${one.id}: ${one.nodes
          .slice(0, 3)
          .map((node) => `${node.target.join(' ')} ${node.failureSummary?.split('\n')[1] ?? ''}`)
          .join(' | ')}`,
    ),
  ).toEqual([]);
}
