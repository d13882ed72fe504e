// Proves     a person adds a passkey with the browser's own made-up device, comes in by it at the door, sees when it was
//            used and takes it away; a badge changes hands on a locked tablet; a draft of one person is not
//            shown to the next and is there when its author is back
// Published  none; the device is the browser's virtual authenticator (Web Authentication Level 3, section 11)
import { expect, test, type Page } from '@playwright/test';
import { boardIsShown, expectNoViolations, people, signIn } from './ward.ts';

/** A passkey is made for a name, never for a bare address. */
const byName = (url: string): string => url.replace('127.0.0.1', 'localhost');

async function withDevice(page: Page): Promise<void> {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send('WebAuthn.enable');
  await devtools.send('WebAuthn.addVirtualAuthenticator', {
    options: {
      protocol: 'ctap2',
      transport: 'internal',
      hasResidentKey: true,
      hasUserVerification: true,
      isUserVerified: true,
      automaticPresenceSimulation: true,
    },
  });
}
async function openWays(page: Page): Promise<void> {
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Passkeys and badge' }).click();
  await expect(page.getByRole('heading', { name: 'Passkeys', exact: true })).toBeVisible();
}
async function lock(page: Page): Promise<void> {
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
  await expect(page.getByRole('heading', { name: 'Locked' })).toBeVisible();
}

test('a passkey is added, opens the door, says when it was used and is taken away', async ({
  page,
  baseURL,
}) => {
  test.slow();
  await withDevice(page);
  await page.goto(byName(baseURL ?? ''));
  await page.getByLabel('Who are you?').selectOption(people.charge);
  await page.getByLabel('Secret').fill('demo');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.getByRole('navigation', { name: 'Pages' })).toBeVisible();
  await openWays(page);
  const form = page.locator('form').filter({ hasText: 'Name of the new passkey' });
  await form.getByLabel('Name of the new passkey').fill('blue key');
  await form.getByRole('textbox', { name: 'PIN' }).fill('1234');
  await form.getByRole('button', { name: 'Add a passkey' }).click();
  await expect(page.getByText('not used yet')).toBeVisible();
  await expectNoViolations(page);
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await page.getByRole('button', { name: 'Sign in with a passkey' }).click();
  await expect(page.getByRole('button', { name: /signed in as Ana Quillon/ })).toBeVisible();
  await openWays(page);
  await expect(page.getByText('last used')).toBeVisible();
  await page.getByRole('button', { name: 'Take away blue key' }).click();
  await expect(page.getByText('You have none')).toBeVisible();
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();
  await page.getByRole('button', { name: 'Sign in with a passkey' }).click();
  await expect(page.getByRole('alert')).toContainText('add the passkey anew');
});

test('a badge changes hands, and a draft waits for its author unseen', async ({ page }) => {
  test.slow();
  // Its owner sets the badge.
  await signIn(page, people.second);
  await openWays(page);
  const form = page.locator('form').filter({ hasText: 'Set the badge' });
  await form.getByRole('textbox', { name: 'Badge' }).fill('04:A2:11:9F:C0:77');
  await form.getByRole('textbox', { name: 'PIN' }).fill('1234');
  await form.getByRole('button', { name: 'Set the badge' }).click();
  await expect(page.getByText(/^Set /).first()).toBeVisible();
  await page.getByRole('button', { name: /signed in as/ }).click();
  await page.getByRole('button', { name: 'Sign out', exact: true }).click();

  // Somebody else leaves a reading half typed.
  await signIn(page, people.nurse);
  await boardIsShown(page);
  const patient = await page.locator('tr[data-patient]').first().getAttribute('data-patient');
  const typing = `#/entry/${encodeURIComponent(patient ?? '')}/reading`;
  const goTo = (hash: string) =>
    page.evaluate((to) => {
      location.hash = to;
    }, hash);
  await goTo(typing);
  await expect(page.getByRole('button', { name: '4', exact: true })).toBeVisible();
  await page.keyboard.type('437');
  await expect(page.locator('main')).toContainText('437');
  await lock(page);

  await page.getByRole('button', { name: 'Use a badge instead' }).click();
  await expectNoViolations(page);
  // The reader types the badge and ends it with Enter.
  const startMs = Date.now();
  await page.getByLabel('Badge').fill('04:A2:11:9F:C0:77');
  await page.keyboard.press('Enter');
  await page.getByRole('textbox', { name: 'PIN' }).fill('1234');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('button', { name: /signed in as Odile Marchetti/ })).toBeVisible();
  test.info().annotations.push({ type: 'change of hands, ms', description: String(Date.now() - startMs) });
  await goTo('#/board');
  await goTo(typing);
  await expect(page.locator('main')).not.toContainText('437');

  await lock(page);
  await page.getByRole('button', { name: 'Come back with a PIN instead' }).click();
  await page.getByLabel('Initials').selectOption(people.nurse);
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.getByRole('button', { name: /signed in as Tove Wrenfield/ })).toBeVisible();
  await goTo('#/board');
  await goTo(typing);
  await expect(page.locator('main')).toContainText('437');
});
