// Proves     two tablets at once: a patient offered on one is read back and accepted on the other, the giver keeps it
//            until then, and nobody can hand over to nobody
// Published  none
import { expect, test } from '@playwright/test';
import { people, signIn } from './ward.ts';

test('the giver keeps each patient until the other has read back and accepted it', async ({ browser }) => {
  const giver = await (await browser.newContext()).newPage();
  const receiver = await (await browser.newContext()).newPage();
  await signIn(giver, people.second, '#/handover');
  await signIn(receiver, people.charge, '#/handover');
  const cards = giver.locator('article[data-patient]');
  await expect(cards.first()).toBeVisible();
  await expect(giver.getByRole('button', { name: /^Offer all|^Offer the one/ })).toBeDisabled();
  const patient = (await cards.first().getAttribute('data-patient')) ?? '';

  await giver.getByLabel('Hand over to').selectOption(`person:${people.charge}`);
  await giver
    .locator(`[data-patient="${patient}"]`)
    .getByRole('button', { name: /^Offer bed/ })
    .click();
  await expect(giver.locator(`[data-patient="${patient}"]`)).toContainText('Still with you');

  const offered = receiver.locator(`[data-patient="${patient}"]`);
  await expect(offered).toContainText('Still with');
  const accept = offered.getByRole('button', { name: /^Accept bed/ });
  await expect(accept).toBeDisabled();
  const pieces = offered.getByRole('group', { name: /^Read back/ }).getByRole('button');
  for (let index = 0; index < (await pieces.count()); index += 1) await pieces.nth(index).click();
  await expect(giver.locator(`[data-patient="${patient}"]`)).toContainText('Still with you');
  await accept.click();

  await expect(giver.getByRole('heading', { name: 'Handed over' })).toBeVisible();
  await expect(giver.locator(`[data-patient="${patient}"]`)).toHaveCount(0);
  await expect(receiver.locator(`[data-patient="${patient}"]`)).toContainText('With you');
});
