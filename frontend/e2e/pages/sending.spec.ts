import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test, type Page } from '@playwright/test';
import { lineOf, type Line } from './line';
import { as, mailTo, SCHOOL, violations } from './support';

const student = `yusra@${SCHOOL}.example`;
let folder = '';

test.beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'refrain-sending-'));
});
test.afterAll(() => rmSync(folder, { recursive: true }));

/** A clip of so many seconds at 24 frames a second, made by ffmpeg; noise keeps it large. */
function clip(name: string, seconds: number, noise = false): string {
  const path = join(folder, name);
  const source = noise
    ? `nullsrc=s=640x360:r=24:d=${seconds},geq=random(1)*255:128:128`
    : `testsrc2=s=640x360:r=24:d=${seconds}`;
  execFileSync('ffmpeg', [
    '-v',
    'error',
    '-y',
    '-f',
    'lavfi',
    '-i',
    source,
    '-c:v',
    'libx264',
    '-preset',
    'ultrafast',
    path,
  ]);
  return path;
}

/** Sends a file over a slow line that is cut once some of it has gone out; gives the line. */
async function cutOff(page: Page, path: string): Promise<Line> {
  const line = await lineOf(page);
  await line.slow(1_500_000);
  await page.getByLabel('A video file of the shot').setInputFiles(path);
  const sent = page.getByRole('progressbar', { name: 'Sent' });
  await expect.poll(async () => Number(await sent.getAttribute('value'))).toBeGreaterThan(0.1);
  await line.cut();
  await expect(page.getByText('The connection is gone.')).toBeVisible({ timeout: 60_000 });
  return line;
}

test('refuses what is no video, says why, and spends nothing', async ({ browser }) => {
  const page = await as(browser, student);
  await page.goto('/send');
  const text = join(folder, 'notes.mov');
  writeFileSync(text, 'This is not a picture.');
  await page.getByLabel('A video file of the shot').setInputFiles(text);
  await expect(page.getByRole('alert').filter({ hasText: 'Nothing was spent' })).toBeVisible();
  await page.getByRole('button', { name: 'Choose another file' }).click();
  await expect(page.getByLabel('A video file of the shot')).toBeVisible();
  await page.context().close();
});

test('sends a new shot through a lost connection and a reload, and takes it back', async ({ browser }) => {
  const page = await as(browser, student);
  const path = clip('long.mp4', 8, true);
  await page.goto('/send');
  const shot = page.getByLabel('Shot', { exact: true });
  if (await shot.isVisible()) await shot.selectOption('new');
  await page.getByLabel('Title of the new shot').fill('Ladder and lamp');

  // The line is slow, then gone, then back.
  const line = await cutOff(page, path);
  await line.slow(1_500_000);
  await expect(page.getByText('is on its way')).toBeVisible({ timeout: 30_000 });

  // The page is reloaded half way; the same file goes on from where it was.
  await page.reload();
  await expect(page.getByText('Choose the same file again')).toBeVisible();
  await expect(page.getByLabel('Title of the new shot')).toHaveValue('Ladder and lamp');
  await line.free();
  await page.getByLabel('long.mp4, again').setInputFiles(path);
  await expect(page.getByText('is ready: 192 frames')).toBeVisible({ timeout: 120_000 });

  // A look at it: one frame on, by key; then words, then off.
  const look = page.getByRole('group', { name: 'The shot, frame by frame' });
  await look.getByRole('slider', { name: 'Frame' }).focus();
  await page.keyboard.press('d');
  await expect(look.getByRole('slider', { name: 'Frame' })).toHaveAttribute('aria-valuetext', 'frame 2');
  expect(await violations(page)).toEqual([]);
  await page.getByLabel('blocking', { exact: true }).check();
  await page.getByLabel('In your words').fill('First pass. Does the ladder read?');
  await page.getByRole('button', { name: 'Send it' }).click();
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Ladder and lamp r1 is sent');
  const told = (await page.getByRole('status').first().textContent()) ?? '';
  expect(told).toMatch(/^\d+ of \d+ sent, \d+ left, critique promised by \w+day \d+ \w+\.$/);
  await mailTo(student, /Ladder and lamp/);

  await page.getByRole('link', { name: 'withdraw it' }).click();
  await page.getByRole('button', { name: 'Withdraw it' }).click();
  await page.getByRole('button', { name: 'Withdraw r1' }).click();
  await expect(page.getByText('You withdrew r1')).toBeVisible();
  await page.context().close();
});

test('goes on after a lost connection though the browser still takes itself for offline', async ({ browser }) => {
  const page = await as(browser, student);
  // The browser's own word that it is back never comes.
  await page.addInitScript(() => {
    Object.defineProperty(Navigator.prototype, 'onLine', { get: () => false });
    window.addEventListener('online', (event) => event.stopImmediatePropagation(), true);
  });
  const path = clip('unknowing.mp4', 8, true);
  await page.goto('/send');
  const line = await cutOff(page, path);
  await line.free();
  await expect(page.getByText('is ready: 192 frames')).toBeVisible({ timeout: 120_000 });
  await page.getByRole('button', { name: 'Choose another file' }).click();
  await page.context().close();
});

test('says so when the server does not answer, and goes on when it does', async ({ browser }) => {
  const page = await as(browser, student);
  await page.goto('/shots');
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('My shots');
  await page.context().setOffline(true);
  await page.getByRole('link', { name: 'Archive' }).click();
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('This page could not be loaded.');
  await page.context().setOffline(false);
  await page.getByRole('link', { name: 'Load it again' }).click();
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Archive');
  await page.context().close();
});
