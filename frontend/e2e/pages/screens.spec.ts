import { expect, test, type Browser, type Page } from '@playwright/test';
import type { RefrainShot } from '../../src/lib/api/contract';
import { clip } from './clips';
import { openedBy, sentClip } from './sent';
import { as, complaints, enrolled, mentor, office, overflow, PASSWORD, picture, SCHOOL, violations } from './support';

// Each worker sends its own shots first.
test.describe.configure({ mode: 'parallel' });

const student = `imre@${SCHOOL}.example`;
/**
 * A page is opened at the first width of a window and drawn to the others. 720 px is 1440 px at 200 % (WCAG 2.2, 1.4.4). axe looks at
 * what was opened: between the two ends only the widths of columns differ.
 */
const windows = [[1440, 1024, 720], [360]];

/** Address of a critique that is being written, of a shot of one revision. */
let draft = '';
/** Address of a released critique with revisions before it, as the mentor and as the student see it. */
let written = '';
let read = '';
/** Address of My refrain, of that shot. */
let grid = '';
/** Somebody who has been enrolled and has sent nothing yet. */
let newcomer = '';

test.beforeAll(async ({ browser }) => {
  const sender = await as(browser, student);
  const waiting = clip('waiting.mp4', { frames: 24 });
  const submission = await sentClip(sender, 'Ladder in the wind', waiting);
  await sentClip(sender, 'Lid and kettle', waiting);
  const told = (await (await sender.request.get('/api/v1/refrain')).json()) as { items: RefrainShot[] };
  const long = told.items.find((shot) => shot.revisions.filter((r) => r.released).length > 1);
  grid = `/refrain?shot=${long?.shot.id}`;
  const last = long?.revisions.findLast((r) => r.released);
  read = `/read/${last?.critique_id}`;
  written = `/critique/${last?.critique_id}`;
  await sender.context().close();

  const opener = await as(browser, mentor);
  draft = await openedBy(opener, submission);
  await opener.context().close();
  newcomer = await enrolled(browser, 'ada', 'Ada Lindqvist');
});

/** A page that says what it is, in a language it names, inside its window, and without a fault axe can find. */
async function sound(page: Page, name: string, widths: number[]): Promise<void> {
  await page.waitForLoadState('networkidle');
  await expect(page).toHaveTitle(/Refrain/);
  expect(await page.evaluate(() => document.documentElement.lang)).toBe('en');
  expect(await violations(page), name).toEqual([]);
  for (const width of widths) {
    await page.setViewportSize({ width, height: 900 });
    await expect
      .poll(() => overflow(page), { message: `${name} reaches beyond a window of ${width} px` })
      .toBeLessThanOrEqual(0);
    await picture(page, `${name}-${width}`);
  }
  await page.setViewportSize({ width: widths[0], height: 900 });
}

/** Goes to a page, waits for its heading. */
async function at(page: Page, path: string, heading: RegExp): Promise<void> {
  await page.goto(path);
  await expect(page.getByRole('heading', { level: 1 })).toHaveText(heading);
}

/** Somebody's page of a width, and what it complained about. */
async function visitor(browser: Browser, who: string | null, width: number): Promise<Page> {
  if (who) return as(browser, who, width);
  return (await browser.newContext({ viewport: { width, height: 900 } })).newPage();
}

type Screen = [name: string, show: (page: Page) => Promise<void>];

const opened = (page: Page, path: string) => async (): Promise<void> => {
  await page.goto(path);
  await expect(page.locator('canvas[data-picture]')).toHaveAttribute('data-frame', /\d/);
};

const anyone: Screen[] = [
  ['sign-in', (page) => at(page, `/in/${SCHOOL}`, /Lamplighter Yard/)],
  ['sign-in-refused', refusedSignIn],
  ['sign-in-nowhere', (page) => at(page, '/in/nowhere', /No school/)],
  ['forgot', (page) => at(page, `/forgot/${SCHOOL}`, /new password/)],
  ['link-spent', (page) => at(page, '/link/spent', /link/)],
];

async function refusedSignIn(page: Page): Promise<void> {
  await at(page, `/in/${SCHOOL}`, /Lamplighter Yard/);
  await page.getByLabel('Mail address').fill('nobody@nowhere.example');
  await page.getByLabel('Password').fill(PASSWORD);
  await page.keyboard.press('Enter');
  await expect(page.getByRole('alert')).not.toBeEmpty();
}

const mentors: Screen[] = [
  ['desk', (page) => at(page, '/desk', /Desk/)],
  ['roster', (page) => at(page, '/roster', /Roster/)],
  ['archive-mentor', (page) => at(page, '/archive', /Archive/)],
  ['archive-nothing', nothingFound],
  ['you', (page) => at(page, '/you', /Maren/)],
  ['refrain-of-a-student', refrainOfOne],
  ['critique-opening', (page) => opened(page, draft)()],
  ['critique-note', writing],
  ['critique-release', releasing],
  ['keys', keysPage],
  ['critique-released', (page) => opened(page, written)()],
  ['compare', (page) => comparing(page, 'side by side')],
  ['compare-wipe', (page) => comparing(page, 'wipe')],
];

async function nothingFound(page: Page): Promise<void> {
  await at(page, '/archive?q=zzzz', /Archive/);
  await expect(page.getByText('Nothing has these words')).toBeVisible();
}

async function gridShown(page: Page, path: string): Promise<void> {
  await page.goto(path);
  await expect(page.getByRole('table')).toBeVisible();
}

/** A shot whose first critique is still to come. */
async function refrainWaits(page: Page): Promise<void> {
  await gridShown(page, '/refrain');
  await page.getByRole('link', { name: 'Lid and kettle' }).first().click();
  await expect(page.getByText('The first critique fills it.')).toBeVisible();
}

