// Proves     the budget at the bedside in taps and keystrokes, the keyboard-only path, refusals in place, undo, drafts.
// Published  three taps for a reading with a doubt, two for a void (beside the digits): the product's own budget.
// Tolerance  exact counts.
import { expect, test, type Page } from '@playwright/test';
import { openWard, wardEntries, type Sent } from './entry-ward.ts';

// The pages are served by any static host; the ward's answers come from entry-ward.ts.
test.use({ serviceWorkers: 'block' });

/** Counts taps on anything but the pad's digits. */
function counter(page: Page): {
  tap: (name: string | RegExp, role?: 'button' | 'link') => Promise<void>;
  digits: (digits: string) => Promise<void>;
  taps: () => number;
} {
  let taps = 0;
  return {
    tap: async (name, role = 'button') => {
      taps += 1;
      await page.getByRole(role, { name }).click();
    },
    digits: async (digits) => {
      for (const digit of digits) await page.getByRole('button', { name: digit, exact: true }).click();
    },
    taps: () => taps,
  };
}

const early = wardEntries.filter((one) => Date.parse(one.effectiveAt) < Date.parse('2026-05-14T15:50:00Z'));
const nextStep = (page: Page): ReturnType<Page['locator']> => page.locator('[data-next-step]');
const kinds = (sent: Sent): readonly string[] => sent.entries.map((one) => one.kind);

test('a reading and its next step take three taps beside the digits and the doubt', async ({ page }) => {
  const sent = await openWard(page, '#/patient/p-4', { clock: '15:52', entries: early });
  const { tap, digits, taps } = counter(page);
  await tap('Record a reading', 'link');
  await digits('430');
  await page.getByRole('button', { name: 'Lower edge behind the pubic bone' }).click();
  await tap(/^After a void/);
  await tap(/^Save/);
  await expect(nextStep(page)).toContainText('Example protocol, not approved');
  await expect(page.getByText('Saved 15:52:')).toBeVisible();
  expect(taps()).toBe(3);
  await expect.poll(() => kinds(sent)).toEqual(['reading', 'step-advised']);
  const [reading, step] = sent.entries;
  expect(reading).toMatchObject({
    kind: 'reading',
    payload: { result: 'at-least', volumeMl: 430, relation: 'after-void', doubts: ['cut-below'] },
  });
  expect(step).toMatchObject({ kind: 'step-advised', payload: { becauseOf: reading?.id } });
});

test('before or after a void is never chosen for you', async ({ page }) => {
  const sent = await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
  await expect(page.getByRole('button', { name: 'Before a void', exact: true })).toHaveAttribute(
    'aria-pressed',
    'false',
  );
  await expect(page.getByRole('button', { name: /^After a void/ })).toHaveAttribute('aria-pressed', 'false');
  await page.keyboard.type('240');
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(page.getByRole('alert')).toContainText('Touch one of the keys');
  expect(sent.entries).toEqual([]);
});

test('a measured void takes two taps beside the digits, an unmeasured one two taps', async ({ page }) => {
  const sent = await openWard(page, '#/patient/p-4', { clock: '15:52', entries: early, person: 'so' });
  const measured = counter(page);
  await measured.tap('Passed', 'link');
  await measured.digits('120');
  await measured.tap(/^Save/);
  await expect(page.getByText('Saved 15:52:')).toBeVisible();
  expect(measured.taps()).toBe(2);
  const unmeasured = counter(page);
  await unmeasured.tap('Passed', 'link');
  await expect(page.getByRole('button', { name: /^Save/ })).toContainText('passed, not measured');
  await unmeasured.tap(/^Save/);
  expect(unmeasured.taps()).toBe(2);
  await expect
    .poll(() => sent.entries.filter((one) => one.kind === 'void').map((one) => one.payload))
    .toEqual([{ how: 'measured', volumeMl: 120 }, { how: 'not-measured' }]);
});

test('a drained volume takes three taps beside the digits', async ({ page }) => {
  const sent = await openWard(page, '#/patient/p-4', { clock: '16:10', entries: early });
  const { tap, digits, taps } = counter(page);
  await tap('Drained', 'link');
  await digits('690');
  await tap('In and out');
  await tap(/^Save/);
  await expect(page.getByText('Saved 16:10:')).toBeVisible();
  expect(taps()).toBe(3);
  await expect
    .poll(() => sent.entries.find((one) => one.kind === 'drained')?.payload)
    .toMatchObject({ route: 'in-out', volumeMl: 690 });
});

test('a reading is charted with the keyboard alone: digits type, Enter saves', async ({ page }) => {
  const sent = await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
  await page.keyboard.type('3410');
  await page.keyboard.press('Backspace');
  await expect(page.getByRole('status', { name: 'Reading' })).toContainText('341');
  for (let step = 0; step < 12; step += 1) {
    await page.keyboard.press('Tab');
    if ((await page.evaluate(() => document.activeElement?.textContent ?? '')).startsWith('Before a void'))
      break;
  }
  await page.keyboard.press('Enter');
  await expect(page.getByRole('button', { name: 'Before a void', exact: true })).toHaveAttribute(
    'aria-pressed',
    'true',
  );
  await page.keyboard.press('Enter');
  await expect(page.getByText('Saved 15:52:')).toBeVisible();
  await expect
    .poll(() => sent.entries[0])
    .toMatchObject({ kind: 'reading', payload: { volumeMl: 341, relation: 'before-void' } });
});

