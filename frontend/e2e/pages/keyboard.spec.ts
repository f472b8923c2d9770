import { expect, test, type Page } from '@playwright/test';
import { clip } from './clips';
import { sentClip } from './sent';
import { as, enrolled, hired, PASSWORD, SCHOOL } from './support';

const student = `imre@${SCHOOL}.example`;

/** Tabs on until what has the focus answers to this name. */
async function tabTo(page: Page, name: RegExp, most = 60): Promise<void> {
  for (let i = 0; i < most; i++) {
    await page.keyboard.press('Tab');
    const focus = await page.evaluate(() => {
      const element = document.activeElement;
      return element?.getAttribute('aria-label') ?? element?.textContent?.trim() ?? '';
    });
    if (name.test(focus)) return;
  }
  throw new Error(`no tab stop called ${name}`);
}

/** Whether what has the focus shows it (WCAG 2.2, 2.4.7). */
function focusShows(page: Page): Promise<boolean> {
  return page.evaluate(() => {
    const style = getComputedStyle(document.activeElement as Element);
    return style.outlineStyle !== 'none' && Number.parseFloat(style.outlineWidth) >= 2;
  });
}

test('signs in, is sent back to the page asked for, and signs out, by keyboard', async ({ page }) => {
  await page.goto(`/in/${SCHOOL}?to=/archive`);
  await page.getByLabel('Mail address').focus();
  await page.keyboard.type(`tobi@${SCHOOL}.example`);
  await page.keyboard.press('Tab');
  await page.keyboard.type('not this');
  await page.keyboard.press('Enter');
  await expect(page.getByRole('alert')).not.toBeEmpty();
  await page.getByLabel('Password').fill('');
  await page.keyboard.type(PASSWORD);
  await page.keyboard.press('Enter');
  await page.waitForURL((url) => url.pathname === '/archive');

  await page.goto('/you');
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
  await tabTo(page, /^Sign out here$/);
  expect(await focusShows(page)).toBe(true);
  await page.keyboard.press('Enter');
  await page.waitForURL(`**/in/${SCHOOL}`);
  await page.goto('/shots');
  await page.waitForURL(/\/in\/lamplighter\?to=%2Fshots/);
});

test('the first tab stop skips to the page', async ({ browser }) => {
  const page = await as(browser, student);
  await page.goto('/shots');
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
  await page.keyboard.press('Tab');
  await expect(page.getByRole('link', { name: 'Skip to the page' })).toBeFocused();
  await page.keyboard.press('Enter');
  await expect(page.locator('#main')).toBeFocused();
  await page.context().close();
});

test('Enter on the desk opens the first submission, its marks hidden until the opening is left', async ({
  browser,
}) => {
  // Nobody else's submissions come between.
  const teacher = await hired(browser, 'berit', 'Berit Holm');
  const sender = await as(browser, await enrolled(browser, 'noor', 'Noor Haddad', teacher));
  await sentClip(sender, 'Bucket and rope', clip('bucket.mp4', { frames: 24 }));
  await sender.context().close();
  const page = await as(browser, teacher);
  await page.goto('/desk');
  await expect(page.getByText('opens the first')).toBeVisible();
  await page.keyboard.press('Enter');
  await page.waitForURL(/\/critique\//);
  // The marks wait for the first play, unless the mentor goes straight to the notes.
  const hidden = page.getByRole('button', { name: 'marks hidden' });
  await expect(hidden).toBeVisible();
  await page
    .getByRole('button', { name: /all notes|carried/ })
    .first()
    .click();
  await expect(hidden).toHaveCount(0);
  await page.context().close();
});

test('a mark of the refrain leads to its frames in the critique', async ({ browser }) => {
  const page = await as(browser, student);
  await page.goto('/refrain');
  await expect(page.getByRole('table')).toBeVisible();
  await tabTo(page, /^r\d+: .*frames?/);
  expect(await focusShows(page)).toBe(true);
  await page.keyboard.press('Enter');
  await page.waitForURL(/\/read\/[^?]+\?note=./);
  await page.context().close();
});
