// Proves     the unit page says what each scanner's pairs have taught and opens them; a patient's page says beside a reading
//            of a scanner that reads low what it may be.
// Published  none
// Tolerance  exact words but for the figures
import { AxeBuilder } from '@axe-core/playwright';
import { expect, test } from '@playwright/test';
import type { Entry } from '@ebbline/core/record';
import { entry } from '../src/features/patient/testing/worked-patient.ts';
import { openWard, wardEntries } from './entry-ward.ts';

test.use({ serviceWorkers: 'block' });

/** Eight people read by scanner A a fifth too low and drained five minutes later. */
const drained: readonly Entry[] = Array.from({ length: 8 }, (_, index) => {
  const patient = `s-${index}`;
  const of = (made: Entry): Entry =>
    ({ ...made, patient, id: made.id.slice(0, -4) + String(2000 + index) }) as Entry;
  return [
    of(
      entry('07:00', 'patient-registered', {
        familyName: `Sand${index}`,
        givenName: 'Ole',
        ageYears: 70,
        sex: 'male',
        identifierSystem: 'urn:coast',
        identifierValue: `S-${index}`,
        ward: 'ward-six',
        bed: '9',
      }),
    ),
    of(entry('07:00', 'watch-opened', { setting: 'after-surgery', reason: `hip ${index}` })),
    of(
      entry('07:30', 'reading', {
        result: 'exact',
        volumeMl: 420 + index,
        relation: 'no-void',
        doubts: [],
        scanner: 'a',
      }),
    ),
    of(entry('07:35', 'drained', { route: 'in-out', volumeMl: 540 + index })),
    of(entry('07:40', 'watch-closed', { outcome: 'emptying', note: `${index}` })),
  ];
}).flat();

for (const [theme, width] of [
  ['light', 1440],
  ['night', 390],
] as const)
  test(`the unit page says that a scanner reads low, and "Why?" lists its pairs, ${theme}, ${width} wide`, async ({
    page,
  }) => {
    await page.setViewportSize({ width, height: 900 });
    await openWard(page, '#/unit', { theme, entries: [...wardEntries, ...drained] });
    const scanner = page.locator('[data-scanner="a"]');
    await expect(scanner).toHaveAttribute('data-reads', 'low');
    await expect(scanner).toContainText(
      /^Scanner A reads low: about \d+ % or \d+ mL at 500 mL \(\d+ % low to \d+ % low, nine times in ten, from [89] pairs\)\./,
    );
    await page.getByRole('button', { name: 'Why? What is known of Scanner A' }).click();
    const opened = page.getByRole('region', { name: 'Why: What is known of Scanner A' });
    await expect(
      opened.getByRole('row', { name: /07:35 Read 420 mL, drained 540 mL \d+ % low/ }),
    ).toBeVisible();
    const found = await new AxeBuilder({ page })
      .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
      .analyze();
    expect(found.violations.map((one) => one.id)).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(
      0,
    );
  });

test('beside a reading of that scanner stands what it may be', async ({ page }) => {
  const reading = entry('17:50', 'reading', {
    result: 'exact',
    volumeMl: 300,
    relation: 'no-void',
    doubts: [],
    scanner: 'a',
  });
  await openWard(page, '#/patient/p-4', { entries: [...wardEntries, ...drained, reading] });
  await expect(page.getByRole('row', { name: /17:50/ })).toContainText(
    /Scanner A reads about \d+ % low \(\d+ % to \d+ %, [89] pairs\): it may be about 3[2-5]\d mL\./,
  );
});
