import { expect, test, type Browser, type Page } from '@playwright/test';
import { breakDecoderAfter, WITHOUT_DECODER } from '../frametrue/decoders';
import { clip } from './clips';
import { FrameReader, saved, toSheet, writeNote } from './critique';
import { openedBy, sentClip } from './sent';
import { as, mentor, PASSWORD, SCHOOL } from './support';

const student = `imre@${SCHOOL}.example`;
let critique = '';

test.beforeAll(async ({ browser }) => {
  const sender = await as(browser, student);
  const submission = await sentClip(sender, 'Wheelbarrow', clip('wheelbarrow.mp4', { frames: 96 }));
  await sender.context().close();
  const opener = await as(browser, mentor);
  critique = await openedBy(opener, submission);
  await opener.context().close();
});

/** The critique page with its sheet in hand. */
async function atTheSheet(browser: Browser, script?: string): Promise<Page> {
  const page = await as(browser, mentor);
  if (script) await page.addInitScript(script);
  await page.goto(critique);
  await toSheet(page);
  return page;
}

/** The words of every note as the server has them. */
async function wordsKept(page: Page): Promise<string[]> {
  const answer = await page.request.get(`/api/v1/critiques/${critique.split('/').at(-1)}`);
  return ((await answer.json()) as { notes: { words: string }[] }).notes.map((note) => note.words);
}

test('a note written while the line is cut for a minute arrives, though the page was reloaded meanwhile', async ({
  browser,
}) => {
  const page = await atTheSheet(browser);
  await page.keyboard.press('d');
  await page.keyboard.press('f');
  await page.keyboard.type('The barrow ');
  await saved(page);
  await page.context().setOffline(true);
  const cut = Date.now();
  await page.keyboard.type('tips before the weight is over the wheel.');
  await expect(page.getByText(/no connection; 1 change kept here/)).toBeVisible({ timeout: 30_000 });
  await page.waitForTimeout(60_000 - (Date.now() - cut));
  await page.reload().catch(() => {
    // Nothing answers: the browser shows a page of its own.
  });
  expect(await page.locator('[data-saving]').count()).toBe(0);
  await page.context().setOffline(false);
  await page.goto(critique);
  await saved(page);
  expect(await wordsKept(page)).toContain('The barrow tips before the weight is over the wheel.');
  await page.context().close();
});

test('of two windows the older one is told, and nothing is lost', async ({ browser }) => {
  const older = await atTheSheet(browser);
  await older.keyboard.press('d');
  await writeNote(older, { words: 'The handles part from the hands.', kind: 'fix' });
  await saved(older);
  const newer = await older.context().newPage();
  await newer.goto(critique);
  const all = (page: Page) => page.getByRole('button', { name: /all notes|carried/ });
  await all(newer).click();
  await newer
    .getByRole('button', { name: /The handles part/ })
    .last()
    .click();
  await newer.getByLabel('Words').fill('The handles leave the hands on the second step.');
  await saved(newer);

  await older.bringToFront();
  await older.keyboard.press('Enter');
  await older.getByLabel('Words').fill('The handles part from the hands, twice.');
  const told = older.getByRole('region', { name: 'Changed in another window' });
  await expect(told).toContainText('The handles part from the hands, twice.', { timeout: 30_000 });
  await expect(told).toContainText('The handles leave the hands on the second step.');
  expect(await wordsKept(older)).toContain('The handles leave the hands on the second step.');

  // Not even a reload decides for the person.
  await older.reload();
  await expect(told).toContainText('twice.', { timeout: 30_000 });
  await told.getByRole('button', { name: 'keep what is here' }).click();
  await saved(older);
  expect(await wordsKept(older)).toContain('The handles part from the hands, twice.');
  await older.context().close();
});

/** Reads frames in every way, and all of them are right. */
async function readsTrue(page: Page): Promise<void> {
  const reader = new FrameReader(page);
  await reader.step('d', 1, 5);
  await reader.step('a', -1, 3);
  await reader.random(8);
  expect(reader.wrong).toEqual([]);
}

test('a browser without a frame decoder is told so, and shows the right frames', async ({ browser }) => {
  const page = await atTheSheet(browser, WITHOUT_DECODER);
  await expect(page.getByText('This browser has no frame decoder.')).toBeVisible();
  await readsTrue(page);
  await page.context().close();
});

test('a decoder that dies mid-shot is replaced, and the page says so', async ({ browser }) => {
  const page = await atTheSheet(browser, breakDecoderAfter(30));
  await expect(page.getByText(/frame decoder/)).toHaveCount(0);
  await readsTrue(page);
  await expect(page.getByText('The frame decoder failed.')).toBeVisible();
  await readsTrue(page);
  await page.context().close();
});

test('over plain http away from this machine the page says what is missing, and shows the right frames', async ({
  browser,
  baseURL,
}) => {
  // Chromium is told where this name leads (playwright.config.ts); to it that is another machine.
  const elsewhere = new URL(critique, baseURL);
  elsewhere.hostname = 'refrain.example';
  const context = await browser.newContext({ baseURL: elsewhere.origin, viewport: { width: 1440, height: 900 } });
  const page = await context.newPage();
  await page.goto(`${elsewhere.origin}/in/${SCHOOL}?to=${encodeURIComponent(critique)}`);
  await page.getByLabel('Mail address').fill(mentor);
  await page.getByLabel('Password').fill(PASSWORD);
  await page.getByRole('button', { name: 'Sign in' }).click();
  await page.waitForURL(`**${critique}`);
  expect(await page.evaluate(() => isSecureContext)).toBe(false);
  await expect(page.getByText('This address is not secure (https)')).toBeVisible();
  await toSheet(page);
  await readsTrue(page);
  await context.close();
});
