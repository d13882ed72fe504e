// Proves     the patient's page says how often the forecast was right and why it says what it says, by key and by thumb; the
//            unit page shows the misses, and lets a specialist nurse sign for the range of a row and take it back.
// Published  none; the figures are this made-up ward's.
// Tolerance  exact words; targets at least 48 px.
import { AxeBuilder } from '@axe-core/playwright';
import { expect, test, type Page } from '@playwright/test';
import type { Directory, Entry, Lengthening } from '@ebbline/core/record';
import { entry } from '../src/features/patient/testing/worked-patient.ts';
import { directory, openWard, wardEntries } from './entry-ward.ts';

test.use({ serviceWorkers: 'block' });

const clock = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;

/** So many people of the ward, each read five times from 08:00 on: four pairs each, of which one person's last is far off. */
function measured(count: number): readonly Entry[] {
  const entries: Entry[] = [];
  for (let one = 0; one < count; one += 1) {
    const patient = `m-${one}`;
    const add = (made: Entry): void =>
      void entries.push({
        ...made,
        patient,
        id: made.id.slice(0, -4) + String(1000 + one),
      } as Entry);
    add(
      entry(clock(480), 'patient-registered', {
        familyName: `Tarn${one}`,
        givenName: 'Ole',
        ageYears: 70,
        sex: 'male',
        identifierSystem: 'urn:coast',
        identifierValue: `M-${one}`,
        ward: 'ward-six',
        bed: '9',
      }),
    );
    add(entry(clock(480), 'watch-opened', { setting: 'after-surgery', reason: `hip ${one}` }));
    for (let look = 0; look < 5; look += 1)
      add(
        entry(clock(490 + 20 * look), 'reading', {
          result: 'exact',
          volumeMl: one === 0 && look === 4 ? 1900 : 200 + 30 * look,
          relation: 'no-void',
          doubts: [],
          note: `look ${one}`,
        }),
      );
    add(entry(clock(600), 'watch-closed', { outcome: 'emptying', note: `${one}` }));
  }
  return entries;
}

