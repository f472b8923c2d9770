import { readdirSync, readFileSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { expect, type Browser, type BrowserContext, type Page } from '@playwright/test';

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

/** What a page said on its console, and errors nobody caught. */
export function complaints(page: Page): string[] {
  const said: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || message.type() === 'warning') said.push(message.text());
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
    const { axe } = window as unknown as { axe: { run(): Promise<{ violations: Found[] }> } };
    return (await axe.run()).violations;
  });
  return found.map(({ id, nodes }) => `${id}: ${nodes.map((n) => n.html.slice(0, 200)).join(' | ')}`);
}

/** How far the page reaches beyond its window, in px (WCAG 2.2, 1.4.10 asks for none). */
export function overflow(page: Page): Promise<number> {
  return page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
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