async function refrainOfOne(page: Page): Promise<void> {
  await page.goto('/roster');
  await page.getByRole('rowheader', { name: /Imre/ }).first().getByRole('link').click();
  await page.waitForURL(/\/refrain\?student=/);
  await gridShown(page, `${new URL(page.url()).pathname}${new URL(page.url()).search}&${grid.split('?')[1]}`);
}

async function writing(page: Page): Promise<void> {
  await opened(page, draft)();
  await page.keyboard.press('Escape');
  await page.keyboard.press('d');
  const all = page.getByRole('button', { name: /all notes|carried/ });
  await all.click();
  const there = page.getByRole('complementary', { name: 'Slip' }).getByRole('button', { name: /The ladder leans/ });
  if (await there.isVisible()) return void (await there.click());
  await page.locator('#sheet').focus();
  await page.keyboard.press('f');
  await page.keyboard.type('The ladder leans before the wind has come.');
  await expect(page.locator('[data-saving]')).toHaveAttribute('data-saving', 'saved', { timeout: 30_000 });
}

async function releasing(page: Page): Promise<void> {
  await opened(page, draft)();
  await page.getByRole('button', { name: 'release', exact: true }).click();
  await expect(page.getByRole('dialog')).toBeVisible();
}

async function keysPage(page: Page): Promise<void> {
  await opened(page, draft)();
  await page.keyboard.press('Escape');
  await page.keyboard.press('?');
  await expect(page.getByRole('dialog')).toBeVisible();
}

async function comparing(page: Page, arrangement: string): Promise<void> {
  await opened(page, written)();
  await page.keyboard.press('c');
  await page.getByRole('button', { name: arrangement, exact: true }).click();
  await expect(page.locator('canvas[data-picture]')).toHaveAttribute('data-earlier', /\d/);
}

const students: Screen[] = [
  ['shots', (page) => at(page, '/shots', /My shots/)],
  ['shot', oneShot],
  ['send', (page) => at(page, '/send', /Send a shot/)],
  ['refrain', (page) => gridShown(page, grid)],
  ['refrain-waits', refrainWaits],
  ['archive', (page) => at(page, '/archive', /Archive/)],
  ['read', reading],
];

async function oneShot(page: Page): Promise<void> {
  await page.goto('/shots');
  await page.getByRole('heading', { level: 3 }).last().getByRole('link').click();
  await page.waitForURL(/\/shots\/./);
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
}

async function reading(page: Page): Promise<void> {
  await page.goto(read);
  await expect(page.getByRole('heading', { name: /^Notes on/ })).toBeVisible();
}

const newcomers: Screen[] = [
  ['shots-empty', (page) => at(page, '/shots', /My shots/)],
  ['send-empty', (page) => at(page, '/send', /Send a shot/)],
  ['refrain-empty', (page) => at(page, '/refrain', /My refrain/)],
  ['archive-empty', (page) => at(page, '/archive', /Archive/)],
  ['not-theirs', (page) => at(page, read, /no page/)],
];

const offices: Screen[] = [
  ['office', (page) => at(page, '/office', /People/)],
  ['office-courses', (page) => at(page, '/office/courses', /Courses/)],
  ['office-enrol', (page) => at(page, '/office/enrol', /Enrolling/)],
  ['office-enrol-refused', refusedEnrolment],
  ['office-enrolment', oneEnrolment],
  ['office-roster', (page) => at(page, '/roster', /Roster/)],
  ['no-page', (page) => at(page, '/nowhere', /no page/)],
  ['not-loaded', notLoaded],
];

async function refusedEnrolment(page: Page): Promise<void> {
  await at(page, '/office/enrol', /Enrolling/);
  await page.getByLabel('Name').fill('Twice Enrolled');
  await page.getByLabel('Mail address').fill(student);
  await page.getByLabel('Course').selectOption('Weight and Contact');
  await page.getByRole('button', { name: 'Enrol', exact: true }).click();
  await expect(page.getByRole('alert').filter({ hasText: /\w/ })).toBeVisible();
}

async function oneEnrolment(page: Page): Promise<void> {
  await page.goto('/roster');
  await page.getByRole('rowheader', { name: /Imre/ }).first().getByRole('link').click();
  await page.waitForURL(/\/office\/enrolments\//);
  await expect(page.getByRole('heading', { level: 1 })).toBeVisible();
}

async function notLoaded(page: Page): Promise<void> {
  await at(page, '/office', /People/);
  await page.route('**/api/v1/courses**', (route) => route.abort());
  await page.getByRole('link', { name: 'Courses' }).click();
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('This page could not be loaded.');
  await page.unroute('**/api/v1/courses**');
}

const tours: [who: string, screens: Screen[], signIn: () => string | null][] = [
  ['anyone', anyone, () => null],
  ['a mentor', mentors, () => mentor],
  ['a student', students, () => student],
  ['a newcomer', newcomers, () => newcomer],
  ['the office', offices, () => office],
];

for (const [who, screens, signIn] of tours)
  for (const widths of windows)
    test(`screens of ${who}, ${widths.join(', ')} px wide`, async ({ browser }) => {
      const page = await visitor(browser, signIn(), widths[0]);
      const said = complaints(page);
      for (const [name, show] of screens)
        await test.step(name, async () => {
          await show(page);
          await sound(page, name, widths);
        });
      // The answers asked for on purpose: nobody, no such thing, a spent link, an enrolment twice, a line that is cut.
      expect(said.filter((line) => !/status of (401|404|409|410|422)|net::ERR_FAILED/.test(line))).toEqual([]);
      await page.context().close();
    });
