import { expect, test } from '@playwright/test';
import { as, mentor, SCHOOL } from './support';

const student = `imre@${SCHOOL}.example`;
const other = `tobi@${SCHOOL}.example`;

test('finds words of a note for the mentor and its student, and for nobody else', async ({ browser }) => {
  const own = await as(browser, student);
  await own.goto('/archive');
  const first = own.getByRole('list', { name: 'Hits' }).getByRole('listitem').first();
  const said = (await first.getByRole('link').first().textContent()) ?? '';
  const words = said
    .split(/\W+/)
    .filter((word) => word.length > 4)
    .slice(0, 3)
    .join(' ');
  expect(words).not.toBe('');
  const shot = (await first.locator('.from p').first().textContent())?.replace(/\s*r\d+$/, '') ?? '';

  await own.getByRole('searchbox').fill(words);
  await expect(own.getByRole('status')).toContainText(/hit/);
  await expect(own.getByRole('listitem').first().locator('mark').first()).toBeVisible();
  await own.getByRole('list', { name: 'Hits' }).getByRole('link').first().click();
  await own.waitForURL(/\/read\/[^?]+\?note=/);
  await own.context().close();

  const teaches = await as(browser, mentor);
  await teaches.goto(`/archive?q=${encodeURIComponent(words)}`);
  await expect(teaches.getByRole('list', { name: 'Hits' })).toContainText(shot);
  await teaches.context().close();

  const stranger = await as(browser, other);
  await stranger.goto(`/archive?q=${encodeURIComponent(`"${words}"`)}`);
  await stranger.waitForLoadState('networkidle');
  await expect(stranger.getByText(shot, { exact: true })).toHaveCount(0);
  await stranger.context().close();
});
