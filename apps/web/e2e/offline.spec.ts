// Proves     the page opens and works without the network, what is recorded meanwhile is sent once when it is back,
//            and a board that no longer hears the record says its age
// Published  none
import { expect, test, type Page } from '@playwright/test';
import { boardIsShown, people, signIn } from './ward.ts';

const unsent = (page: Page): Promise<number> =>
  page.evaluate(
    () =>
      new Promise<number>((resolve, reject) => {
        const open = indexedDB.open('ebbline-kept');
        open.addEventListener('error', () => reject(open.error));
        open.addEventListener('success', () => {
          const count = open.result.transaction('sealed').objectStore('sealed').count();
          count.addEventListener('success', () => {
            open.result.close();
            resolve(count.result);
          });
        });
      }),
  );

const headOf = async (page: Page): Promise<number> =>
  (await (await page.request.get('/readyz')).json()).head as number;

test('reloads, takes offers and sends each once after the network came back', async ({ page, context }) => {
  test.slow();
  await signIn(page, people.third);
  await boardIsShown(page);
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  // A PIN that the record has accepted once opens this tablet without it.
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await boardIsShown(page);

  await context.setOffline(true);
  await page.reload();
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await boardIsShown(page);
  await expect(page.getByText('Working without the network')).toBeVisible();
  await expect(page.locator('[data-stale]')).toBeVisible({ timeout: 15_000 });

  await page.getByRole('link', { name: 'Handover' }).click();
  const before = await headOf(page);
  await page.getByLabel('Hand over to').selectOption({ label: 'Whoever comes as nurse' });
  await page.getByRole('button', { name: /^Offer (all|the)/ }).click();
  await expect(page.getByText('Still with you').first()).toBeVisible();
  const waiting = await unsent(page);
  expect(waiting).toBeGreaterThan(0);
  await expect(page.getByText(/wait(s)? on this tablet/)).toBeVisible();
  expect(await headOf(page)).toBe(before);

  await context.setOffline(false);
  await expect.poll(() => unsent(page), { timeout: 20_000 }).toBe(0);
  await expect(page.getByText('Working without the network')).toBeHidden();
  const entries = await page.request.get(`/api/entries?after=${before}`);
  const offers = (
    (await entries.json()) as { entries: { entry: { kind: string; author: string } }[] }
  ).entries.filter((one) => one.entry.kind === 'ownership-offered' && one.entry.author === people.third);
  expect(offers).toHaveLength(waiting);
});
