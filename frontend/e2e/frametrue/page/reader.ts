import { fitted } from '../../../src/lib/geometry';
import { Footage, frameTimes, isCancelled, play, type Pictures, type Run } from '../../../src/lib/player';
import { paintPicture } from '../../../src/lib/scene/canvas';
import { readBarcode } from '../barcode';
import type { Clip } from '../clips';

/** How pictures are asked for while their numbers are read. */
export type Mode = 'forwards' | 'backwards' | 'random' | 'cancelled' | 'playing' | 'playing-back' | 'loop';

/** What was read off the painted canvas. */
export interface Reading {
  reads: number;
  wrong: number;
  /** The first few that were wrong: frame asked for, number read. */
  examples: [asked: number, read: number][];
  /** Whether the frame decoder served to the end. */
  decoded: boolean;
  fallback: string | null;
}

/** How long one run of playing took against what its table says. */
export interface Lasting {
  tableMs: number;
  realMs: number;
  due: number;
  dropped: number;
}

export interface OpenOptions {
  clip: Clip;
  /** A player that is off by one on purpose. */
  wrong?: boolean;
}

const canvas = document.querySelector('canvas') as HTMLCanvasElement;
const ctx = canvas.getContext('2d') as CanvasRenderingContext2D;

class Reader {
  #reading: Reading = { reads: 0, wrong: 0, examples: [], decoded: true, fallback: null };

  constructor(
    private readonly clip: Clip,
    private readonly footage: Footage,
    private readonly pictures: Pictures,
    private readonly fallback: () => string | null,
  ) {}

  async read(mode: Mode, reads: number): Promise<Reading> {
    this.#reading = { reads: 0, wrong: 0, examples: [], decoded: true, fallback: null };
    if (mode === 'playing' || mode === 'playing-back' || mode === 'loop') await this.#whilePlaying(mode, reads);
    else await this.#stepping(mode, reads);
    return { ...this.#reading, decoded: this.footage.decoded, fallback: this.fallback() };
  }

  async lasts(): Promise<Lasting> {
    const { times, last } = this.#whole();
    const run: Run = { first: 0, last, direction: 1, rate: 1, loop: false };
    await this.pictures.frame(0);
    const start = performance.now();
    const stats = await this.footage.run(run, { show: (p) => this.#paint(p), signal: new AbortController().signal });
    return { tableMs: times.endMs, realMs: performance.now() - start, due: stats.due, dropped: stats.dropped };
  }

  close(): void {
    this.footage.close();
  }

  #whole() {
    const { pts, num, den, lastDuration } = this.clip.table;
    return { times: frameTimes(pts, { num, den }, lastDuration), last: this.clip.frames - 1 };
  }

  async #stepping(mode: Mode, reads: number): Promise<void> {
    const { frames } = this.clip;
    const spread = randomNumbers(frames);
    for (let k = 0; k < reads; k++) {
      const i = mode === 'forwards' ? k % frames : mode === 'backwards' ? frames - 1 - (k % frames) : spread();
      if (mode === 'cancelled') this.#abandon(spread());
      this.#check(await this.pictures.frame(i), i);
    }
  }

  /** Asks for a frame and changes its mind. */
  #abandon(i: number): void {
    const control = new AbortController();
    this.pictures.frame(i, control.signal).catch((error: unknown) => {
      if (!isCancelled(error)) this.#note(i, -2);
    });
    setTimeout(() => control.abort(), 3);
  }

  async #whilePlaying(mode: Mode, reads: number): Promise<void> {
    const { times, last } = this.#whole();
    const loop: Run = { first: last >> 2, last: (last >> 2) + 15, direction: 1, rate: 1, loop: true };
    const whole: Run = { first: 0, last, direction: mode === 'playing-back' ? -1 : 1, rate: 1, loop: true };
    const control = new AbortController();
    const show = (picture: CanvasImageSource, i: number) => {
      this.#check(picture, i);
      if (this.#reading.reads >= reads) control.abort();
    };
    await play(this.pictures, times, mode === 'loop' ? loop : whole, { show, signal: control.signal });
  }

  #paint(picture: CanvasImageSource): void {
    const { width, height } = canvas;
    paintPicture(ctx, picture, fitted(width, height, width, height));
  }

  #check(picture: CanvasImageSource, i: number): void {
    this.#paint(picture);
    const read = readBarcode(ctx);
    this.#reading.reads++;
    if (read !== i) this.#note(i, read);
  }

  #note(asked: number, read: number): void {
    this.#reading.wrong++;
    if (this.#reading.examples.length < 5) this.#reading.examples.push([asked, read]);
  }
}

/** Frame numbers that look random and are the same each time (Park and Miller's generator, 1988). */
function randomNumbers(count: number): () => number {
  let state = 20261125;
  return () => (state = (state * 48271) % 2147483647) % count;
}

/** A player every test must catch: each picture is the one after. */
function offByOne(pictures: Pictures): Pictures {
  const next = (i: number) => Math.min(pictures.count - 1, i + 1);
  return {
    count: pictures.count,
    width: pictures.width,
    height: pictures.height,
    peek: (i) => pictures.peek(next(i)),
    frame: (i, signal) => pictures.frame(next(i), signal),
    aim: (i, direction) => pictures.aim(next(i), direction),
    close: () => pictures.close(),
  };
}

async function openReader({ clip, wrong }: OpenOptions): Promise<Reader> {
  let fallback: string | null = null;
  const { pts, num, den, lastDuration } = clip.table;
  const footage = await Footage.open({
    url: `/${clip.name}.mp4`,
    times: frameTimes(pts, { num, den }, lastDuration),
    copyRate: clip.copyRate,
    onFallback: (reason) => (fallback = reason),
  });
  return new Reader(clip, footage, wrong ? offByOne(footage) : footage, () => fallback);
}

declare global {
  interface Window {
    openReader: typeof openReader;
    reader?: Reader;
  }
}

window.openReader = openReader;
