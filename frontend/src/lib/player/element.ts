import { nextWanted } from './order';
import { cancelled, PlaybackError, type Direction, type Pictures } from './types';
import { FrameWindow, windowCapacity } from './window';

export interface ElementOptions {
  /** Frames the table has. */
  count: number;
  /** Frames per second of the review copy, which is constant whatever the source's was. */
  copyRate: number;
  budgetBytes?: number;
  signal?: AbortSignal;
}

const BUDGET_BYTES = 256 << 20;
const SEEK_TIMEOUT_MS = 8000;
const SEEK_ATTEMPTS = 6;
/** How long a seek that has ended may still present its picture. */
const SETTLE_MS = 200;

interface Job {
  i: number;
  signal?: AbortSignal;
  resolve(picture: ImageBitmap): void;
  reject(error: unknown): void;
}

/**
 * Pictures from a paused `<video>` element: each frame by a seek to its middle and a copy of what is presented,
 * its number checked against the browser's `mediaTime`. The element never plays by itself: while it does, what
 * is drawn from it can already be the next frame. Playing shows fewer frames this way, each of them the right one.
 */
export class ElementPictures implements Pictures {
  readonly width: number;
  readonly height: number;
  readonly count: number;
  readonly #window: FrameWindow<ImageBitmap>;
  #job?: Job;
  #busy = false;
  #closed = false;
  /** The frame that is up; the first one when the element has just loaded. */
  #presented = 0;
  #onpresented?: () => void;
  readonly #tellsFrames: boolean;
  #direction: Direction = 1;

  private constructor(
    private readonly video: HTMLVideoElement,
    private readonly options: ElementOptions,
  ) {
    this.width = video.videoWidth;
    this.height = video.videoHeight;
    this.count = options.count;
    this.#tellsFrames = 'requestVideoFrameCallback' in video;
    this.#watch();
    // A bitmap takes four bytes a pixel where a decoded frame takes one and a half.
    const budget = (options.budgetBytes ?? BUDGET_BYTES) * (1.5 / 4);
    this.#window = new FrameWindow(windowCapacity(budget, this.width, this.height, 1));
  }

  static async open(url: string, options: ElementOptions): Promise<ElementPictures> {
    const video = document.createElement('video');
    Object.assign(video, { muted: true, playsInline: true, preload: 'auto', src: url });
    const { signal } = options;
    await new Promise<void>((resolve, reject) => {
      const refuse = () => reject(new PlaybackError('unreadable', 'the review copy could not be read by the browser'));
      video.addEventListener('loadeddata', () => resolve(), { once: true });
      video.addEventListener('error', refuse, { once: true });
      signal?.addEventListener('abort', () => reject(cancelled()), { once: true });
    });
    const pictures = new ElementPictures(video, options);
    signal?.addEventListener('abort', () => pictures.close(), { once: true });
    return pictures;
  }

  peek(i: number): ImageBitmap | undefined {
    return this.#window.get(i);
  }

  aim(i: number, direction?: Direction): void {
    if (direction) this.#direction = direction;
    else if (i !== this.#window.head) this.#direction = i > this.#window.head ? 1 : -1;
    this.#window.head = i;
    void this.#work();
  }

  frame(i: number, signal?: AbortSignal): Promise<ImageBitmap> {
    if (!Number.isInteger(i) || i < 0 || i >= this.count) return Promise.reject(new RangeError(`no frame ${i}`));
    if (this.#closed) return Promise.reject(new PlaybackError('closed', 'the player is closed'));
    if (signal?.aborted) return Promise.reject(cancelled());
    const ready = this.#window.get(i);
    if (ready) {
      this.aim(i);
      return Promise.resolve(ready);
    }
    return new Promise((resolve, reject) => {
      // One seek at a time: of the frames asked for meanwhile only the newest is worth seeking.
      this.#job?.reject(cancelled());
      this.#job = { i, signal, resolve, reject };
      this.aim(i);
    });
  }

  close(): void {
    this.#closed = true;
    this.#job?.reject(cancelled());
    this.#job = undefined;
    this.#window.clear();
    this.video.pause();
    this.video.removeAttribute('src');
    this.video.load();
  }

  /** Serves the frame asked for, then fills the window around it. */
  async #work(): Promise<void> {
    if (this.#busy) return;
    this.#busy = true;
    while (!this.#closed) {
      const job = this.#job;
      this.#job = undefined;
      if (job?.signal?.aborted) job.reject(cancelled());
      else if (job) await this.#seek(job.i).then(job.resolve, job.reject);
      else if (!(await this.#fill())) break;
    }
    this.#busy = false;
  }

  /** One frame ahead of need; false when nothing is missing, or a frame cannot be had. */
  async #fill(): Promise<boolean> {
    const { head, capacity } = this.#window;
    const missing = (i: number) => !this.#window.has(i);
    const common = { demands: [], filling: -1, quiet: false, count: this.count, direction: this.#direction };
    const i = nextWanted({ ...common, head, capacity, missing });
    if (i < 0) return false;
    return this.#seek(i).then(
      () => true,
      () => false,
    );
  }

  async #seek(i: number): Promise<ImageBitmap> {
    for (let attempt = 0; attempt < SEEK_ATTEMPTS; attempt++) {
      // Another place within the same frame each time: a seek to where the element stands presents nothing.
      const within = 0.5 + ((attempt % 3) - 1) * 0.1;
      await this.#goTo(i, (i + within) / this.options.copyRate);
      if (this.#closed) throw cancelled();
      if (this.#tellsFrames && this.#presented !== i) continue;
      const bitmap = await createImageBitmap(this.video);
      if (this.#closed || (this.#tellsFrames && this.#presented !== i)) {
        bitmap.close();
        if (this.#closed) throw cancelled();
        continue;
      }
      this.#window.put(i, bitmap);
      return bitmap;
    }
    throw new PlaybackError('decoder', `the browser does not present frame ${i}`);
  }

  /** Seeks, and resolves when frame i is presented, or when the seek is over and nothing more comes. */
  #goTo(i: number, timeS: number): Promise<void> {
    const { video } = this;
    return new Promise((resolve, reject) => {
      const lost = () => reject(new PlaybackError('decoder', 'the browser did not reach the frame'));
      let timer = setTimeout(lost, SEEK_TIMEOUT_MS);
      const done = () => {
        clearTimeout(timer);
        video.removeEventListener('seeked', seeked);
        this.#onpresented = undefined;
        resolve();
      };
      const seeked = () => {
        clearTimeout(timer);
        timer = setTimeout(done, this.#tellsFrames && this.#presented === i ? 0 : SETTLE_MS);
      };
      this.#onpresented = () => {
        if (this.#presented === i && !video.seeking) done();
      };
      video.addEventListener('seeked', seeked);
      video.currentTime = timeS;
    });
  }

  /** Keeps track of the frame that is up, by the browser's own word. */
  #watch(): void {
    if (!this.#tellsFrames || this.#closed) return;
    this.video.requestVideoFrameCallback((_, { mediaTime }) => {
      this.#presented = Math.round(mediaTime * this.options.copyRate);
      this.#onpresented?.();
      this.#watch();
    });
  }
}
