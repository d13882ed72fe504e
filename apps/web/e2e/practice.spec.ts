// Proves     a person outlines a simulated bladder and sees where and by how much they were off; judges pictures and sees
//            what was true and what shows it; both results reach the record and are there after the page was closed; axe in
//            both themes; nothing scrolls sideways on a telephone.
// Published  none: the pictures are simulated
// Tolerance  exact
import { expect, test, type Page } from '@playwright/test';
import { openWard } from './entry-ward.ts';
import { expectNoViolations, people, signIn } from './ward.ts';

test.setTimeout(90_000);

const sizes = { desktop: { width: 1440, height: 900 }, telephone: { width: 390, height: 844 } } as const;
const made = { timeout: 40_000 };

const fitsAcross = async (page: Page): Promise<void> =>
  expect(
    await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
  ).toBeLessThanOrEqual(0);

/** Draws an ellipse on the plane that is shown, through two points given as shares of the picture. */
async function drawEllipse(
  page: Page,
  from: readonly [number, number],
  to: readonly [number, number],
): Promise<void> {
  await page.getByRole('button', { name: 'Draw this plane' }).click();
  for (const [across, down] of [from, to]) {
    const surface = page.locator('[data-picker]');
    const box = await surface.boundingBox();
    if (!box) throw new Error('no picture');
    await surface.click({ position: { x: across * box.width, y: down * box.height } });
  }
}

test.describe('on a made-up ward', () => {
  test.use({ serviceWorkers: 'block' });

  for (const [size, theme] of [
    ['desktop', 'light'],
    ['telephone', 'night'],
  ] as const) {
    test(`a bladder is outlined by hand and held against the true one, ${size}, ${theme}`, async ({
      page,
    }) => {
      await page.setViewportSize(sizes[size]);
      const sent = await openWard(page, '#/practice/trace/plain/41', { theme });
      await expect(page.getByRole('progressbar', { name: 'Making the pictures' })).toBeVisible();
      const planes = page.getByRole('list', { name: 'Planes' }).getByRole('button');
      await expect(planes).toHaveCount(4, made);
      const finish = page.getByRole('button', { name: /planes still to do|show where I was off/ });
      await expect(finish).toBeDisabled();
      await drawEllipse(page, [0.38, 0.45], [0.62, 0.45]);
      for (const plane of [2, 3]) {
        await planes.nth(plane - 1).click();
        await page.getByRole('button', { name: 'Take the outline of plane' }).click();
      }
      await planes.nth(3).click();
      await page.getByRole('button', { name: 'No bladder on this plane' }).click();
      await expectNoViolations(page);
      await fitsAcross(page);
      await finish.click();
      const result = page.getByRole('region', { name: 'How far off you were' });
      await expect(result).toContainText(/You outlined \d+ mL \(\d+ %\) too (little|much)/);
      await expect(page.getByRole('row', { name: /^4 / })).toContainText('was not outlined');
      await expect(page.getByRole('row', { name: /^1 / })).toContainText('mm off on average');
      await expect(page.locator('[data-band="in"]')).toHaveAttribute('d', /^M/);
      await expect(page.locator('[data-true] path').first()).toHaveAttribute('d', /^M/);
      await expect(page.getByText('no competence by itself')).toBeVisible();
      await expectNoViolations(page);
      await fitsAcross(page);
      await expect.poll(() => sent.entries[0]?.kind).toBe('practised');
      expect(sent.entries[0]?.patient).toBe('practice:kl');
      const payload = sent.entries[0]?.payload as { trueMl: number; outlinedMl: number };
      expect(payload).toMatchObject({
        exercise: 'trace',
        level: 'plain-view',
        seed: 41,
        start: 'from-nothing',
        planesMissed: 1,
      });
      expect(payload.trueMl).toBeGreaterThan(100);
      expect(payload.outlinedMl).not.toBe(payload.trueMl);
    });

    test(`pictures are judged, ${size}, ${theme}`, async ({ page }) => {
      await page.setViewportSize(sizes[size]);
      // By its number this one is cut by the edge of the picture.
      const sent = await openWard(page, '#/practice/judge/any/3', { theme });
      await expect(page.getByRole('list', { name: 'Planes' }).getByRole('button').first()).toBeVisible(made);
      const show = page.getByRole('button', { name: 'Show what is true' });
      const answer = (question: string, word: string) =>
        page.getByRole('group', { name: question }).getByRole('button', { name: word, exact: true });
      await expect(show).toBeDisabled();
      await answer('Is a bladder with urine in these pictures?', 'Yes').click();
      await answer('Is the whole of it in view?', 'No').click();
      await answer('What hides a part of it?', 'a shadow').click();
      await expect(show).toBeDisabled();
      await answer('Is other fluid in view, as wide as a finger or more?', 'No').click();
      await expectNoViolations(page);
      await fitsAcross(page);
      await show.click();
      const result = page.getByRole('region', { name: 'What was true' });
      await expect(result).toContainText('3 of 4 right. It was: cut by the edge of the picture');
      await expect(result).toContainText('you said a shadow; true is: the edge of the picture.');
      await expect(result).toContainText(/The dark runs on to the (left|right|lower) edge of plane \d/);
      await expectNoViolations(page);
      await fitsAcross(page);
      await expect.poll(() => sent.entries[0]?.kind).toBe('practised');
      expect(sent.entries[0]?.payload).toMatchObject({
        exercise: 'judge',
        level: 'cut-by-edge',
        judgedRight: ['bladder-there', 'whole-in-view', 'other-fluid'],
        judgedWrong: ['what-hides'],
      });
    });
  }

  test("the program's outlines can be put right instead", async ({ page }) => {
    const sent = await openWard(page, '#/practice/trace/plain/41');
    await expect(page.getByRole('list', { name: 'Planes' }).getByRole('button')).toHaveCount(4, made);
    await page.getByRole('button', { name: "Put the program's outlines right instead" }).click();
    const finish = page.getByRole('button', { name: 'Done: show where I was off' });
    await expect(finish).toBeEnabled(made);
    await finish.click();
    await expect.poll(() => sent.entries[0]?.payload).toMatchObject({ start: 'from-the-program' });
  });
});

