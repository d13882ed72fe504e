// Proves     a change is drafted, proved, sent, signed by a second person and published; a new patient is advised by it under its
//            version and signer; one who was watched before keeps the old version and is moved after the difference was read;
//            what is not proved is refused, also when it is asked for by hand.
// Published  none; the tables are the starter protocol's
// Tolerance  exact words; axe in both themes; targets at least 48 px
import { expect, test, type APIResponse, type Locator, type Page } from '@playwright/test';
import { instantOfMs, orThrow, uuidV7 } from '@ebbline/core/quantity';
import { modelOf, starterFor, writeDmn, type CompiledProtocol } from '@ebbline/protocol';
import { chooseTheme, expectNoViolations, signIn } from './ward.ts';

/** Tern Ward, which the other tests leave alone: its nurse, and the specialist nurse who signs. */
const nurse = 'fenna-jessop';
const signer = 'greta-zellin';
const wardId = 'ward-tern';
const example = starterFor('stroke-or-rehabilitation') as CompiledProtocol;

const cell = async (page: Page, rowId: string, title: string): Promise<Locator> => {
  const row = page.locator(`[data-row="${rowId}"]`);
  const titles = await row.locator('xpath=ancestor::table').getByRole('columnheader').allTextContents();
  return row.locator('th, td').nth(titles.indexOf(title));
};
const step = (page: Page): Locator => page.locator('[data-next-step]');

/** Puts a made-up patient on the ward, as an entry from this tablet's sign-in. */
async function register(page: Page, patient: string, familyName: string, bed: string): Promise<void> {
  const now = Date.now();
  const answer = await page.request.post('/api/entries', {
    data: {
      entries: [
        {
          id: uuidV7(
            now,
            [...`${patient}-0123456789`].slice(-10).map((one) => one.charCodeAt(0)),
          ),
          organisation: 'selvoy-coast',
          patient,
          kind: 'patient-registered',
          effectiveAt: instantOfMs(now),
          timeQuality: 'exact',
          recordedAt: instantOfMs(now),
          author: nurse,
          madeOn: 'tablet-test',
          payload: {
            familyName,
            givenName: 'Orla',
            ageYears: 58,
            sex: 'female',
            identifierSystem: 'urn:made-up',
            identifierValue: patient,
            ward: wardId,
            bed,
          },
        },
      ],
    },
  });
  const { refused } = (await answer.json()) as { refused: unknown[] };
  expect(refused).toEqual([]);
}

async function startWatch(page: Page, patient: string): Promise<void> {
  await page.evaluate((to) => void (location.hash = `#/entry/${to}/watch-opened`), patient);
  const form = page.locator('[data-form="watch-opened"]');
  await expect(form).toBeVisible();
  await form.getByText('Stroke or rehabilitation', { exact: true }).click();
  await page.getByLabel('Why this person?').fill('stroke, day two');
  await page.getByLabel('Why this person?').press('Enter');
  await expect(step(page)).toContainText('Rule SR-');
}

const refusalOf = async (answer: APIResponse): Promise<string> =>
  ((await answer.json()) as { refusal: { code: string } }).refusal.code;

