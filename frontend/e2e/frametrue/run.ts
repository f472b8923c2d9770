import { mkdtemp, rm } from 'node:fs/promises';
import { networkInterfaces, tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium, type Browser, type Page } from '@playwright/test';
import { build } from 'vite';
import { makeClip, RECIPES, type Clip } from './clips';
import { breakDecoderAfter, WITHOUT_DECODER } from './decoders';
import type { Lasting, Mode, OpenOptions, Reading } from './page/reader';
import { serveFolders } from './server';

const MODES: Mode[] = ['forwards', 'backwards', 'random', 'cancelled', 'playing', 'playing-back', 'loop'];
/** Ten seconds must last ten seconds, to this much. */
const LASTING_TOLERANCE_MS = 100;
const LASTING_CLIPS = ['24', '59.94', 'variable'];
const FALLBACK_CLIPS = ['24', '59.94', 'variable'];

class Outcome {
  #reads = 0;
  #wrong = 0;
  #failures = 0;

  line(name: string, value: number, unit: string): void {
    console.log(`${name}\t${value}\t${unit}`);
  }

  reading(name: string, reading: Reading): void {
    this.line(`frametrue/${name}/wrong`, reading.wrong, `frames of ${reading.reads}`);
    this.#wrong += reading.wrong;
    this.#reads += reading.reads;
    if (reading.wrong) this.fail(`${name}: asked and read ${JSON.stringify(reading.examples)}`);
  }

  check(name: string, holds: boolean): void {
    if (!holds) this.fail(name);
  }

  fail(what: string): void {
    this.#failures++;
    console.error(`FAILED ${what}`);
  }

  total(): number {
    this.line('frametrue/wrong', this.#wrong, `frames of ${this.#reads}`);
    this.line('frametrue/failures', this.#failures, 'checks');
    return this.#failures;
  }
}

/** Reads `reads` frames per clip off the painted canvas, in every mode. Resolves with the number of failures. */
export async function frametrue(reads: number): Promise<number> {
  const folder = await mkdtemp(join(tmpdir(), 'frametrue-'));
  const outcome = new Outcome();
  const site = join(folder, 'site');
  await buildPage(site);
  const clips: Clip[] = [];
  for (const recipe of RECIPES) clips.push(await makeClip(recipe, folder));
  const server = await serveFolders([site, folder]);
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium-headless-shell';
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  try {
    const local = `http://localhost:${server.port}/index.html`;
    for (const clip of clips) await everyMode(browser, local, clip, reads, outcome);
    await lasting(browser, local, clips, outcome);
    await fallbacks(browser, local, clips, reads, outcome);
    await wrongPlayer(browser, local, clips, outcome);
  } finally {
    await browser.close();
    server.close();
    await rm(folder, { recursive: true, force: true });
  }
  return outcome.total();
}

async function buildPage(site: string): Promise<void> {
  const root = join(dirname(fileURLToPath(import.meta.url)), 'page');
  await build({
    root,
    configFile: false,
    logLevel: 'error',
    build: { outDir: site, emptyOutDir: true, target: 'es2022' },
  });
}

async function everyMode(browser: Browser, url: string, clip: Clip, reads: number, outcome: Outcome): Promise<void> {
  const page = await open(browser, url, { clip });
  const each = Math.ceil(reads / MODES.length);
  for (const mode of MODES) outcome.reading(`${clip.name}/${mode}`, await read(page, mode, each));
  outcome.check(`${clip.name}: the decoder served throughout`, (await read(page, 'random', 1)).decoded);
  await page.context().close();
}

/** A busy machine may hold up one run: the best of three is measured, so that only the player's own time counts. */
async function lasting(browser: Browser, url: string, clips: Clip[], outcome: Outcome): Promise<void> {
  for (const clip of clips.filter((c) => LASTING_CLIPS.includes(c.name))) {
    const page = await open(browser, url, { clip });
    const off = (run: Lasting) => Math.abs(run.realMs - run.tableMs);
    let best = await page.evaluate(async () => window.reader!.lasts());
    for (let again = 0; again < 2 && off(best) > LASTING_TOLERANCE_MS; again++) {
      const run = await page.evaluate(async () => window.reader!.lasts());
      if (off(run) < off(best)) best = run;
    }
    outcome.line(`frametrue/${clip.name}/lasts`, Math.round(best.realMs), `ms of ${best.tableMs.toFixed(0)}`);
    outcome.line(`frametrue/${clip.name}/dropped`, best.dropped, `frames of ${best.due}`);
    outcome.check(`${clip.name}: lasts as long as its table says`, off(best) <= LASTING_TOLERANCE_MS);
    await page.context().close();
  }
}

async function fallbacks(browser: Browser, url: string, clips: Clip[], reads: number, outcome: Outcome): Promise<void> {
  const each = Math.ceil(reads / 4);
  const cases: [name: string, script: string | undefined, reason: string, url: string][] = [
    ['without-decoder', WITHOUT_DECODER, 'no-decoder', url],
    ['decoder-lost', breakDecoderAfter(40), 'failed', url],
    ['plain-http', undefined, 'insecure', url.replace('localhost', otherAddress())],
  ];
  for (const [name, script, reason, address] of cases)
    for (const clip of clips.filter((c) => FALLBACK_CLIPS.includes(c.name))) {
      const page = await open(browser, address, { clip }, script);
      for (const mode of ['random', 'backwards', 'loop', 'playing'] as const) {
        const reading = await read(page, mode, each);
        outcome.reading(`${name}/${clip.name}/${mode}`, reading);
        if (mode !== 'random') outcome.check(`${name}: says ${reason}`, reading.fallback === reason);
      }
      await page.context().close();
    }
}

/** An address of this machine that browsers do not trust as they trust localhost. */
function otherAddress(): string {
  const all = Object.values(networkInterfaces()).flatMap((list) => list ?? []);
  const outer = all.find((a) => a.family === 'IPv4' && !a.internal);
  return outer?.address ?? '0.0.0.0';
}

async function wrongPlayer(browser: Browser, url: string, clips: Clip[], outcome: Outcome): Promise<void> {
  const clip = clips[1];
  const page = await open(browser, url, { clip, wrong: true });
  for (const mode of MODES) {
    const reading = await read(page, mode, 20);
    outcome.line(`frametrue/off-by-one/${mode}/wrong`, reading.wrong, `frames of ${reading.reads}`);
    outcome.check(`the off-by-one player is caught ${mode}`, reading.wrong >= reading.reads - 2);
  }
  await page.context().close();
}

async function open(browser: Browser, url: string, options: OpenOptions, script?: string): Promise<Page> {
  const page = await (await browser.newContext()).newPage();
  if (script) await page.addInitScript(script);
  await page.goto(url);
  await page.evaluate(async (o) => void (window.reader = await window.openReader(o)), options);
  return page;
}

function read(page: Page, mode: Mode, reads: number): Promise<Reading> {
  return page.evaluate(([m, n]) => window.reader!.read(m, n), [mode, reads] as const);
}
