// Proves     a draft is made, edited by key and by thumb, undone, kept without the network; the proof follows each edit, names
//            a patient and blocks publishing; a patient is tried; no accessibility fault, no page that scrolls sideways.
// Published  none; the tables are the starter protocol's.
// Tolerance  exact words; targets at least 48 px.
import { expect, test, type Locator, type Page } from '@playwright/test';
import { chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

const gridOf = (page: Page, name: string): Locator => page.getByRole('grid', { name });
const steps = (page: Page): Locator => gridOf(page, 'Then: the step');
const rowOf = (page: Page, id: string): Locator => page.locator(`[data-row="${id}"]`);
const proof = (page: Page): Locator => page.locator('[data-proof]');
const faults = (page: Page): Locator => page.locator('[data-fault]');
const publish = (page: Page): Locator => page.locator('[data-publish]');

const inDialog = (page: Page, label: string): Locator =>
  page.getByRole('dialog').getByLabel(label, { exact: true });

async function openDraft(page: Page, person: string = people.nurse): Promise<void> {
  await signIn(page, person, '#/protocol/after-surgery');
  await page.getByRole('button', { name: 'Make a draft' }).click();
  await expect(page.getByRole('heading', { level: 1, name: 'Draft: After surgery' })).toBeVisible();
  await expect(proof(page)).toContainText('Proved: every patient has one safe answer');
}

/** The cell of a row under a column's title. */
async function cell(page: Page, rowId: string, title: string): Promise<Locator> {
  const row = rowOf(page, rowId);
  const titles = await row.locator('xpath=ancestor::table').getByRole('columnheader').allTextContents();
  return row.locator('th, td').nth(titles.indexOf(title));
}

test('deleting an arm prints a patient without a row and blocks publishing; the hole is filled in place', async ({
  page,
}) => {
  await openDraft(page);
  await rowOf(page, 'AS-32').getByRole('rowheader').click();
  await page.getByRole('button', { name: 'Delete this row' }).click();
  await expect(rowOf(page, 'AS-32')).toHaveCount(0);
  await expect(proof(page)).toHaveText('Not proved: 1 fault.');
  await expect(faults(page)).toContainText('No row for: volume from 250 to 400 mL; ');
  await expect(faults(page)).toContainText('For example: 250 mL');
  await expect(publish(page)).toContainText(
    'This draft can’t be published: 1 fault must be put right first.',
  );

  await page.getByRole('button', { name: 'Add a row for these' }).click();
  const added = rowOf(page, 'AS-42');
  await expect(added.getByRole('rowheader')).toBeFocused();
  await expect(await cell(page, 'AS-42', 'volume, mL')).toHaveText('from 250 to 400');
  await expect(faults(page)).toContainText('Row AS-42 has no step yet.');

  await (await cell(page, 'AS-42', 'Step')).click();
  await inDialog(page, 'Step').selectOption('look-again');
  await page.getByRole('button', { name: 'Done' }).click();
  await (await cell(page, 'AS-42', 'Due in, min')).click();
  await inDialog(page, 'Due in, min').fill('45');
  await page.getByRole('button', { name: 'Done' }).click();
  await (await cell(page, 'AS-42', 'Whose')).click();
  await inDialog(page, 'Whose').selectOption('nurse');
  await page.getByRole('button', { name: 'Done' }).click();
  await (await cell(page, 'AS-42', 'Rule')).click();
  await inDialog(page, 'Rule').fill('250 to 400 mL: look again in 45 minutes.');
  await page.getByRole('button', { name: 'Done' }).click();
  await expect(proof(page)).toContainText('Proved: every patient has one safe answer');
  await expect(faults(page)).toHaveCount(0);
});

test('doubling 400 prints a patient with two rows and blocks publishing', async ({ page }) => {
  await openDraft(page);
  await (await cell(page, 'AS-33', 'volume, mL')).click();
  const dialog = page.getByRole('dialog', { name: 'Row AS-33: volume, mL' });
  await expect(dialog.getByLabel('From')).toHaveValue('400');
  await dialog.getByLabel('The lower number itself counts').check();
  await dialog.getByRole('button', { name: 'Done' }).click();
  await expect(await cell(page, 'AS-33', 'volume, mL')).toHaveText('at least 400');
  await expect(proof(page)).toHaveText('Not proved: 1 fault.');
  await expect(faults(page)).toContainText('Two rows, AS-32 and AS-33, both answer:');
  await expect(faults(page)).toContainText('For example: 400 mL');
  await expect(publish(page)).toContainText('can’t be published');

  await page.getByRole('button', { name: 'Try this patient' }).click();
  await expect(page.getByLabel('Volume, mL')).toHaveValue('400');
  await expect(page.locator('[data-answer]')).toContainText('protocol/two-rows');
});

test('a wait at the limit prints that patient and blocks publishing', async ({ page }) => {
  await openDraft(page);
  await (await cell(page, 'AS-19', 'Step')).click();
  await inDialog(page, 'Step').selectOption('look-again');
  await page.getByRole('button', { name: 'Done' }).click();
  const found = faults(page).filter({ hasText: 'no waiting step at or above the limit' });
  await expect(found.first()).toContainText('Row AS-19 is not safe.');
  await expect(found.first()).toContainText(/For example: .*at or over the limit/);
  await expect(publish(page)).toContainText('can’t be published');
});

test('by keys alone: to a cell, in, back, undo and redo', async ({ page }) => {
  await openDraft(page);
  const first = rowOf(page, 'AS-01').getByRole('rowheader');
  await first.focus();
  await page.keyboard.press('ArrowDown');
  await expect(rowOf(page, 'AS-02').getByRole('rowheader')).toBeFocused();
  await page.keyboard.press('End');
  await expect(await cell(page, 'AS-02', 'Source')).toBeFocused();
  await page.keyboard.press('Enter');
  await page.keyboard.press('Escape');
  await expect(await cell(page, 'AS-02', 'Source')).toBeFocused();
  await page.keyboard.press('Enter');
  await inDialog(page, 'Source').fill('unit choice');
  await page.keyboard.press('Enter');
  await expect(await cell(page, 'AS-02', 'Source')).toHaveText('unit choice');
  await expect(await cell(page, 'AS-02', 'Source')).toBeFocused();
  await page.keyboard.press('Control+z');
  await expect(await cell(page, 'AS-02', 'Source')).toHaveText('S-clinical-Q5');
  await page.keyboard.press('Control+y');
  await expect(await cell(page, 'AS-02', 'Source')).toHaveText('unit choice');

  await page.keyboard.press('Alt+ArrowDown');
  await expect(steps(page).locator('[data-row]').nth(1)).toHaveAttribute('data-row', 'AS-03');
  await expect(await cell(page, 'AS-02', 'Source')).toBeFocused();
  await page.keyboard.press('Delete');
  await expect(rowOf(page, 'AS-02')).toHaveCount(0);
  await page.keyboard.press('Control+z');
  await expect(rowOf(page, 'AS-02')).toHaveCount(1);
});

test('a draft survives a reload without the network', async ({ page, context }) => {
  await openDraft(page, people.third);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  // A PIN that the record has accepted once opens this tablet without it.
  await page.getByRole('button', { name: /signed in as/ }).click();
  // The record hears of the lock before the PIN, as it does when a person types it.
  const told = page.waitForResponse('**/api/lock');
  await page.getByRole('button', { name: 'Lock, or hand to somebody' }).click();
  await told;
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.locator('[data-row="AS-31"]')).toHaveCount(1);

  await context.setOffline(true);
  await (await cell(page, 'AS-31', 'Due in, min')).click();
  await inDialog(page, 'Due in, min').fill('75');
  await page.getByRole('button', { name: 'Done' }).click();
  await expect(page.locator('[data-kept]')).toHaveText('Kept on this tablet');
  await page.reload();
  await page.getByLabel('PIN').fill('1234');
  await page.getByRole('button', { name: 'Open' }).click();
  await expect(page.locator('[data-row="AS-31"]')).toHaveCount(1);
  await expect(await cell(page, 'AS-31', 'Due in, min')).toHaveText('75');
  await expect(proof(page)).toContainText('Proved');
});

