// Proves     a draft goes out as a DMN file and comes back the same, a broken file is refused in words and loses nothing; the map of
//            two inputs shows steps, a hole and two rows by fills that are no colour alone, by keys, and as a table of words; a
//            protocol's page prints its flow sheet.
// Published  none; the tables are the starter protocol's.
// Tolerance  exact words; targets at least 48 px.
import { readFile, writeFile } from 'node:fs/promises';
import { expect, test, type Locator, type Page } from '@playwright/test';
import { chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

const rowOf = (page: Page, id: string): Locator => page.locator(`[data-row="${id}"]`);
const map = (page: Page): Locator => page.getByRole('grid', { name: 'Map of the steps' });
const mapCells = (page: Page): Locator => page.locator('[data-map-cell]');
const chosen = (page: Page): Locator => page.locator('[data-map-chosen]');

async function openDraft(page: Page): Promise<void> {
  await signIn(page, people.nurse, '#/protocol/after-surgery');
  await page.getByRole('button', { name: 'Make a draft' }).click();
  await expect(page.getByRole('heading', { level: 1, name: 'Draft: After surgery' })).toBeVisible();
  await expect(map(page)).toBeVisible();
}

async function deleteRow(page: Page, id: string): Promise<void> {
  await rowOf(page, id).getByRole('rowheader').click();
  await page.getByRole('button', { name: 'Delete this row' }).click();
  await expect(rowOf(page, id)).toHaveCount(0);
}

const draftKept = (page: Page): Promise<string | null> =>
  page.evaluate(
    (person) => localStorage.getItem(`ebbline.protocol-draft/${person}/after-surgery`),
    people.nurse,
  );

test('a draft is saved as a DMN file and opened again as the same; a broken file is refused and nothing is lost', async ({
  page,
}, info) => {
  await openDraft(page);
  await deleteRow(page, 'AS-33');
  const edited = await draftKept(page);
  const waiting = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save as a DMN file' }).click();
  const download = await waiting;
  expect(download.suggestedFilename()).toBe('after-surgery-draft.dmn');
  const path = info.outputPath('draft.dmn');
  await download.saveAs(path);
  expect(await readFile(path, 'utf8')).toContain('https://www.omg.org/spec/DMN/');

  await deleteRow(page, 'AS-32');
  const file = page.getByLabel('Open a DMN file in place of this draft');
  await file.setInputFiles(path);
  await expect(page.locator('[data-opened]')).toHaveText(
    'Opened draft.dmn. Undo brings back what was here before.',
  );
  await expect(rowOf(page, 'AS-32')).toHaveCount(1);
  await expect(rowOf(page, 'AS-33')).toHaveCount(0);
  expect(await draftKept(page)).toBe(edited);

  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(rowOf(page, 'AS-32')).toHaveCount(0);
  const before = await draftKept(page);
  const broken = info.outputPath('broken.dmn');
  await writeFile(broken, (await readFile(path, 'utf8')).slice(0, 4000));
  await file.setInputFiles(broken);
  const refused = page.getByRole('region', { name: 'As a file' }).getByRole('alert');
  await expect(refused).toContainText('protocol/not-dmn');
  await expect(refused).toContainText('Export the model as DMN XML and give that file.');
  expect(await draftKept(page)).toBe(before);
});

test('a sheet after a published algorithm is opened: two arms at 400 mL, nobody where no number was read', async ({
  page,
}) => {
  await openDraft(page);
  await page
    .getByLabel('Open a DMN file in place of this draft')
    .setInputFiles('examples/protocols/published-sheet.dmn');
  await expect(page.locator('[data-opened]')).toContainText('Opened published-sheet.dmn.');
  const faults = page.locator('[data-fault]');
  const overlap = faults.filter({ hasText: 'Two rows, PS-2 and PS-3, both answer:' });
  await expect(overlap.first()).toContainText('For example: 400 mL');
  await expect(faults.filter({ hasText: 'No row for: volume not known.' })).toHaveCount(1);
  await expect(page.locator('[data-publish]')).toContainText('can’t be published');
});

test('the map shows the steps over volume and residual, a hole and two rows at one number', async ({
  page,
}) => {
  await openDraft(page);
  await page.getByLabel('From top to bottom').selectOption('discomfort');
  await expect(map(page).getByRole('columnheader')).toContainText([
    'volume under 250 mL',
    'volume 250 to 400 mL',
  ]);
  await expect(mapCells(page).filter({ hasText: 'AS-32' })).toHaveCount(1);
  await expect(page.getByRole('list', { name: 'What the fills mean' })).toContainText('Examine now');

  await deleteRow(page, 'AS-32');
  await expect(page.locator('[data-map-cell][data-kind="hole"]')).toHaveText('no row');
  await expect(page.getByRole('list', { name: 'What the fills mean' })).toContainText('No row answers');
  await page.getByRole('button', { name: 'Undo' }).click();
  await expect(page.locator('[data-kind="hole"]')).toHaveCount(0);

  const titles = await rowOf(page, 'AS-33')
    .locator('xpath=ancestor::table')
    .getByRole('columnheader')
    .allTextContents();
  await rowOf(page, 'AS-33').locator('th, td').nth(titles.indexOf('volume, mL')).click();
  await page.getByLabel('The lower number itself counts').check();
  await page.getByRole('button', { name: 'Done' }).click();
  const both = page.locator('[data-map-cell][data-kind="overlap"]');
  await expect(both).toHaveText('2 rows');
  await both.click();
  await expect(chosen(page)).toHaveText('Volume 400 mL, comfortable. 2 rows answer: AS-32, AS-33.');
  await page.locator('[data-map-chosen] + button').click();
  await expect(page.getByLabel('Volume, mL', { exact: true })).toHaveValue('400');
  await expect(page.locator('[data-answer]')).toContainText('protocol/two-rows');
});

test('by keys alone, and as a table of words', async ({ page }) => {
  await openDraft(page);
  await page.getByLabel('From top to bottom').selectOption('discomfort');
  await mapCells(page).first().focus();
  await page.keyboard.press('ArrowRight');
  await expect(chosen(page)).toHaveText(
    'Volume 250 to 400 mL, comfortable. Help to pass urine, then look, in 60 min: row AS-32.',
  );
  await page.keyboard.press('ArrowDown');
  await expect(chosen(page)).toContainText('in discomfort. Examine now, now: row AS-07.');
  await page.keyboard.press('End');
  await expect(mapCells(page).last()).toBeFocused();
  await page.getByText('The same as a table of words').click();
  const words = page.getByRole('region', { name: 'The map in words' });
  await expect(words.getByRole('row')).toHaveCount((await mapCells(page).count()) + 1);
  await expect(words).toContainText('Help to pass urine, then look, in 60 min: row AS-32');
});

for (const theme of ['light', 'night'] as const) {
  test(`the map has no accessibility fault and large cells, ${theme}`, async ({ page }) => {
    await chooseTheme(page, theme, people.nurse);
    await page.setViewportSize({ width: 390, height: 844 });
    await openDraft(page);
    await page.getByText('The same as a table of words').click();
    await expectNoViolations(page);
    for (const one of await mapCells(page).all()) {
      const box = await one.boundingBox();
      expect(Math.min(box?.width ?? 0, box?.height ?? 0)).toBeGreaterThanOrEqual(48);
    }
    expect(
      await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
    ).toBe(0);
  });
}

test('a protocol’s page prints its flow sheet and its tables', async ({ page }) => {
  await signIn(page, people.nurse, '#/protocol/after-surgery');
  for (const [name, form] of [
    ['Print the flow sheet', 'flow-sheet'],
    ['Print the tables', 'tables'],
  ] as const) {
    const href = await page.getByRole('link', { name }).getAttribute('href');
    expect(href).toContain(`/${form}.pdf`);
    const answer = await page.request.get(href ?? '');
    expect([answer.status(), answer.headers()['content-type']]).toEqual([200, 'application/pdf']);
    expect((await answer.body()).subarray(0, 5).toString()).toBe('%PDF-');
  }
});
