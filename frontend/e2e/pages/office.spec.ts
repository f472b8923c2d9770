import { expect, test } from '@playwright/test';
import { as, mailTo, newAddress, office, PASSWORD, SCHOOL } from './support';

test('the office enrols a student, who takes the invitation and comes in', async ({ browser }) => {
  const page = await as(browser, office);
  const email = newAddress('wren');
  await page.goto('/office/enrol');
  await page.getByLabel('Name').fill('Wren Abadi');
  await page.getByLabel('Mail address').fill(email);
  await page.getByLabel('Submissions').fill('3');
  await page.getByRole('button', { name: 'Enrol', exact: true }).click();
  await expect(page.getByRole('status').filter({ hasText: 'is enrolled in' })).toContainText('3 submissions granted');

  const link = /https?:\/\/\S+\/link\/[\w-]+/.exec(await mailTo(email, /\/link\//))?.[0] ?? '';
  const guest = await (await browser.newContext()).newPage();
  await guest.goto(new URL(link).pathname);
  await expect(guest.getByRole('heading', { level: 1 })).toHaveText('Welcome, Wren Abadi');
  await guest.getByLabel('Password', { exact: true }).fill(PASSWORD);
  await guest.getByRole('button', { name: /Keep this password/ }).click();
  await guest.waitForURL('**/shots');
  await expect(guest.getByText('0 sent, 3 left')).toBeVisible();

  await guest.goto(new URL(link).pathname);
  await expect(guest.getByRole('heading', { level: 1 })).toContainText('has been used');
  await guest.context().close();
  await page.context().close();
});

test('grants and takes back with a reason, moves to another mentor, mails the quota', async ({ browser }) => {
  const page = await as(browser, office);
  await page.goto('/roster');
  await page.getByRole('rowheader', { name: /Imre/ }).first().getByRole('link').click();
  await page.waitForURL(/\/office\/enrolments\//);
  const left = async () =>
    Number(
      /(\d+) left/.exec(
        (await page
          .getByText(/\d+ left/)
          .first()
          .textContent()) ?? '',
      )?.[1],
    );
  const before = await left();

  await page.getByLabel('How many').fill('2');
  await page.getByLabel('Reason').fill('Ill for three weeks');
  await page.getByRole('button', { name: 'Grant', exact: true }).click();
  await expect(page.getByText('2 submissions granted.')).toBeVisible();
  expect(await left()).toBe(before + 2);
  await expect(page.getByRole('cell', { name: 'Ill for three weeks' }).first()).toBeVisible();

  await page.getByRole('radio', { name: 'take back' }).check();
  await page.getByLabel('How many').fill('2');
  await page.getByLabel('Reason').fill('Well again');
  await page.getByRole('button', { name: 'Take back', exact: true }).click();
  await expect(page.getByText('2 submissions taken back.')).toBeVisible();
  expect(await left()).toBe(before);

  const mentor = page.getByRole('combobox', { name: 'Mentor' });
  const was = await mentor.inputValue();
  const other = await mentor
    .locator('option')
    .evaluateAll(
      (options, value) => options.map((o) => (o as HTMLOptionElement).value).find((v) => v !== value) ?? '',
      was,
    );
  for (const to of [other, was]) {
    await mentor.selectOption(to);
    await page.getByRole('button', { name: 'Move' }).click();
    await expect(page.getByText(/is with .* now/)).toBeVisible();
    await expect(page.getByRole('button', { name: 'Move' })).toBeDisabled();
  }

  await page.getByRole('button', { name: /^Mail / }).click();
  await expect(page.getByText('The mail is on its way.')).toBeVisible();
  await mailTo(`imre@${SCHOOL}.example`, new RegExp(`${before} left|left.*${before}`, 's'));
  await page.context().close();
});

test('enrols from a CSV file, with a preview, a problem per line, and the same file twice', async ({ browser }) => {
  const page = await as(browser, office);
  await page.goto('/office/courses');
  const course = (await page.getByRole('heading', { level: 2 }).first().textContent())?.trim() ?? '';
  await page.goto('/office/enrol');
  const file = (rows: string) => ({
    name: 'autumn.csv',
    mimeType: 'text/csv',
    buffer: Buffer.from(`name,email,course,mentor_email,starts_on,submissions\n${rows}`),
  });
  const good = `Ilo Brandvik,${newAddress('ilo')},${course},maren@${SCHOOL}.example,2026-11-01,4\n`;

  await page
    .getByLabel('CSV file')
    .setInputFiles(file(`${good}Nobody,not an address,${course},maren@${SCHOOL}.example,,\n`));
  await expect(page.getByRole('alert').filter({ hasText: 'problem' })).toContainText('line 3');
  await expect(page.getByRole('button', { name: /^Enrol \d/ })).toHaveCount(0);

  await page.getByLabel('CSV file').setInputFiles(file(good));
  await page.getByRole('button', { name: 'Enrol 1 student' }).click();
  await expect(page.getByText('1 student enrolled, 0 unchanged.')).toBeVisible();

  await page.getByLabel('CSV file').setInputFiles(file(good));
  await expect(page.getByRole('button', { name: 'Everyone of it is enrolled already' })).toBeDisabled();
  await page.context().close();
});

test('corrects an address, and the invitation goes to the new one', async ({ browser }) => {
  const page = await as(browser, office);
  const wrong = newAddress('oru.wrong');
  const right = newAddress('oru');
  await page.goto('/office');
  await page.getByLabel('Name').last().fill('Oru Fenwick');
  await page.getByLabel('Mail address', { exact: true }).fill(wrong);
  await page.getByRole('button', { name: 'Add and invite' }).click();
  await expect(page.getByText('Oru Fenwick is added')).toBeVisible();
  await page
    .getByRole('article')
    .filter({ hasText: wrong })
    .getByRole('button', { name: 'Correct Oru Fenwick' })
    .click();
  const form = page.getByRole('listitem').filter({ has: page.getByRole('button', { name: 'Keep', exact: true }) });
  await form.getByLabel('Mail address').fill(right);
  await form.getByRole('button', { name: 'Keep', exact: true }).click();
  await expect(page.getByText('A new invitation is on its way to the new address.')).toBeVisible();
  await mailTo(right, /\/link\//);
  await page.context().close();
});

test('what was typed into a search just before leaving pulls nobody back', async ({ browser }) => {
  const page = await as(browser, office);
  for (const [path, link] of [
    ['/office', 'Courses'],
    ['/roster', 'Office'],
  ]) {
    await page.goto(path);
    // What the next page needs comes after typing has rested.
    await page.route('**/api/v1/**', async (route) => {
      await new Promise((slow) => setTimeout(slow, 600));
      await route.continue();
    });
    await page.getByRole('searchbox').fill('im');
    await page.getByRole('link', { name: link, exact: true }).click();
    await expect(page.getByRole('heading', { level: 1 })).toHaveText(link === 'Office' ? 'People' : link);
    const reached = page.url();
    // Typing has rested long enough by then.
    await page.waitForTimeout(400);
    expect(page.url()).toBe(reached);
    await page.unroute('**/api/v1/**');
  }
  await page.context().close();
});
