import { expect, test, type Page } from '@playwright/test';
import { clip } from './clips';
import { frameAsked, release, saved, toSheet } from './critique';
import { begunShot, openedBy, released, sentRevision } from './sent';
import { as, complaints, enrolled, mentor, overflow, picture, violations } from './support';

// One story: each test goes on where the one before ended.
test.describe.configure({ mode: 'serial' });

let page: Page;
let said: string[] = [];

const FRAMES = 36;
const WRIST = 'The left wrist pops over one frame.';
const BIGGER = 'The left arm swing is too small, push it bigger.';

test.beforeAll(async ({ browser }) => {
  const student = await as(browser, await enrolled(browser, 'kesi', 'Kesi Arnholt'));
  const teaches = await as(browser, mentor);
  const made = clip('barrel.mp4', { frames: FRAMES });
  const shot = await begunShot(student, 'Barrel down the ramp');
  const first = await openedBy(teaches, await sentRevision(student, shot, made));
  await released(teaches, first, [
    { words: WRIST, span: { start: 4, end: 6 }, principles: ['spacing'], parts: [{ part: 'wrist', side: 'left' }] },
    { words: BIGGER, span: { start: 10, end: 18 }, principles: ['posing'], parts: [{ part: 'arm', side: 'left' }] },
  ]);
  const second = await openedBy(teaches, await sentRevision(student, shot, made));
  await student.context().close();
  await teaches.context().close();
  page = await as(browser, mentor);
  said = complaints(page);
  await page.goto(second);
  await toSheet(page);
});
test.afterAll(async () => {
  await page.context().close();
});

async function goTo(frame: number): Promise<void> {
  for (let now = await frameAsked(page); now !== frame; now = await frameAsked(page))
    await page.keyboard.press(now < frame ? 'd' : 'a');
}

const suggested = () => page.getByRole('group', { name: 'Suggested' });
const words = () => page.getByLabel('Words');

async function shoot(name: string): Promise<void> {
  for (const width of [1440, 1024]) {
    await page.setViewportSize({ width, height: 900 });
    await picture(page, `${name}-${width}`, false);
    expect(await overflow(page), `${name} reaches beyond the window`).toBeLessThanOrEqual(0);
  }
  await page.setViewportSize({ width: 1440, height: 900 });
  expect(await violations(page), name).toEqual([]);
}

test('what is typed is read, and one key takes all of it', async () => {
  // With a concern on the slip a new note on its frames would be tied to it already.
  await page.getByRole('button', { name: '2 carried, 0 judged' }).click();
  await page.locator('#sheet').focus();
  await goTo(5);
  await page.keyboard.press('f');
  await expect(words()).toBeFocused();
  const before = await words().boundingBox();
  await page.keyboard.type('The left wrist still pops here, this one is a must.');
  await expect(suggested().getByRole('button', { name: 'Take part: left wrist' })).toBeVisible();
  const tie = suggested().getByRole('button', { name: /^Take the same as: r1 still there: The left wrist pops/ });
  await expect(tie).toContainText('still there');
  await expect(tie).toContainText('overlapping frames');
  expect(await words().boundingBox(), 'what is being typed stays where it is').toEqual(before);
  await shoot('suggested');

  await page.keyboard.press('Control+Enter');
  await expect(suggested()).toBeHidden();
  await expect(words()).toBeFocused();
  await expect(page.getByRole('button', { name: 'Remove spacing' })).toBeVisible();
  await expect(page.getByRole('button', { name: 'Remove left wrist' })).toBeVisible();
  await expect(page.getByRole('radio', { name: 'must' })).toBeChecked();
  await expect(page.getByLabel('the same as').locator('option:checked')).toHaveText(/The left wrist pops/);
  await page.keyboard.type(' Two more.');
  await expect(words()).toHaveValue(/must\. Two more\.$/);
  await page.keyboard.press('Escape');
  await saved(page);
});

test('the opposite of an earlier ask is said before the note is kept, and stops nothing', async () => {
  await page
    .getByRole('button', { name: /carried/ })
    .first()
    .click();
  await page.locator('#sheet').focus();
  await goTo(14);
  await page.keyboard.press('f');
  await page.keyboard.type('The left arm swing is too big now, make it smaller.');
  const told = page.getByRole('status').filter({ hasText: 'to be bigger' });
  await expect(told).toContainText(`In r1 this was asked to be bigger: “${BIGGER}”; now smaller.`);
  await shoot('reversal');
  const keep = told.getByRole('button', { name: 'keep both' });
  for (let k = 0; k < 20 && !(await keep.evaluate((b) => b === document.activeElement)); k++)
    await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  await expect(keep).toBeHidden();
  await saved(page);
  await expect(words()).toHaveValue(/make it smaller\.$/);
});

test('without a line nothing is suggested and nothing complained about', async () => {
  await page.route('**/suggestions', (route) =>
    route.request().method() === 'POST' ? route.abort() : route.continue(),
  );
  await toSheet(page);
  await goTo(25);
  await page.keyboard.press('f');
  const failed = page.waitForEvent('requestfailed', (request) => request.url().endsWith('/suggestions'));
  await page.keyboard.type('The head pops.');
  await failed;
  await expect(suggested()).toBeHidden();
  await saved(page);
  await page.unroute('**/suggestions');
  said.splice(0, said.length, ...said.filter((line) => !/Failed to load resource/.test(line)));
});

test('the key stands in the list of keys', async () => {
  await toSheet(page);
  await page.keyboard.press('?');
  const key = page.getByRole('button', { name: /^take what is suggested; also while writing: ctrl enter/ });
  await expect(key).toBeVisible();
  await key.click();
  await page.keyboard.press('Control+Semicolon');
  await expect(page.getByRole('status').filter({ hasText: 'now ctrl ;' })).toBeVisible();
  await page.getByRole('button', { name: 'all as at first' }).click();
  await expect(page.getByRole('status').filter({ hasText: 'All keys are as at first' })).toBeVisible();
  await page.keyboard.press('Escape');
});

test('the mentor reads what became of the suggestions', async () => {
  await toSheet(page);
  await saved(page);
  await release(page);
  await page.goto('/you');
  await page.getByRole('link', { name: /How often you took/ }).click();
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('How often suggestions were taken');
  const row = (name: string) => page.getByRole('listitem').filter({ has: page.getByRole('heading', { name }) });
  await expect(row('The same as an earlier concern')).toContainText(/\d+ shown: \d+ taken/);
  await expect(row('The opposite of an earlier ask')).toContainText(/1 not taken/);
  await expect(row('The opposite of an earlier ask')).toContainText('too few to rely on');
  for (const width of [1440, 1024, 360]) {
    await page.setViewportSize({ width, height: 900 });
    await picture(page, `taken-${width}`);
    expect(await overflow(page)).toBeLessThanOrEqual(0);
    expect(await violations(page)).toEqual([]);
  }
  expect(said).toEqual([]);
});
