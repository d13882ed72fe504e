// Proves     the browser reads the very DICOM codings that Node does, in the worker: a deflated fan gives the volume of its
//            pictures; each packed coding is opened; a report of the volume is saved that reads back with the same number.
// Published  examples/planes: nine turned planes of an ellipsoid of 175.9 mL (closed form, examples/make-planes.ts)
// Tolerance  volume 15 %; the report's number as shown on the page, to the millilitre
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test, type Page } from '@playwright/test';
import { orThrow } from '@ebbline/core/quantity';
import { readGeometry, readPng } from '@ebbline/interop/planeset';
import {
  join as joined,
  packedFrames,
  reportLines,
  side,
  testFile,
  type TestFile,
} from '@ebbline/interop/dicom/testing';
import { openWard } from './entry-ward.ts';

test.use({ serviceWorkers: 'block' });
const folder = join(import.meta.dirname, '../../../examples/planes');

/** The example as one file, its layout in our own words and its apex as the reference pixel. */
function exampleFile(more: TestFile): Buffer {
  const { geometry, files } = orThrow(readGeometry(readFileSync(join(folder, 'geometry.json'), 'utf8')));
  const planes = files.map((name) =>
    orThrow(readPng(readFileSync(join(folder, name as string)), name as string)),
  );
  const { width, height } = planes[0] as { width: number; height: number };
  const { apexPx, mmPerPx } = geometry;
  const [cmX, cmY] = [mmPerPx.x / 10, mmPerPx.y / 10];
  const px = [Math.round(apexPx.x), Math.round(apexPx.y)] as const;
  const reference = { px, cm: [(px[0] - apexPx.x) * cmX, (px[1] - apexPx.y) * cmY] as const };
  const bytes = testFile({
    width,
    height,
    frames: planes.length,
    comment: `rotational_fan plane angles deg: ${geometry.planes.map((one) => one.position).join(' ')}`,
    regions: [{ bounds: [0, 0, width - 1, height - 1], deltaCm: [cmX, cmY], reference }],
    pixels: joined(planes.map((one) => one.grey)),
    ...more,
  });
  return Buffer.from(bytes);
}

async function open(page: Page, buffer: Buffer): Promise<void> {
  await page
    .locator('[data-files]')
    .setInputFiles({ name: 'look.dcm', mimeType: 'application/dicom', buffer });
}
const shown = async (page: Page): Promise<number> =>
  Number(/\d+/.exec(await page.locator('[data-volume]').innerText())?.[0]);

test('a deflated DICOM file gives the volume of its pictures, and a report that says the same', async ({
  page,
}) => {
  await openWard(page, '#/images/p-4', {});
  await open(page, exampleFile({ syntax: '1.2.840.10008.1.2.1.99' }));
  await expect(page.locator('[data-volume]')).toContainText('mL', { timeout: 20_000 });
  const volumeMl = await shown(page);
  expect(Math.abs(volumeMl / 175.9 - 1)).toBeLessThan(0.15);
  const coming = page.waitForEvent('download');
  await page.getByRole('button', { name: 'DICOM report' }).click();
  const file = await coming;
  expect(file.suggestedFilename()).toBe('volume-report.dcm');
  const parts: Buffer[] = [];
  for await (const part of await file.createReadStream()) parts.push(part as Buffer);
  const lines = await reportLines(new Uint8Array(Buffer.concat(parts)));
  const written = lines.find((one) => one.path.endsWith('/ Volume'))?.value ?? '';
  expect(written).toMatch(/^[\d.]+ cm3$/);
  expect(Math.round(Number.parseFloat(written))).toBe(volumeMl);
});

// One of each decoder is enough here: every frame is read in Node by the unit tests.
for (const last of ['50', '70', '80', '90']) {
  const packed = packedFrames.find((one) => one.syntax === `1.2.840.10008.1.2.4.${last}`);
  test(`${packed?.name ?? last} is opened in the browser, and its missing scale asked for`, async ({
    page,
  }) => {
    expect(packed).toBeDefined();
    if (!packed) return;
    await openWard(page, '#/images/p-4', {});
    const { syntax, photometric, pattern, frame } = packed;
    const file = testFile({
      syntax,
      photometric,
      width: side,
      height: side,
      components: pattern === 'colour' ? 3 : 1,
      frames: 2,
      fragments: [frame, frame],
    });
    await open(page, Buffer.from(file));
    await expect(page.getByRole('heading', { name: 'What the files do not say' })).toBeVisible();
    await expect(
      page
        .getByText('Plane 1 of 2')
        .or(page.getByLabel(/^Plane 1 of 2/))
        .first(),
    ).toBeVisible();
  });
}
