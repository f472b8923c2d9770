import { expect, test, type Browser, type Page } from '@playwright/test';
import { as, complaints, mentor, office, overflow, SCHOOL, violations } from './support';

const student = `imre@${SCHOOL}.example`;
// 720 px is 1440 px at 200 % (WCAG 2.2, 1.4.4). axe looks at the two ends: between them only the widths of columns differ.
const widths = [1440, 1024, 720, 360];
const looked = new Set([1440, 360]);

const tours: [who: string | null, pages: [path: string, heading: RegExp][]][] = [
  [
    null,
    [
      [`/in/${SCHOOL}`, /Lamplighter Yard/],
      ['/in/nowhere', /No school/],
      [`/forgot/${SCHOOL}`, /new password/],
      ['/link/spent', /link/],
    ],
  ],
  [
    mentor,
    [
      ['/desk', /Desk/],
      ['/roster', /Roster/],
      ['/archive', /Archive/],
      ['/you', /Maren/],
    ],
  ],
  [
    student,
    [
      ['/shots', /My shots/],
      ['/send', /Send a shot/],
      ['/refrain', /./],
      ['/archive', /Archive/],
    ],
  ],
  [
    office,
    [
      ['/office', /People/],
      ['/office/courses', /Courses/],
      ['/office/enrol', /Enrolling/],
      ['/roster', /Roster/],
      ['/nowhere', /no page/],
    ],
  ],
];

/** A page that says what it is, in a language it names, inside its window, and without a fault axe can find. */
async function sound(page: Page, heading: RegExp, width: number): Promise<void> {
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(heading);
  await page.waitForLoadState('networkidle');
  await expect(page).toHaveTitle(/Refrain/);
  expect(await page.evaluate(() => document.documentElement.lang)).toBe('en');
  expect(await overflow(page), 'reaches beyond the window').toBeLessThanOrEqual(0);
  if (looked.has(width)) expect(await violations(page)).toEqual([]);
}

async function visitor(browser: Browser, who: string | null, width: number): Promise<Page> {
  if (who) return as(browser, who, width);
  return (await browser.newContext({ viewport: { width, height: 900 } })).newPage();
}

for (const [who, pages] of tours)
  for (const width of widths)
    test(`pages of ${who ?? 'anyone'}, ${width} px wide`, async ({ browser }) => {
      const page = await visitor(browser, who, width);
      const said = complaints(page);
      for (const [path, heading] of pages)
        await test.step(path, async () => {
          await page.goto(path);
          await sound(page, heading, width);
        });
      // The statuses asked for on purpose: nobody, no such school, a spent link.
      expect(said.filter((line) => !/status of (401|404|410)/.test(line))).toEqual([]);
      await page.context().close();
    });

for (const width of widths)
  test(`a shot, and a student seen by the mentor, ${width} px wide`, async ({ browser }) => {
    const page = await as(browser, student, width);
    await page.goto('/shots');
    await page.getByRole('heading', { level: 3 }).first().getByRole('link').click();
    await page.waitForURL(/\/shots\/./);
    await sound(page, /./, width);
    await page.context().close();

    const seen = await as(browser, mentor, width);
    await seen.goto('/roster');
    await seen.getByRole('rowheader').first().getByRole('link').click();
    await seen.waitForURL(/\/refrain\?student=/);
    await sound(seen, /./, width);
    await seen.context().close();
  });