test('a result is there after the page was closed, for who practised and for the assessor, and for nobody else', async ({
  page,
}) => {
  await signIn(page, people.third, '#/practice');
  await expect(page.getByRole('heading', { level: 1, name: 'Practice on simulated pictures' })).toBeVisible();
  await expectNoViolations(page);
  await page.evaluate(() => {
    location.hash = '#/practice/judge/two/12';
  });
  await expect(page.getByRole('list', { name: 'Planes' }).getByRole('button').first()).toBeVisible(made);
  for (const [question, word] of [
    ['Is a bladder with urine in these pictures?', 'Yes'],
    ['Is the whole of it in view?', 'Yes'],
    ['Is other fluid in view, as wide as a finger or more?', 'No'],
  ] as const)
    await page
      .getByRole('group', { name: question })
      .getByRole('button', { name: word, exact: true })
      .click();
  await page.getByRole('button', { name: 'Show what is true' }).click();
  await expect(page.getByText('kept for you and your assessor')).toBeVisible();
  await page.goto('about:blank');
  await page.goto('/#/practice');
  const row = page.getByRole('row', { name: /\(12\)/ });
  await expect(row).toContainText('Judge the pictures');
  const id = await row.getAttribute('data-result');

  // Kept by the server too, and handed to nobody through the ward's record.
  const read = (path: string): Promise<string> =>
    page.evaluate(async (from) => await (await fetch(from)).text(), path);
  expect(await read('/api/practice')).toContain(id);
  expect(await read('/api/entries?limit=2000')).not.toContain(id);
  const other = await page.context().browser()?.newContext();
  if (!other) throw new Error('no browser');
  const second = await other.newPage();
  await signIn(second, 'mads-oakley', '#/practice');
  await expect(second.getByRole('row', { name: /\(12\)/ })).toContainText('Bram Sorrel');
  const third = await (await page.context().browser()?.newContext())?.newPage();
  if (!third) throw new Error('no browser');
  await signIn(third, people.second, '#/practice');
  await expect(third.getByText('None yet. Choose an exercise above.')).toBeVisible();
});

test('an exercise is made, done and kept without the network', async ({ page, context }) => {
  await signIn(page, people.nurse);
  await page.evaluate(async () => {
    await navigator.serviceWorker.ready;
  });
  await context.setOffline(true);
  await page.evaluate(() => {
    location.hash = '#/practice/judge/two/77';
  });
  await expect(page.getByRole('list', { name: 'Planes' }).getByRole('button').first()).toBeVisible(made);
  await page
    .getByRole('group', { name: 'Is a bladder with urine in these pictures?' })
    .getByRole('button', { name: 'No', exact: true })
    .click();
  await page
    .getByRole('group', { name: 'Is other fluid in view' })
    .getByRole('button', { name: 'No', exact: true })
    .click();
  await page.getByRole('button', { name: 'Show what is true' }).click();
  await page.getByRole('link', { name: 'All exercises' }).click();
  await expect(page.getByRole('row', { name: /\(77\)/ })).toContainText('right');
  await expect(page.getByText('what was done on other tablets is missing here')).toBeVisible();
  await context.setOffline(false);
  await expect
    .poll(() => page.evaluate(async () => await (await fetch('/api/practice')).text()), { timeout: 30_000 })
    .toContain('"seed":77');
});