async function expectAccessible(page: Page): Promise<void> {
  const found = await new AxeBuilder({ page })
    .withTags(['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'])
    .analyze();
  expect(
    found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).join(' | ')}`),
  ).toEqual([]);
}

const why = (page: Page, of: string) => page.getByRole('button', { name: `Why? ${of}` });

test('under the forecast stands how often it was right: while few, no share is said', async ({ page }) => {
  await openWard(page, '#/patient/p-4');
  await expect(page.locator('[data-hit-rate]')).toHaveText(
    /^Too few pairs to say how often it is right here \(\d so far\)\.$/,
  );
});

test('with enough pairs the share stands there with its interval', async ({ page }) => {
  await openWard(page, '#/patient/p-4', { entries: [...wardEntries, ...measured(20)] });
  await expect(page.locator('[data-hit-rate]')).toHaveText(
    /^On this ward its 90 % ranges held the measured volume \d+ of 8\d times \(\d+ %, \d+ to \d+\)\.$/,
  );
});

test('"Why?" opens the entries and the sum by keyboard, and closes again', async ({ page }) => {
  await openWard(page, '#/patient/p-4');
  const key = why(page, 'The forecast');
  await key.focus();
  await page.keyboard.press('Enter');
  const opened = page.getByRole('region', { name: 'Why: The forecast' });
  await expect(opened).toContainText('Drained at 16:10, so little was left. 2 h 20 min at about');
  await expect(opened.getByRole('row', { name: /16:10 Drained: in and out 690 mL K\.L\./ })).toBeVisible();
  await expect(
    opened.getByRole('row', { name: /15:52 Reading, after a void at least 430 mL K\.L\./ }),
  ).toBeVisible();
  await expect(opened).not.toContainText('Advised');
  await page.keyboard.press('Enter');
  await expect(opened).toHaveCount(0);
});

test('the time of a look and a late residual have their "Why?" too, each as large as a thumb', async ({
  page,
}) => {
  await openWard(page, '#/patient/p-4');
  for (const of of ['The time of this look', 'The forecast', 'The late residual of 560 mL']) {
    const box = await why(page, of).boundingBox();
    expect(Math.min(box?.width ?? 0, box?.height ?? 0), of).toBeGreaterThanOrEqual(48);
  }
  await why(page, 'The time of this look').click();
  await expect(page.getByRole('region', { name: 'Why: The time of this look' })).toContainText(
    /The time of rule S-11 is 18:55\./,
  );
  await why(page, 'The late residual of 560 mL').click();
  await expect(page.getByRole('region', { name: 'Why: The late residual of 560 mL' })).toContainText(
    'At 100 to 200 mL an hour 60 to 120 mL came in.',
  );
});

test('the question before a save says what it is held against', async ({ page }) => {
  await openWard(page, '#/entry/p-4/reading', {
    clock: '16:20',
    entries: wardEntries.filter((one) => Date.parse(one.effectiveAt) <= Date.parse('2026-05-14T16:20:00Z')),
  });
  await page.keyboard.type('650');
  await page.getByRole('button', { name: 'No void', exact: true }).click();
  await page.getByRole('button', { name: /^Save/ }).first().click();
  await why(page, 'This question').click();
  await expect(page.getByRole('region', { name: 'Why: This question' })).toContainText('690 mL');
});

for (const theme of ['light', 'night'] as const) {
  for (const [width, height] of [
    [1440, 900],
    [390, 844],
  ] as const) {
    test(`opened reasons break no rule of access and scroll nothing sideways, ${theme}, ${width} wide`, async ({
      page,
    }) => {
      await page.setViewportSize({ width, height });
      await openWard(page, '#/patient/p-4', { theme, entries: [...wardEntries, ...measured(6)] });
      await expect(page.locator('svg[data-form]')).toBeVisible();
      for (const of of ['The time of this look', 'The forecast', 'The late residual of 560 mL'])
        await why(page, of).click();
      await expectAccessible(page);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
      ).toBeLessThanOrEqual(0);
    });
  }
}

/** The same ward as a specialist nurse sees it; the record answers a signature as the server does. */
async function openUnit(page: Page, theme: 'light' | 'night' = 'light'): Promise<{ asked: unknown[] }> {
  const nora = {
    id: 'no',
    name: 'Nora Tideway',
    initials: 'N.T.',
    role: 'specialist-nurse',
    wards: ['ward-six'],
  } as const;
  let lengthening: Lengthening | undefined;
  const asked: unknown[] = [];
  await openWard(page, '#/board', { theme, entries: [...wardEntries, ...measured(32)] });
  const people = [...directory.people, nora];
  await page.addInitScript((value) => localStorage.setItem('ebbline.theme.no', value), theme);
  await page.route('**/api/me', (route) => route.fulfill({ json: nora }));
  await page.route('**/api/welcome', (route) =>
    route.fulfill({ json: { organisation: 'coast', people, demo: true } }),
  );
  await page.route('**/api/directory', (route) =>
    route.fulfill({
      json: {
        ...directory,
        people,
        wards: directory.wards.map((ward) => ({
          ...ward,
          settings: { ...ward.settings, ...(lengthening === undefined ? {} : { lengthening }) },
        })),
      } satisfies Directory,
    }),
  );
  await page.route('**/api/wards/*/lengthening', (route) => {
    const body = route.request().postDataJSON() as { may: boolean };
    asked.push(body);
    const signature = { person: nora.id, name: nora.name, role: nora.role, at: '2026-05-14T18:30:00Z' };
    lengthening = body.may
      ? { signed: signature, within: 127, pairs: 128 }
      : ({ ...lengthening, revoked: signature } as Lengthening);
    return route.fulfill({ json: { on: body.may, lengthening } });
  });
  await page.goto('/#/unit');
  await page.reload();
  await expect(page.getByRole('heading', { name: 'How often the estimate was right' })).toBeVisible();
  return { asked };
}

test('the unit page shows the misses and opens their entries', async ({ page }) => {
  await openUnit(page);
  const outside = page.getByRole('button', { name: /^Readings outside the range: \d+/ });
  await expect(outside).toBeVisible();
  await outside.click();
  await expect(page.getByRole('dialog')).toContainText('Reading 1,900 mL');
});

test('a specialist nurse signs by name and role, and takes it back', async ({ page }) => {
  const { asked } = await openUnit(page);
  const part = page.locator('[data-lengthening]');
  await expect(part).toContainText('Off. The forecast brings looks forward; it lets none wait longer.');
  await expect(part).toContainText(
    'No row of the protocol has given a range of times so far, so it changes nothing.',
  );
  await part.getByRole('button', { name: 'Sign for it' }).click();
  await page.getByRole('button', { name: 'Sign as Nora Tideway, specialist nurse' }).click();
  await expect(part).toHaveAttribute('data-lengthening', 'on');
  await expect(part).toContainText(
    'On. Signed by Nora Tideway, specialist nurse, 18:30, on 127 of 128 pairs.',
  );
  await part.getByRole('button', { name: 'Take it back' }).click();
  await expect(part).toHaveAttribute('data-lengthening', 'off');
  await expect(part).toContainText('Taken back by Nora Tideway, specialist nurse, 18:30.');
  expect(asked).toEqual([{ may: true }, { may: false }]);
});

for (const theme of ['light', 'night'] as const)
  test(`the plate of the unit page breaks no rule of access, ${theme}`, async ({ page }) => {
    for (const [width, height] of [
      [1440, 900],
      [390, 844],
    ] as const) {
      await page.setViewportSize({ width, height });
      await openUnit(page, theme);
      await page.getByRole('button', { name: 'Sign for it' }).waitFor();
      await expectAccessible(page);
      expect(
        await page.evaluate(() => document.documentElement.scrollWidth - innerWidth),
      ).toBeLessThanOrEqual(0);
    }
  });

test('nobody else is offered to sign', async ({ page }) => {
  await openWard(page, '#/unit', { entries: [...wardEntries, ...measured(32)] });
  const part = page.locator('[data-lengthening]');
  await expect(part).toContainText('A specialist nurse may sign for it.');
  await expect(part.getByRole('button')).toHaveCount(0);
});
