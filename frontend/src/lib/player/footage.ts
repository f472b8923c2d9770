import { DecodedPictures } from './decoded';
import { ElementPictures } from './element';
import { play, type Elapsed } from './play';
import type { FrameTimes } from './times';
import {
  isCancelled,
  PlaybackError,
  type Direction,
  type FallbackReason,
  type Pictures,
  type Run,
  type RunHooks,
  type RunStats,
} from './types';

export interface FootageOptions {
  /** Where the review copy is. */
  url: string;
  times: FrameTimes;
  /** Frames per second of the review copy. */
  copyRate: number;
  budgetBytes?: number;
  signal?: AbortSignal;
  /** The decoder cannot serve, or gave up mid-shot: pictures come from a media element from now on. */
  onFallback?(reason: FallbackReason): void;
}

/** Why this page cannot use the frame decoder at all; null when it can. */
export function decoderMissing(): FallbackReason | null {
  if (typeof VideoDecoder !== 'undefined') return null;
  return window.isSecureContext ? 'no-decoder' : 'insecure';
}

/** The pictures of one revision: the frame decoder while it serves, a media element when it does not. */
export class Footage implements Pictures {
  #serving: DecodedPictures | ElementPictures;
  #switching?: Promise<ElementPictures>;

  private constructor(
    serving: DecodedPictures | ElementPictures,
    private readonly options: FootageOptions,
  ) {
    this.#serving = serving;
  }

  static async open(options: FootageOptions): Promise<Footage> {
    const reason = decoderMissing();
    if (reason) return Footage.#fallBack(options, reason);
    try {
      const { url, budgetBytes, signal } = options;
      const expect = options.times.starts.length;
      return new Footage(await DecodedPictures.open(url, { budgetBytes, expect, signal }), options);
    } catch (error) {
      // A copy that disagrees with its table is wrong for any player; a missing decoder is not.
      if (!(error instanceof PlaybackError) || error.fault !== 'unsupported') throw error;
      return Footage.#fallBack(options, 'unsupported');
    }
  }

  static async #fallBack(options: FootageOptions, reason: FallbackReason): Promise<Footage> {
    const footage = new Footage(await openElement(options), options);
    options.onFallback?.(reason);
    return footage;
  }

  /** False once pictures come from a media element. */
  get decoded(): boolean {
    return this.#serving instanceof DecodedPictures;
  }

  get count(): number {
    return this.#serving.count;
  }

  get width(): number {
    return this.#serving.width;
  }

  get height(): number {
    return this.#serving.height;
  }

  peek(i: number): CanvasImageSource | undefined {
    return this.#serving.peek(i);
  }

  aim(i: number, direction?: Direction): void {
    this.#serving.aim(i, direction);
  }

  async frame(i: number, signal?: AbortSignal): Promise<CanvasImageSource> {
    try {
      return await this.#serving.frame(i, signal);
    } catch (error) {
      const lost = error instanceof PlaybackError && error.fault !== 'closed';
      if (isCancelled(error) || !lost || this.#serving instanceof ElementPictures) throw error;
      await this.#switch();
      return this.#serving.frame(i, signal);
    }
  }

  /** Plays a run; see `play`. */
  run(run: Run, hooks: RunHooks, elapsed?: Elapsed): Promise<RunStats> {
    return play(this, this.options.times, run, hooks, elapsed);
  }

  close(): void {
    this.#serving.close();
    void this.#switching?.then((element) => element.close());
  }

  #switch(): Promise<ElementPictures> {
    this.#switching ??= openElement(this.options).then((element) => {
      this.#serving.close();
      this.#serving = element;
      this.options.onFallback?.('failed');
      return element;
    });
    return this.#switching;
  }
}

function openElement(options: FootageOptions): Promise<ElementPictures> {
  const { url, copyRate, budgetBytes, signal } = options;
  return ElementPictures.open(url, { count: options.times.starts.length, copyRate, budgetBytes, signal });
}
