// Proves     somebody who covers elsewhere opens a patient of another ward by ward, bed and reason, and sees that record;
//            before that nothing of it is there; without the network it says so
// Published  none
// Tolerance  exact
import { expect, test } from '@playwright/test';
import { boardIsShown, chooseTheme, expectNoViolations, people, signIn } from './ward.ts';

for (const theme of ['light', 'night'] as const)
  test(`a patient of another ward is opened by ward, bed and reason, ${theme}`, async ({ page }) => {
    // What one has opened stays open for an hour: each comes as somebody else.
    const person = theme === 'light' ? people.second : people.third;
    test.setTimeout(60_000);
    await chooseTheme(page, theme, person);
    if (theme === 'night') await page.setViewportSize({ width: 390, height: 844 });
    await signIn(page, person);
    await boardIsShown(page);
    await page.evaluate(() => {
      location.hash = '#/patient/patient-stroke';
    });
    await expect(page.getByText('Nobody by that name is kept on this tablet')).toBeVisible();
    await page.getByRole('link', { name: 'Another ward’s patient' }).click();
    const open = page.getByRole('button', { name: /^Open/ });
    await expect(open).toBeDisabled();
    await page.getByLabel('Ward', { exact: true }).selectOption('ward-tern');
    await page.getByLabel('Bed').selectOption('patient-stroke');
    await page.getByLabel('Why').selectOption({ label: 'I cover this ward' });
    await expectNoViolations(page);
    await open.click();
    await expect(page).toHaveURL(/#\/patient\/patient-stroke$/, { timeout: 20_000 });
    await expect(page.getByText(/Opened from another ward until/).first()).toBeVisible();
  });