test('a version is drafted, sent, signed by a second person and goes to new patients; the others are moved', async ({
  page,
  browser,
}) => {
  test.setTimeout(120_000);
  await signIn(page, nurse);
  await register(page, 'life-before', 'Ostler', '1');
  await register(page, 'life-after', 'Quayle', '2');
  await startWatch(page, 'life-before');
  await expect(step(page)).toContainText(`version ${example.version}`);
  await expect(step(page)).toContainText('Example protocol, not approved');

  await page.evaluate(() => void (location.hash = '#/protocol/stroke-or-rehabilitation'));
  await page.getByRole('button', { name: 'Make a draft' }).click();
  await (await cell(page, 'SR-30', 'Due in, min')).click();
  await page.getByRole('dialog').getByLabel('Due in, min').fill('75');
  await page.getByRole('button', { name: 'Done' }).click();
  await expect(page.locator('[data-proof]')).toContainText('Proved: every patient has one safe answer');
  await page.getByRole('button', { name: 'Send for signing' }).click();
  const waiting = page.locator('[data-version="proved"]');
  await expect(waiting).toContainText('Proved. Waits for a signature, sent by Fenna Jessop');
  await expectNoViolations(page);
  await waiting.getByRole('link').click();
  await expect(page.locator('[data-why-not]')).toContainText('A second person who owns the ward’s protocols');
  await expect(page.getByRole('button', { name: 'Sign and publish' })).toHaveCount(0);
  await expect(page.locator('[data-differences]')).toContainText('SR-30: Due in, min: ');
  const address = await page.evaluate(() => location.hash);

  // A second person, on a tablet of their own, by keyboard alone.
  const other = await browser.newContext({ viewport: { width: 820, height: 1180 } });
  const second = await other.newPage();
  await chooseTheme(second, 'night', signer);
  await signIn(second, signer, address);
  await expect(second.locator('[data-differences]')).toContainText('now 75');
  await expectNoViolations(second);
  await second.getByRole('button', { name: 'Sign and publish' }).focus();
  await second.keyboard.press('Enter');
  await expect(second.getByLabel('To be reviewed by')).not.toHaveValue('');
  await expectNoViolations(second);
  await second.getByLabel('Your PIN').fill('0000');
  await second.keyboard.press('Enter');
  await expect(second.getByRole('alert')).toContainText('Enter the PIN again.');
  await second.getByLabel('Your PIN').fill('1234');
  await second.keyboard.press('Enter');
  await expect(second.getByText(/In force\. Signed by Greta Zellin, specialist nurse, on /)).toBeVisible();
  await expect(second.getByRole('button', { name: 'Sign and publish' })).toHaveCount(0);
  const small = await second.locator('main :is(button, a)').evaluateAll((all) =>
    all
      .map((one) => ({ size: one.getBoundingClientRect(), text: one.textContent }))
      .filter(({ size }) => size.width > 0 && (size.height < 47.5 || size.width < 47.5))
      .map(({ text }) => text),
  );
  expect(small).toEqual([]);

  // The first tablet hears of it by itself.
  await expect(page.getByText(/In force\. Signed by Greta Zellin/)).toBeVisible({ timeout: 15_000 });
  await startWatch(page, 'life-after');
  await expect(step(page)).toContainText('Rule SR-30');
  await expect(step(page)).toContainText(`version ${example.version + 1}`);
  await expect(step(page)).toContainText('Signed by Greta Zellin, specialist nurse, on ');
  await expect(step(page)).toContainText('to be reviewed by ');
  await expect(step(page).locator('[data-move-offer]')).toHaveCount(0);

  await page.evaluate(() => void (location.hash = '#/patient/life-before'));
  await expect(step(page)).toContainText(`version ${example.version}`);
  await expect(step(page).locator('[data-move-offer]')).toContainText(
    `This watch keeps version ${example.version}.`,
  );
  await step(page).getByRole('button', { name: 'See the difference' }).click();
  await expect(page.locator('[data-move-now]')).toContainText(
    /^Now: Look again at .*With version \d+: Look again at /,
  );
  await expect(page.locator('[data-move-changes]')).toContainText('SR-30: Due in, min: ');
  await expectNoViolations(page);
  await page.getByRole('button', { name: `Move this patient to version ${example.version + 1}` }).click();
  await expect(step(page).locator('[data-move-offer]')).toHaveCount(0);
  await expect(step(page)).toContainText('Signed by Greta Zellin');
  await expect(step(page)).toContainText(`version ${example.version + 1}`);

  // Retiring it: the mark says so to those who are watched under it, and new watches go by the example again.
  await second.getByRole('button', { name: 'Retire' }).click();
  await second.getByLabel('Why').fill('Looks were too many.');
  await second.getByLabel('Your PIN').fill('1234');
  await second.getByRole('button', { name: 'Retire it' }).click();
  await expect(second.getByText(/Retired on .*: Looks were too many\./)).toBeVisible();
  await expect(step(page)).toContainText('Looks were too many.', { timeout: 15_000 });
  await other.close();
});

test('what is not proved is not sent by the page, and refused when it is asked for by hand', async ({
  page,
}) => {
  await signIn(page, nurse, '#/protocol/comfort');
  await page.getByRole('button', { name: 'Make a draft' }).click();
  await expect(page.locator('[data-proof]')).toContainText('Proved');
  await page.locator('[data-row]').last().getByRole('rowheader').click();
  await page.getByRole('button', { name: 'Delete this row' }).click();
  await expect(page.locator('[data-proof]')).toContainText('Not proved');
  await expect(page.getByRole('button', { name: 'Send for signing' })).toBeDisabled();

  const tables = example.tables.map((table) => ({ ...table, rows: table.rows.slice(0, -1) }));
  const dmn = orThrow(await writeDmn(modelOf({ ...example, tables })));
  const sent = await page.request.post('/api/protocols', { data: { ward: wardId, dmn } });
  expect(sent.status()).toBe(422);
  expect(await refusalOf(sent)).toBe('protocol/not-proved');
  const published = await page.request.post('/api/protocols/stroke-or-rehabilitation/99/publish', {
    data: { contentDigest: 'a'.repeat(64), reviewBy: '2027-01-01', pin: '1234' },
  });
  expect(published.status()).toBe(404);
});
