import { expect, type Page } from '@playwright/test';
import { barcodeIn, CODE_HEIGHT, CODE_WIDTH, type Corner } from '../frametrue/barcode';
import { CLIP_SIZE } from './clips';

/** The number of the first frame of every shot sent by these tests. */
export const FIRST_FRAME = 101;

interface Painted {
  /** The frame the page says it has painted, counted from 0. */
  said: number;
  corner: Corner;
}

/** What is painted, and which frame the page says it is, read in one task of the page. */
function painted(page: Page): Promise<Painted> {
  return page.evaluate(
    ({ codeWidth, codeHeight, size }) => {
      const canvas = document.querySelector<HTMLCanvasElement>('canvas[data-picture]');
      const ctx = canvas?.getContext('2d');
      if (!canvas || !ctx) throw new Error('no picture on this page');
      const scale = Math.min(canvas.width / size.width, canvas.height / size.height);
      const picture = { width: size.width * scale, height: size.height * scale };
      const left = Math.round((canvas.width - picture.width) / 2);
      const top = Math.round((canvas.height - picture.height) / 2);
      const width = Math.ceil(picture.width * codeWidth);
      const { data } = ctx.getImageData(left, top, width, Math.ceil(picture.height * codeHeight));
      const levels = Array.from({ length: data.length / 4 }, (_, k) => data[k * 4 + 1]);
      return { said: Number(canvas.dataset.frame ?? -1), corner: { width, picture, levels } };
    },
    { codeWidth: CODE_WIDTH, codeHeight: CODE_HEIGHT, size: CLIP_SIZE },
  );
}

/** The frame on the sheet's slider, counted from 0. */
export async function frameAsked(page: Page): Promise<number> {
  const value = await page.getByRole('slider', { name: 'Frame' }).getAttribute('aria-valuenow');
  return Number(value) - FIRST_FRAME;
}

/** Reads frames off the painted canvas of a critique page and counts those that are not the ones asked for. */
export class FrameReader {
  reads = 0;
  readonly wrong: string[] = [];

  constructor(private readonly page: Page) {}

  /** Waits until the page says that frame i is painted, and reads it. */
  async expect(i: number): Promise<void> {
    await expect(this.page.locator('canvas[data-picture]')).toHaveAttribute('data-frame', String(i));
    const { said, corner } = await painted(this.page);
    this.#compare(i, said, barcodeIn(corner));
  }

  /** Reads whatever is painted now, as while it plays. */
  async now(): Promise<void> {
    const { said, corner } = await painted(this.page);
    this.#compare(said, said, barcodeIn(corner));
  }

  /** Steps by a key, `times` times, reading each frame. */
  async step(key: string, by: 1 | -1, times: number): Promise<void> {
    for (let k = 0; k < times; k++) {
      const from = await frameAsked(this.page);
      await this.page.keyboard.press(key);
      await this.expect(from + by);
    }
  }

  /** Clicks into the sheet at places that look random and are the same each time, reading each frame. */
  async random(times: number): Promise<void> {
    const sheet = this.page.getByRole('slider', { name: 'Frame' });
    const box = await sheet.boundingBox();
    if (!box) throw new Error('no sheet on this page');
    // Park and Miller's generator, 1988.
    for (let k = 0, state = 20261125; k < times; k++) {
      state = (state * 48271) % 2147483647;
      // The frame numbers' gutter: no mark lies there.
      await this.page.mouse.click(box.x + 12, box.y + 30 + (state % Math.floor(box.height - 60)));
      await this.expect(await frameAsked(this.page));
    }
  }

  #compare(asked: number, said: number, read: number): void {
    this.reads++;
    if (read !== asked || said !== asked) this.wrong.push(`asked ${asked}, said ${said}, read ${read}`);
  }
}

export interface NoteWords {
  words: string;
  kind: 'fix' | 'consider' | 'keep' | 'question';
  principle?: string;
  part?: string;
}

const KINDS = ['fix', 'consider', 'keep', 'question'];

/** Writes a note on the frame shown, by the keyboard alone. Ends with the keys on the sheet. */
export async function writeNote(page: Page, { words, kind, principle, part }: NoteWords): Promise<void> {
  await page.keyboard.press('f');
  await expect(page.getByLabel('Words')).toBeFocused();
  await page.keyboard.type(words);
  await page.keyboard.press('Tab');
  while (!(await page.evaluate(() => document.activeElement instanceof HTMLInputElement)))
    await page.keyboard.press('Tab');
  for (let k = 0; k < KINDS.indexOf(kind); k++) await page.keyboard.press('ArrowRight');
  await expect(page.getByRole('radio', { name: kind, exact: true })).toBeChecked();
  await page.keyboard.press('Tab');
  await page.keyboard.press('Tab');
  if (principle) await choose(page, principle);
  await page.keyboard.press('Tab');
  if (part) await choose(page, part);
  await page.keyboard.press('Escape');
  await expect(page.getByRole('slider', { name: 'Frame' })).toBeFocused();
}

async function choose(page: Page, typed: string): Promise<void> {
  await expect(page.getByRole('combobox').and(page.locator(':focus'))).toBeVisible();
  await page.keyboard.type(typed);
  await expect(page.getByRole('option').first()).toBeVisible();
  await page.keyboard.press('Enter');
}

/** Leaves the opening for the sheet, by the keyboard. */
export async function toSheet(page: Page): Promise<void> {
  const sheet = page.getByRole('slider', { name: 'Frame' });
  await expect(sheet).toBeVisible();
  await page.keyboard.press('Escape');
  await expect(sheet).toBeFocused();
}

/** Everything made so far has reached the server. */
export async function saved(page: Page): Promise<void> {
  await expect(page.locator('[data-saving]')).toHaveAttribute('data-saving', 'saved', { timeout: 30_000 });
}

/** Releases, and waits until it cannot be taken back. */
export async function release(page: Page): Promise<void> {
  await page.getByRole('button', { name: 'release', exact: true }).click();
  await page.getByRole('button', { name: 'release it' }).click();
  await expect(page.getByText('released', { exact: true })).toBeVisible({ timeout: 60_000 });
}

/** Walks the carried concerns by key and gives each the verdict key named for its title; others get none. */
export async function judge(page: Page, keys: Map<RegExp, string>, carried: number): Promise<void> {
  await toSheet(page);
  const slip = page.getByRole('complementary', { name: 'Slip' });
  const heading = slip.getByRole('heading').first();
  for (let k = 0; k < carried; k++) {
    const before = (await heading.textContent()) ?? '';
    await page.keyboard.press('Tab');
    await expect(heading).not.toHaveText(before);
    const title = (await heading.textContent()) ?? '';
    const key = [...keys].find(([words]) => words.test(title))?.[1];
    if (!key) continue;
    await page.keyboard.press(key);
    const verdicts = slip.getByRole('group', { name: 'Verdict' });
    await expect(verdicts.getByRole('button', { pressed: true })).toHaveCount(1);
  }
}