test('a patient is tried: the rows that answer are marked and the step is said', async ({ page }) => {
  await openDraft(page);
  await page.getByLabel('Volume, mL').fill('300');
  const answer = page.locator('[data-answer]');
  await expect(answer).toContainText('Help to pass urine, then look, within 60 minutes: nurse.');
  await expect(rowOf(page, 'AS-32')).toContainText('answers');
  await page.getByLabel('Discomfort').selectOption('true');
  await expect(answer).toContainText('Examine now');
  await expect(rowOf(page, 'AS-07')).toContainText('answers');
  await expect(rowOf(page, 'AS-32')).not.toContainText('answers');
  await page.getByLabel('Volume, mL').fill('9999');
  await expect(answer).toContainText('protocol/input-range');
});

for (const theme of ['light', 'night'] as const) {
  test(`the editor has no accessibility fault, ${theme}`, async ({ page }) => {
    await chooseTheme(page, theme, people.nurse);
    await openDraft(page);
    await (await cell(page, 'AS-33', 'volume, mL')).click();
    await expectNoViolations(page);
    await page.getByLabel('The lower number itself counts').check();
    await page.getByRole('button', { name: 'Done' }).click();
    await expect(faults(page)).toHaveCount(1);
    await expectNoViolations(page);
  });
}

for (const [name, width, height] of [
  ['a phone', 390, 844],
  ['a tablet', 820, 1180],
] as const) {
  test(`on ${name} the grid scrolls in its own place and every target is large`, async ({ page }) => {
    await page.setViewportSize({ width, height });
    await openDraft(page);
    expect(
      await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
    ).toBe(0);
    const small = await page.locator('main :is(button, a, select, input, [data-place])').evaluateAll((all) =>
      all
        .map((one) => ({ size: one.getBoundingClientRect(), text: one.textContent }))
        .filter(({ size }) => size.width > 0 && (size.height < 47.5 || size.width < 47.5))
        .map(({ text, size }) => `${text} ${size.width} × ${size.height}`),
    );
    expect(small).toEqual([]);
  });
}
