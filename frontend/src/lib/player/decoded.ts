import { Copy } from './copy';
import { FrameDecoder, supportedConfig } from './decoder';
import { nextWanted } from './order';
import { cancelled, PlaybackError, type Direction, type Pictures } from './types';
import { FrameWindow, windowCapacity } from './window';

export interface DecodedOptions {
  /** Memory for decoded frames. Two players side by side take half each. */
  budgetBytes?: number;
  /** Frames the table has; a copy with another count is refused. */
  expect?: number;
  signal?: AbortSignal;
}

interface Demand {
  i: number;
  resolve(frame: VideoFrame): void;
  reject(error: unknown): void;
}

const BUDGET_BYTES = 256 << 20;
/** After a jump nothing is decoded ahead for this long. */
const QUIET_MS = 60;
/** After a loss only demands are decoded for this long: decoding ahead must not lose one decoder after another. */
const REST_AFTER_LOSS_MS = 1000;
/** Losing the decoder this often in a row without one frame gained is for good. */
const MAX_LOSSES = 3;
/** A decoder that gives nothing back for this long is taken for lost. */
const STALL_MS = 10_000;

/** Pictures decoded on demand from the review copy, through WebCodecs. */
export class DecodedPictures implements Pictures {
  readonly width: number;
  readonly height: number;
  readonly #window: FrameWindow<VideoFrame>;
  readonly #decoder: FrameDecoder;
  #demands: Demand[] = [];
  #direction: Direction = 1;
  #filling = -1;
  #quietUntilMs = 0;
  #pumping = false;
  #closed = false;
  #losses = 0;
  #wake?: () => void;

  private constructor(
    private readonly copy: Copy,
    config: VideoDecoderConfig,
    budgetBytes: number,
  ) {
    this.width = copy.config.codedWidth ?? 0;
    this.height = copy.config.codedHeight ?? 0;
    this.#window = new FrameWindow(windowCapacity(budgetBytes, this.width, this.height, copy.longestGroup));
    this.#decoder = new FrameDecoder(config, {
      frame: (i, frame) => this.#keep(i, frame),
      lost: (error) => this.#lose(error),
    });
  }

  static async open(url: string, options: DecodedOptions = {}): Promise<DecodedPictures> {
    const copy = await Copy.open(url);
    try {
      if (options.expect !== undefined && options.expect !== copy.count)
        throw new PlaybackError('count', `the frame table has ${options.expect} frames, the review copy ${copy.count}`);
      const config = await supportedConfig(copy.config);
      if (options.signal?.aborted) throw cancelled();
      const pictures = new DecodedPictures(copy, config, options.budgetBytes ?? BUDGET_BYTES);
      options.signal?.addEventListener('abort', () => pictures.close(), { once: true });
      return pictures;
    } catch (error) {
      copy.close();
      throw error;
    }
  }

  get count(): number {
    return this.copy.count;
  }

  peek(i: number): VideoFrame | undefined {
    return this.#window.get(i);
  }

  aim(i: number, direction?: Direction): void {
    const head = this.#window.head;
    if (direction) this.#direction = direction;
    else if (i !== head) this.#direction = i > head ? 1 : -1;
    if (!direction && Math.abs(i - head) > 1) {
      this.#quietUntilMs = performance.now() + QUIET_MS;
      setTimeout(() => void this.#pump(), QUIET_MS + 5);
    }
    this.#window.head = i;
    void this.#pump();
  }

  frame(i: number, signal?: AbortSignal): Promise<VideoFrame> {
    if (!Number.isInteger(i) || i < 0 || i >= this.count) return Promise.reject(new RangeError(`no frame ${i}`));
    if (this.#closed) return Promise.reject(new PlaybackError('closed', 'the player is closed'));
    if (signal?.aborted) return Promise.reject(cancelled());
    const ready = this.#window.get(i);
    if (ready) {
      this.aim(i);
      return Promise.resolve(ready);
    }
    return new Promise((resolve, reject) => {
      this.#demand(i, resolve, reject, signal);
      this.#filling = -1;
      this.aim(i);
      this.#wake?.();
    });
  }

  close(): void {
    if (this.#closed) return;
    this.#closed = true;
    this.#window.clear();
    this.#decoder.reset();
    this.copy.close();
    for (const demand of this.#demands.splice(0)) demand.reject(cancelled());
    this.#wake?.();
  }

  #demand(i: number, resolve: Demand['resolve'], reject: Demand['reject'], signal?: AbortSignal): void {
    const settle = () => signal?.removeEventListener('abort', cancel);
    const demand: Demand = {
      i,
      resolve: (frame) => (settle(), resolve(frame)),
      reject: (error) => (settle(), reject(error)),
    };
    const cancel = () => {
      this.#demands = this.#demands.filter((d) => d !== demand);
      reject(cancelled());
    };
    signal?.addEventListener('abort', cancel, { once: true });
    this.#demands.push(demand);
  }

  #next(): number {
    const demands = this.#demands.map((d) => d.i);
    const next = nextWanted({
      demands,
      head: this.#window.head,
      direction: this.#direction,
      count: this.count,
      capacity: this.#window.capacity,
      filling: this.#filling,
      quiet: performance.now() < this.#quietUntilMs,
      missing: (i) => !this.#window.has(i) && !this.#decoder.inFlight.has(i),
    });
    if (!demands.includes(next)) this.#filling = next;
    return next;
  }

  /** Decodes until nothing is wanted. Runs once at a time; a newer demand changes its course between two frames. */
  async #pump(): Promise<void> {
    if (this.#pumping) return;
    this.#pumping = true;
    try {
      for (let target = this.#next(); target >= 0 && !this.#closed; target = this.#next()) await this.#advance(target);
    } catch (error) {
      this.#decoder.reset();
      this.#lose(error);
    } finally {
      this.#pumping = false;
    }
  }

  async #advance(target: number): Promise<void> {
    const key = this.copy.keyOf(target);
    const i = this.#decoder.step(target, key);
    const chunk = this.copy.chunk(i);
    if (!chunk) return this.copy.load(key);
    this.#decoder.feed(i, chunk);
    const depth = () => (this.#demands.length ? 2 : 1);
    while (this.#decoder.inFlight.size >= depth() && !this.#closed) await this.#output();
  }

  /** Waits for the decoder to give something back, or for a newer demand. */
  #output(): Promise<void> {
    return new Promise((resolve, reject) => {
      const stalled = () => reject(new PlaybackError('decoder', 'the decoder gave nothing back'));
      const timer = setTimeout(stalled, STALL_MS);
      this.#wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  }

  #keep(i: number, frame: VideoFrame): void {
    if (this.#closed) return frame.close();
    this.#losses = 0;
    this.#window.put(i, frame);
    const waiting = this.#demands.filter((d) => d.i === i);
    this.#demands = this.#demands.filter((d) => d.i !== i);
    for (const demand of waiting) demand.resolve(frame);
    this.#wake?.();
  }

  #lose(error: unknown): void {
    this.#filling = -1;
    this.#quietUntilMs = performance.now() + REST_AFTER_LOSS_MS;
    this.#wake?.();
    if (this.#closed || !this.#demands.length) return;
    if (++this.#losses < MAX_LOSSES) {
      setTimeout(() => void this.#pump());
      return;
    }
    const fault =
      error instanceof PlaybackError ? error : new PlaybackError('decoder', 'the decoder failed', { cause: error });
    for (const demand of this.#demands.splice(0)) demand.reject(fault);
  }
}
