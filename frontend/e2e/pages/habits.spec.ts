import { expect, test, type Page } from '@playwright/test';
import type { RefrainHabits, RefrainPlan, RefrainShot } from '../../src/lib/api/contract';
import { clip } from './clips';
import { openedBy, sentClip } from './sent';
import { as, complaints, enrolled, mentor, office, overflow, picture, violations } from './support';

const widths = [1440, 1024, 360];
/** Somebody whose wrists were noted in each of two shots, and who has a third one. */
let student = '';

/** Sends a shot, and as its mentor writes notes and releases them. */
async function told(sender: Page, opener: Page, title: string, notes: object[]): Promise<void> {
  const made = clip('shot.mp4', { frames: 24 });
  const critique = (await openedBy(opener, await sentClip(sender, title, made))).split('/').at(-1);
  const headers = { 'Refrain-Request': '1' };
  for (const note of notes) {
    const path = `/api/v1/critiques/${critique}/notes/${crypto.randomUUID()}`;
    const answer = await opener.request.put(path, { headers, data: note });
    expect(answer.status(), await answer.text()).toBe(200);
  }
  const out = await opener.request.post(`/api/v1/critiques/${critique}/release`, { headers, data: {} });
  expect(out.status(), await out.text()).toBe(200);
}

const note = (words: string, principle: string, part: string) => ({
  version: 0,
  kind: 'fix',
  urgency: 'must',
  principles: [principle],
  parts: [{ part, side: 'left' }],
  span: { start: 4, end: 6 },
  region: null,
  words,
  ask: null,
  concern_id: null,
});

test.beforeAll(async ({ browser }) => {
  student = await enrolled(browser, 'hanne', 'Hanne Ostvik');
  const [sender, opener] = [await as(browser, student), await as(browser, mentor)];
  const jump = note('The wrist jumps over one frame.', 'spacing', 'wrist');
  await told(sender, opener, 'Bucket on a rope', [jump, note('The foot slides on landing.', 'contact', 'foot')]);
  await told(sender, opener, 'Door in the wind', [{ ...jump, words: 'The hand leaps here again.' }]);
  await told(sender, opener, 'Kite', [{ ...jump, kind: 'keep', words: 'Lovely.' }]);
  const released = async (): Promise<number> => {
    const told = (await (await sender.request.get('/api/v1/refrain/habits')).json()) as RefrainHabits;
    return told.shots;
  };
  await expect.poll(released, { timeout: 30_000 }).toBe(3);
  await sender.context().close();
  await opener.context().close();
});

async function sound(page: Page, name: string, width: number): Promise<void> {
  await page.waitForLoadState('networkidle');
  await picture(page, `${name}-${width}`);
  expect(await overflow(page), `${name} reaches beyond the window`).toBeLessThanOrEqual(0);
  expect(await violations(page), name).toEqual([]);
}

for (const width of widths)
  test(`My refrain tells habits and a plan as the API does, ${width} px wide`, async ({ browser }) => {
    const page = await as(browser, student, width);
    const said = complaints(page);
    const get = async <T>(path: string): Promise<T> => (await (await page.request.get(`/api/v1${path}`)).json()) as T;
    const shots = (await get<{ items: RefrainShot[] }>('/refrain')).items;
    const shot = shots.find((one) => one.shot.name === 'Bucket on a rope');
    const habits = await get<RefrainHabits>('/refrain/habits');
    const plan = await get<RefrainPlan>(`/shots/${shot?.shot.id}/plan`);
    expect(plan.steps.length).toBeGreaterThan(0);
    expect(plan.steps.length).toBeLessThanOrEqual(3);
    expect(habits.habits.map((habit) => [habit.principle, habit.area, habit.with_it, habit.shots])).toEqual(
      expect.arrayContaining([
        ['spacing', 'arm', 2, 3],
        ['contact', 'leg', 1, 3],
      ]),
    );

    await page.goto(`/refrain?shot=${shot?.shot.id}`);
    const next = page.getByRole('region', { name: 'For the next pass' });
    await expect(next.locator('ol > li')).toHaveCount(plan.steps.length);
    for (const [i, step] of plan.steps.entries())
      await expect(next.locator('ol > li').nth(i)).toContainText(step.concern.title);
    const over = page.getByRole('region', { name: 'Over all your shots' });
    const often = habits.habits.filter((habit) => habit.with_it > 1);
    await expect(over.getByRole('heading', { level: 3 })).toHaveCount(often.length);
    for (const habit of often)
      await expect(over.getByText(`${habit.with_it} of ${habit.shots} shots`).first()).toBeVisible();
    await expect(over.locator('svg circle')).toHaveCount(often.length);
    await expect(over.getByText('Few shots yet').first()).toBeVisible();
    for (const details of await over.locator('details > summary').all()) await details.click();
    await sound(page, 'habits', width);
    expect(said).toEqual([]);
    // From the plan to the note it speaks of.
    await next.getByRole('link').first().click();
    await page.waitForURL(/\/read\/[^?]+\?note=/);
    await page.context().close();
  });

for (const width of widths)
  test(`a mentor tries, adds and removes a word, ${width} px wide`, async ({ browser }) => {
    const page = await as(browser, mentor, width);
    const said = complaints(page);
    const phrase = `zonk${Date.now().toString(36)}`;
    await page.goto('/words');
    await expect(page.getByRole('heading', { level: 1 })).toHaveText('Words of the school');

    await page.getByLabel('What mentors say').fill('Zonk!');
    await page.getByRole('button', { name: 'Add it' }).click();
    await expect(page.getByText('Write it in lower case')).toBeVisible();
    await expect(page.getByLabel('What mentors say')).toHaveAttribute('aria-invalid', 'true');

    await page.getByLabel('What mentors say').fill(phrase);
    await page.getByLabel('Namely').selectOption('foot-slide');
    await page.getByLabel('A note as a mentor writes it').fill(`the left foot goes ${phrase} at the end`);
    await page.getByRole('button', { name: 'Try it' }).click();
    const faults = page.getByRole('row', { name: /^Faults/ });
    await expect(faults).toContainText('foot slide, new');
    await page.getByRole('button', { name: 'Add it' }).click();
    await expect(page.getByText(`“${phrase}” is added.`)).toBeVisible();
    await page.getByRole('button', { name: 'Try it' }).click();
    await expect(page.getByRole('columnheader', { name: 'with them' })).toBeVisible();
    await page.getByText('What may stand in a phrase').click();
    await sound(page, 'words', width);

    await page.getByRole('button', { name: `Remove ${phrase}` }).click();
    await expect(page.getByText(`“${phrase}” is removed.`)).toBeVisible();
    await expect(page.getByRole('button', { name: `Remove ${phrase}` })).toHaveCount(0);
    expect(said.filter((line) => !/status of 422/.test(line))).toEqual([]);
    await page.context().close();
  });

test('the office keeps the words too, and a student has no such page', async ({ browser }) => {
  const page = await as(browser, office);
  await page.goto('/office');
  await page.getByRole('link', { name: 'Words' }).click();
  await expect(page.getByRole('heading', { level: 1 })).toHaveText('Words of the school');
  await page.context().close();
  const own = await as(browser, student);
  await own.goto('/shots');
  await expect(own.getByRole('link', { name: 'Words' })).toHaveCount(0);
  await own.context().close();
});
