import type { Clip } from '../../frametrue/clips';
import { fitted } from '../../../src/lib/geometry';
import { Footage, frameTimes, type Run } from '../../../src/lib/player';
import { paintPicture } from '../../../src/lib/scene/canvas';

/** Milliseconds of many tries of one thing, and what playing showed. */
export interface Measured {
  first: number;
  step: number[];
  paintedStep: number[];
  random: number[];
  scrubsPerSecond: number;
  played: { due: number; shown: number; dropped: number };
}

/** The same of a bare `<video>` element. */
export interface Reference {
  first: number;
  step: number[];
  random: number[];
  presented: number;
}

const STEPS = 200;
const RANDOMS = 60;
const SCRUB_MS = 3000;
/** Holds a whole clip of 240 frames at 720p. */
const WARM_BYTES = 400 << 20;
/** Holds as little as the player allows: almost every random frame must be decoded. */
const COLD_BYTES = 1;

const canvas = document.querySelector('canvas') as HTMLCanvasElement;
const ctx = canvas.getContext('2d') as CanvasRenderingContext2D;

function paint(picture: CanvasImageSource, clip: Clip): void {
  const { width, height } = clip.size;
  paintPicture(ctx, picture, fitted(canvas.width, canvas.height, width, height));
}

/** Frame numbers that look random and are the same each time (Park and Miller's generator, 1988). */
function randomNumbers(count: number): () => number {
  let state = 20261125;
  return () => (state = (state * 48271) % 2147483647) % count;
}

async function timed(deed: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await deed();
  return performance.now() - start;
}

const open = (clip: Clip, budgetBytes: number): Promise<Footage> => {
  const { pts, num, den, lastDuration } = clip.table;
  const times = frameTimes(pts, { num, den }, lastDuration);
  return Footage.open({ url: `/${clip.name}.mp4`, times, copyRate: clip.copyRate, budgetBytes });
};

async function measure(clip: Clip): Promise<Measured> {
  let footage!: Footage;
  const first = await timed(async () => {
    footage = await open(clip, WARM_BYTES);
    paint(await footage.frame(0), clip);
  });
  for (let i = 0; i < clip.frames; i++) await footage.frame(i);
  const step: number[] = [];
  const paintedStep: number[] = [];
  const last = clip.frames - 1;
  for (let k = 0; k < STEPS; k++) {
    // To and fro over the end of the clip, all of it at hand.
    const i = last - Math.abs((k % 60) - 30);
    step.push(await timed(() => footage.frame(i)));
    paintedStep.push(await timed(async () => paint(await footage.frame(i), clip)));
  }
  const scrubsPerSecond = await scrubs(footage, clip);
  const played = await playAll(footage, clip);
  footage.close();
  return { first, step, paintedStep, random: await coldRandoms(clip), scrubsPerSecond, played };
}

async function scrubs(footage: Footage, clip: Clip): Promise<number> {
  let shown = 0;
  const start = performance.now();
  for (let i = 0; performance.now() - start < SCRUB_MS; i = (i + 3) % clip.frames) {
    paint(await footage.frame(i), clip);
    shown++;
    await new Promise(requestAnimationFrame);
  }
  return (shown * 1000) / (performance.now() - start);
}

async function playAll(footage: Footage, clip: Clip): Promise<Measured['played']> {
  const run: Run = { first: 0, last: clip.frames - 1, direction: 1, rate: 1, loop: false };
  await footage.frame(0);
  return footage.run(run, { show: (picture) => paint(picture, clip), signal: new AbortController().signal });
}

async function coldRandoms(clip: Clip): Promise<number[]> {
  const footage = await open(clip, COLD_BYTES);
  const next = randomNumbers(clip.frames);
  const out: number[] = [];
  while (out.length < RANDOMS) {
    const i = next();
    if (footage.peek(i)) continue;
    out.push(await timed(async () => paint(await footage.frame(i), clip)));
  }
  footage.close();
  return out;
}

async function reference(clip: Clip): Promise<Reference> {
  const video = document.createElement('video');
  Object.assign(video, { muted: true, playsInline: true, preload: 'auto' });
  const presented = () => new Promise<void>((resolve) => video.requestVideoFrameCallback(() => resolve()));
  const first = await timed(async () => {
    const up = presented();
    video.src = `/${clip.name}.mp4`;
    await up;
    paint(video, clip);
  });
  // A picture that was decoded for the seek is not always handed out as a new one; the seek's own end always comes.
  const seeked = () => new Promise((resolve) => video.addEventListener('seeked', resolve, { once: true }));
  const seek = async (i: number) => {
    const up = Promise.race([presented(), seeked()]);
    video.currentTime = (i + 0.5) / clip.copyRate;
    await up;
    paint(video, clip);
  };
  const next = randomNumbers(clip.frames);
  const random: number[] = [];
  let before = 0;
  while (random.length < RANDOMS) {
    const i = next();
    if (i === before) continue;
    before = i;
    random.push(await timed(() => seek(i)));
  }
  const step: number[] = [];
  for (let k = 0; k < RANDOMS; k++) step.push(await timed(() => seek(20 + k)));
  return { first, step, random, presented: await playThrough(video) };
}

/** Frames the element hands out while it plays from the start to the end. */
async function playThrough(video: HTMLVideoElement): Promise<number> {
  video.currentTime = 0;
  await new Promise((resolve) => video.addEventListener('seeked', resolve, { once: true }));
  let shown = 0;
  const count = () => {
    shown++;
    video.requestVideoFrameCallback(count);
  };
  video.requestVideoFrameCallback(count);
  const ended = new Promise((resolve) => video.addEventListener('ended', resolve, { once: true }));
  await video.play();
  await ended;
  return shown;
}

declare global {
  interface Window {
    measure: typeof measure;
    reference: typeof reference;
  }
}

window.measure = measure;
window.reference = reference;
