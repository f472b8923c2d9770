import { expect, test, type Page } from '@playwright/test';
import { as, complaints, mentor, office, overflow, SCHOOL, violations } from './support';

const student = `imre@${SCHOOL}.example`;
// 720 px is 1440 px at 200 % (WCAG 2.2, 1.4.4).
const widths = [1440, 1024, 720, 360];

const pages: [who: string | null, path: string, heading: RegExp][] = [
  [null, `/in/${SCHOOL}`, /Lamplighter Yard/],
  [null, '/in/nowhere', /No school/],
  [null, `/forgot/${SCHOOL}`, /new password/],
  [null, '/link/spent', /link/],
  [mentor, '/desk', /Desk/],
  [mentor, '/roster', /Roster/],
  [mentor, '/archive', /Archive/],
  [mentor, '/you', /Maren/],
  [student, '/shots', /My shots/],
  [student, '/send', /Send a shot/],
  [student, '/refrain', /./],
  [student, '/archive', /Archive/],
  [office, '/office', /People/],
  [office, '/office/courses', /Courses/],
  [office, '/office/enrol', /Enrolling/],
  [office, '/roster', /Roster/],
  [office, '/nowhere', /no page/],
];

async function sound(page: Page, heading: RegExp): Promise<void> {
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(heading);
  await page.waitForLoadState('networkidle');
  await expect(page).toHaveTitle(/Refrain/);
  expect(await page.evaluate(() => document.documentElement.lang)).toBe('en');
  expect(await overflow(page), 'reaches beyond the window').toBeLessThanOrEqual(0);
  expect(await violations(page)).toEqual([]);
}

for (const [who, path, heading] of pages) {
  test(`${path} for ${who ?? 'anyone'} at every width`, async ({ browser }) => {
    for (const width of widths) {
      const page = who ? await as(browser, who, width) : await anyone(browser, width);
      const said = complaints(page);
      await page.goto(path);
      await sound(page, heading);
      expect(said.filter((line) => !/40[134]|410/.test(line))).toEqual([]);
      await page.context().close();
    }
  });
}

async function anyone(browser: import('@playwright/test').Browser, width: number): Promise<Page> {
  const context = await browser.newContext({ viewport: { width, height: 900 } });
  return context.newPage();
}

test('a shot, and a student seen by the mentor, at every width', async ({ browser }) => {
  for (const width of widths) {
    const page = await as(browser, student, width);
    await page.goto('/shots');
    await page.getByRole('heading', { level: 3 }).first().getByRole('link').click();
    await page.waitForURL(/\/shots\/./);
    await sound(page, /./);
    await page.context().close();

    const seen = await as(browser, mentor, width);
    await seen.goto('/roster');
    await seen.getByRole('rowheader').first().getByRole('link').click();
    await seen.waitForURL(/\/refrain\?student=/);
    await sound(seen, /./);
    await seen.context().close();
  }
});
