// Proves     pictures that a person chose are outlined off the main thread and become a reading with interval, reasons and
//            relation; files that are no pictures are refused in words.
// Published  simulated plane sets with known volume, read from the folder named by EBBLINE_SAMPLES; skipped without it.
// Tolerance  the known volume lies within 15 % or 15 mL of what is shown (the sets' own scoring rule).
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import AxeBuilder from '@axe-core/playwright';
import { expect, test } from '@playwright/test';
import { openWard } from './entry-ward.ts';

test.use({ serviceWorkers: 'block' });
const samples = process.env['EBBLINE_SAMPLES'];

test('a letter is refused with what was found, what is allowed and what to do', async ({ page }) => {
  await openWard(page, '#/images/p-4');
  await page
    .locator('[data-files]')
    .setInputFiles({ name: 'letter.txt', mimeType: 'text/plain', buffer: Buffer.from('a letter') });
  await expect(page.getByRole('alert')).toContainText('Export the look from the scanner as DICOM');
});

for (const theme of ['light', 'night'] as const) {
  test(`a folder of planes is outlined and kept as a reading, ${theme}`, async ({ page }) => {
    test.skip(samples === undefined, 'EBBLINE_SAMPLES names no folder of plane sets');
    const folder = join(samples ?? '', 'ultrasound/public/pub01');
    const truth = JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')) as { volume_ml: number };
    const sent = await openWard(page, '#/images/p-4', { theme });
    const files = readdirSync(folder).filter((name) => name === 'geometry.json' || name.endsWith('.png'));
    await page.locator('[data-files]').setInputFiles(files.map((name) => join(folder, name)));
    const answer = page.getByRole('region', { name: 'Volume from these images' });
    await expect(answer).toContainText('Nine times in ten between', { timeout: 20_000 });
    const found = await new AxeBuilder({ page })
      .withTags(['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'])
      .analyze();
    expect(
      found.violations.map(
        (one) => `${one.id}: ${one.nodes.map((node) => node.target.join(' ')).join(' | ')}`,
      ),
    ).toEqual([]);
    const keep = page.getByRole('button', { name: /^Keep as a reading/ });
    await expect(keep).toBeDisabled();
    await page.getByRole('button', { name: 'Before a void' }).click();
    await keep.click();
    await expect.poll(() => sent.entries[0]?.kind).toBe('reading');
    const payload = sent.entries[0]?.payload as {
      volumeMl: number;
      lowMl: number;
      highMl: number;
      source: string;
      method: string;
      relation: string;
    };
    expect(payload).toMatchObject({
      source: 'images',
      method: 'traced-from-images',
      relation: 'before-void',
    });
    expect(Math.abs(payload.volumeMl - truth.volume_ml)).toBeLessThanOrEqual(
      Math.max(15, 0.15 * truth.volume_ml),
    );
    expect(payload.lowMl).toBeLessThan(payload.highMl);
  });
}

test('a DICOM file of the same set is read', async ({ page }) => {
  test.skip(samples === undefined, 'EBBLINE_SAMPLES names no folder of plane sets');
  await openWard(page, '#/images/p-4');
  await page.locator('[data-files]').setInputFiles(join(samples ?? '', 'ultrasound/public/pub01/pub01.dcm'));
  await expect(page.getByRole('region', { name: 'Volume from these images' })).toContainText(
    'Nine times in ten between',
    { timeout: 20_000 },
  );
});