test('Escape leaves with the draft kept, also after the page is opened anew', async ({ page }) => {
  await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
  await page.keyboard.type('43');
  await page.keyboard.press('Escape');
  await expect(page).toHaveURL(/#\/patient\/p-4$/);
  await page.getByRole('link', { name: 'Record a reading' }).click();
  await expect(page.getByRole('status', { name: 'Reading' })).toContainText('43');
  await page.reload();
  await expect(page.getByRole('status', { name: 'Reading' })).toContainText('43');
});

for (const [typed, found] of [
  ['4500', '4500 mL'],
  ['-5', '-5 mL'],
  ['43,5', '"43,5"'],
] as const) {
  test(`${typed} is refused in place: what was found, what is allowed, what to do`, async ({ page }) => {
    const sent = await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
    await page.keyboard.type(typed);
    await page.getByRole('button', { name: 'No void' }).click();
    await page.getByRole('button', { name: /^Save/ }).click();
    const alert = page.getByRole('alert');
    await expect(alert).toContainText(found);
    await expect(alert).toContainText(/allowed is/);
    expect(sent.entries).toEqual([]);
    await page.keyboard.press('Delete');
    await expect(alert).toHaveCount(0);
  });
}

test('a reading of tomorrow is refused', async ({ page }) => {
  const sent = await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
  await page.keyboard.type('300');
  await page.getByRole('button', { name: 'No void' }).click();
  await page.getByRole('button', { name: /now · change/ }).click();
  await page.getByLabel('Day').selectOption({ label: 'tomorrow' });
  await page.getByLabel('or at').fill('09:00');
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(page.getByRole('alert')).toContainText('Check the day and the hour');
  expect(sent.entries).toEqual([]);
});

test('an impossible sum is asked about, names the sum, and can be saved as it stands with one tap', async ({
  page,
}) => {
  const sent = await openWard(page, '#/entry/p-4/reading', { clock: '16:20' });
  await page.keyboard.type('650');
  await page.getByRole('button', { name: 'No void' }).click();
  await page.getByRole('button', { name: /^Save/ }).click();
  await expect(page.getByRole('alert')).toContainText('690 mL');
  expect(sent.entries).toEqual([]);
  await page.getByRole('button', { name: 'Save as it stands' }).click();
  await expect.poll(() => sent.entries[0]).toMatchObject({ kind: 'reading', payload: { volumeMl: 650 } });
});

test('undo within ten seconds withdraws every entry of the save and leaves them visible', async ({
  page,
}) => {
  const sent = await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
  await page.keyboard.type('240');
  await page.getByRole('button', { name: 'No void' }).click();
  await page.getByRole('button', { name: /^Save/ }).click();
  await page.getByRole('button', { name: /^Undo/ }).click();
  await expect(page.getByText(/Taken back/)).toBeVisible();
  await expect.poll(() => kinds(sent).filter((kind) => kind === 'withdrawn').length).toBe(2);
  await page.getByRole('link', { name: 'Record', exact: true }).click();
  await expect(page.locator('[data-standing="withdrawn"]')).toHaveCount(2);
});

test('undo is gone after ten seconds', async ({ page }) => {
  await openWard(page, '#/entry/p-4/void', { clock: '15:52', entries: early });
  await page.keyboard.type('90');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('button', { name: /^Undo/ })).toBeVisible();
  await page.clock.runFor(11_000);
  await expect(page.getByRole('button', { name: /^Undo/ })).toHaveCount(0);
});

test('Save stands on the other side when a person wants it so', async ({ page }) => {
  await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
  const left = async (): Promise<number> =>
    (await page.getByRole('button', { name: /^Save (enter|first)/ }).boundingBox())?.x ?? -1;
  const before = await left();
  await page.getByRole('button', { name: 'Put Save on the left' }).click();
  expect(await left()).toBeLessThan(before);
  await page.reload();
  await expect(page.getByRole('button', { name: 'Put Save on the right' })).toBeVisible();
});

test('every key is at least 48 pixels high and wide, on a phone and on a tablet', async ({ page }) => {
  for (const [width, height, digit] of [
    [390, 844, 58],
    [820, 1180, 78],
  ] as const) {
    await page.setViewportSize({ width, height });
    await openWard(page, '#/entry/p-4/reading', { clock: '15:52', entries: early });
    const small = await page.locator('[data-form] button, [data-form] select').evaluateAll((all) =>
      all.flatMap((one) => {
        const { width: wide, height: high } = one.getBoundingClientRect();
        return wide < 48 || high < 47.5
          ? [`${one.textContent ?? ''} ${Math.round(wide)} × ${Math.round(high)}`]
          : [];
      }),
    );
    expect(small).toEqual([]);
    const box = await page.getByRole('button', { name: '5', exact: true }).boundingBox();
    expect(Math.round(box?.height ?? 0)).toBeGreaterThanOrEqual(digit);
  }
});
