// Proves     a void trial by backfill is charted by thumb: what was put in, the catheter out, the void; each with the step that
//            the example protocol answers, and the share of it on the page. No accessibility fault on the form.
// Published  S-clinical-F7: 300 mL in, 200 mL passed is two thirds
import { expect, test, type Page } from '@playwright/test';
import type { Entry } from '@ebbline/core/record';
import { entry } from '../src/features/patient/testing/worked-patient.ts';
import { openWard } from './entry-ward.ts';
import { expectNoViolations } from './ward.ts';

const patient = 'p-4';
const step = (page: Page) => page.locator('[data-next-step]');
const type = async (page: Page, number: string): Promise<void> => {
  for (const digit of number) await page.getByRole('button', { name: digit, exact: true }).click();
};

test('300 mL in, the catheter out, 200 mL passed, 60 mL left: the trial is passed', async ({ page }) => {
  const entries: readonly Entry[] = [
    entry('08:00', 'patient-registered', {
      familyName: 'Ambler',
      givenName: 'Ruth',
      ageYears: 61,
      sex: 'female',
      identifierSystem: 'urn:coast',
      identifierValue: 'X-4',
      ward: 'ward-six',
      bed: '4',
    }),
    entry('08:05', 'catheter-placed', { route: 'urethral', reason: 'surgery' }),
    entry('17:50', 'watch-opened', { setting: 'catheter-removed', reason: 'void trial' }),
  ];
  const sent = await openWard(page, `#/entry/${patient}/instilled`, { entries, clock: '18:00' });
  await expectNoViolations(page);
  await type(page, '300');
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(step(page)).toContainText('Rule CR-49');
  await expect(page.locator('[data-void-trial]')).toHaveText('300 mL put in at 18:00. Nothing passed since.');

  await page.evaluate((to) => void (location.hash = `#/entry/${to}/catheter-removed`), patient);
  await page.getByText('Void trial', { exact: false }).first().click();
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(step(page)).toContainText('Rule CR-46');

  await page.clock.fastForward('15:00');
  await page.evaluate((to) => void (location.hash = `#/entry/${to}/void`), patient);
  await type(page, '200');
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(step(page)).toContainText('Rule CR-42');
  await expect(page.locator('[data-void-trial]')).toContainText('200 mL passed since: 66 % of it.');

  await page.evaluate((to) => void (location.hash = `#/entry/${to}/reading`), patient);
  await type(page, '60');
  await page.getByText('After a void', { exact: true }).click();
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(step(page)).toContainText('Rule CR-48');
  expect(sent.entries.filter((one) => one.kind === 'step-advised').map((one) => one.payload)).toMatchObject([
    { rowId: 'CR-49', protocolVersion: 2 },
    { rowId: 'CR-46' },
    { rowId: 'CR-42' },
    { rowId: 'CR-48', step: 'watch-can-end' },
  ]);
});
