import { readdirSync, readFileSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { expect, test, type Browser, type BrowserContext, type Page } from '@playwright/test';

/** The invented school that `refrain demo --small` plays. */
export const SCHOOL = 'lamplighter';
export const PASSWORD = 'lantern-over-the-yard';
export const office = `office@${SCHOOL}.example`;
export const mentor = `maren@${SCHOOL}.example`;

/** An address nobody has yet, so that the tests can run again on the same school. */
export function newAddress(name: string): string {
  return `${name}.${Date.now().toString(36)}@${SCHOOL}.example`;
}

type StorageState = Awaited<ReturnType<BrowserContext['storageState']>>;
const signedIn = new Map<string, StorageState>();

/** A page of somebody signed in. Signing in is throttled, so each does it once for all tests. */
export async function as(browser: Browser, email: string, width = 1440): Promise<Page> {
  const known = signedIn.get(email);
  const context = await browser.newContext({ viewport: { width, height: 900 }, storageState: known });
  if (!known) {
    const answer = await context.request.post('/api/v1/sessions', {
      headers: { 'Refrain-Request': '1' },
      data: { school: SCHOOL, email, password: PASSWORD },
    });
    expect(answer.status(), await answer.text()).toBe(201);
    signedIn.set(email, await context.storageState());
  }
  return context.newPage();
}

async function add(page: Page, path: string, data: object): Promise<void> {
  const answer = await page.request.post(path, { headers: { 'Refrain-Request': '1' }, data });
  expect(answer.status(), await answer.text()).toBe(201);
}

/** Has the office enrol somebody new with a mentor, and takes their invitation; their address, already signed in. */
export async function enrolled(browser: Browser, key: string, name: string, teacher = mentor): Promise<string> {
  const email = newAddress(key);
  const page = await as(browser, office);
  const first = async (path: string, fits: (row: { id: string; email?: string }) => boolean): Promise<string> => {
    const answer = (await (await page.request.get(path)).json()) as { items: { id: string; email?: string }[] };
    return answer.items.find(fits)?.id ?? '';
  };
  const course_id = await first('/api/v1/courses', () => true);
  const mentor_id = await first('/api/v1/persons?role=mentor', (row) => row.email === teacher);
  const enrolment = { course_id, mentor_id, starts_on: '2020-01-01', student: { name, email } };
  await add(page, '/api/v1/enrolments', enrolment);
  await page.context().close();
  return joined(browser, email);
}

/** Has the office invite somebody new who teaches, and takes their invitation; their address, already signed in. */
export async function hired(browser: Browser, key: string, name: string): Promise<string> {
  const email = newAddress(key);
  const page = await as(browser, office);
  await add(page, '/api/v1/persons', { name, email, roles: ['mentor'] });
  await page.context().close();
  return joined(browser, email);
}

async function joined(browser: Browser, email: string): Promise<string> {
  const guest = await invited(browser, email);
  signedIn.set(email, await guest.context().storageState());
  await guest.context().close();
  return email;
}

/** Somebody who takes the invitation in their mail and chooses the password; their page, signed in. */
export async function invited(browser: Browser, email: string): Promise<Page> {
  const link = /https?:\/\/\S+\/link\/[\w-]+/.exec(await mailTo(email, /\/link\//))?.[0] ?? '';
  const page = await (await browser.newContext({ viewport: { width: 1440, height: 900 } })).newPage();
  await page.goto(new URL(link).pathname);
  await page.getByLabel('Password', { exact: true }).fill(PASSWORD);
  await page.getByRole('button', { name: /Keep this password/ }).click();
  await page.waitForURL(/\/(shots|desk)$/);
  return page;
}

/** What a page said on its console, and errors nobody caught. */
export function complaints(page: Page): string[] {
  const said: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning')
      said.push(`${message.text()} (${message.location().url})`);
  });
  page.on('pageerror', (error) => said.push(error.message));
  return said;
}

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

interface Found {
  id: string;
  nodes: { html: string; failureSummary?: string }[];
}

/** What axe-core finds on the page as it stands (all its rules, WCAG 2.2 AA included). */
export async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axeSource);
  const found = await page.evaluate(async () => {
    const { axe } = window as unknown as { axe: { run(options: object): Promise<{ violations: Found[] }> } };
    return (await axe.run({ resultTypes: ['violations'] })).violations;
  });
  return found.map(({ id, nodes }) => `${id}: ${nodes.map((n) => n.html.slice(0, 200)).join(' | ')}`);
}

/** How far the page reaches beyond its window, in px (WCAG 2.2, 1.4.10 asks for none). */
export function overflow(page: Page): Promise<number> {
  return page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
}

/** Set, it says that pages are to be pictured in test-results/screens, for somebody who wants to see them all. */
const pictured = !!process.env.REFRAIN_SCREENS;

/** A picture of the page as it stands, for whoever wants to look. */
export async function picture(page: Page, name: string, fullPage = true): Promise<void> {
  if (pictured) await page.screenshot({ path: `${test.info().project.outputDir}/screens/${name}.png`, fullPage });
}

function letters(): { path: string; at: number }[] {
  const folder = process.env.REFRAIN_POST ?? '';
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.eml'))
    .map((name) => ({ path: join(folder, name), at: statSync(join(folder, name)).mtimeMs }))
    .sort((a, b) => b.at - a.at);
}

/** The text of a mail body in quoted-printable (RFC 2045, 6.7), ASCII part enough for links and figures. */
function plain(mail: string): string {
  return mail
    .replace(/=\r?\n/g, '')
    .replace(/=([0-9A-F]{2})/g, (_, hex: string) => String.fromCharCode(Number.parseInt(hex, 16)));
}

/** Waits for the newest mail to somebody that holds `words`. */
export async function mailTo(email: string, words: RegExp): Promise<string> {
  let found = '';
  await expect
    .poll(
      () => {
        for (const { path } of letters()) {
          const mail = plain(readFileSync(path, 'utf8'));
          if (mail.includes(email) && words.test(mail)) found = mail;
          if (found) return true;
        }
        return false;
      },
      { timeout: 30_000, message: `a mail to ${email} that holds ${words}` },
    )
    .toBe(true);
  return found;
}
