import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium, type Page } from '@playwright/test';
import { build } from 'vite';
import { makeClip, type Clip, type Recipe } from '../frametrue/clips';
import { serveFolders } from '../frametrue/server';
import type { Measured, Reference } from './page/measure';

// Every frame a key frame, as the copies that preparation makes (backend/media/src/recipe.rs).
const RECIPES: Recipe[] = [
  { name: '720p', rate: '24', frames: 240, size: { width: 1280, height: 720 }, keyEvery: 1 },
  { name: '1080p', rate: '24', frames: 240, size: { width: 1920, height: 1080 }, keyEvery: 1 },
];

const line = (name: string, value: number, unit: string): void =>
  console.log(`playback/${name}\t${Math.round(value * 100) / 100}\t${unit}`);

function quantile(values: readonly number[], q: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))];
}

/** Measures the player of the critique page against a bare `<video>` element, one after the other in one browser. */
export async function playback(): Promise<void> {
  const folder = await mkdtemp(join(tmpdir(), 'playback-'));
  const site = join(folder, 'site');
  const root = join(dirname(fileURLToPath(import.meta.url)), 'page');
  await build({ root, configFile: false, logLevel: 'error', build: { outDir: site, target: 'es2022' } });
  const clips: Clip[] = [];
  for (const recipe of RECIPES) clips.push(await makeClip(recipe, folder));
  const server = await serveFolders([site, folder]);
  const executablePath = process.env.CHROMIUM ?? '/usr/bin/chromium-headless-shell';
  const args = ['--no-sandbox', '--autoplay-policy=no-user-gesture-required'];
  const browser = await chromium.launch({ executablePath, args });
  try {
    for (const clip of clips) {
      const page = await browser.newPage();
      await page.goto(`http://localhost:${server.port}/index.html`);
      report(clip.name, await ours(page, clip), await theirs(page, clip));
      await page.close();
    }
  } finally {
    await browser.close();
    server.close();
    await rm(folder, { recursive: true, force: true });
  }
}

const ours = (page: Page, clip: Clip): Promise<Measured> => page.evaluate(async (c) => window.measure(c), clip);
const theirs = (page: Page, clip: Clip): Promise<Reference> => page.evaluate(async (c) => window.reference(c), clip);

function report(name: string, own: Measured, video: Reference): void {
  line(`${name}/first`, own.first, 'ms');
  line(`${name}/first/video`, video.first, 'ms');
  line(`${name}/step/p50`, quantile(own.step, 0.5), 'ms');
  line(`${name}/step/p99`, quantile(own.step, 0.99), 'ms');
  line(`${name}/step-painted/p50`, quantile(own.paintedStep, 0.5), 'ms');
  line(`${name}/step-painted/p99`, quantile(own.paintedStep, 0.99), 'ms');
  line(`${name}/step/video/p50`, quantile(video.step, 0.5), 'ms');
  line(`${name}/step/video/p99`, quantile(video.step, 0.99), 'ms');
  line(`${name}/random-cold/p50`, quantile(own.random, 0.5), 'ms');
  line(`${name}/random-cold/p99`, quantile(own.random, 0.99), 'ms');
  line(`${name}/random/video/p50`, quantile(video.random, 0.5), 'ms');
  line(`${name}/random/video/p99`, quantile(video.random, 0.99), 'ms');
  line(`${name}/random-cold/ratio`, quantile(own.random, 0.5) / quantile(video.random, 0.5), 'of video');
  line(`${name}/scrub`, own.scrubsPerSecond, 'frames/s');
  line(`${name}/play/dropped`, own.played.dropped, `frames of ${own.played.due}`);
  line(`${name}/play/video/presented`, video.presented, 'frames of 240');
}
