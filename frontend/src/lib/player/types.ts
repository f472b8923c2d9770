/** Playing direction: 1 forwards, -1 backwards. */
export type Direction = 1 | -1;

/** Why pictures come from a `<video>` element instead of the frame decoder. */
export type FallbackReason = 'insecure' | 'no-decoder' | 'unsupported' | 'failed';

/** What a source of pictures can fail with, other than being cancelled. */
export type PlaybackFault = 'unreadable' | 'count' | 'order' | 'unsupported' | 'decoder' | 'closed';

export class PlaybackError extends Error {
  constructor(
    readonly fault: PlaybackFault,
    message: string,
    options?: ErrorOptions,
  ) {
    super(message, options);
    this.name = 'PlaybackError';
  }
}

/** The rejection of a demand that its own signal cancelled. */
export const cancelled = (): DOMException => new DOMException('cancelled', 'AbortError');

export const isCancelled = (error: unknown): boolean => error instanceof DOMException && error.name === 'AbortError';

/** One run of playing: a span of frames, a direction, a speed. Frames count from 0, both ends included. */
export interface Run {
  first: number;
  last: number;
  /** Where to begin; the first frame of the direction when absent. */
  from?: number;
  direction: Direction;
  rate: number;
  loop: boolean;
}

export interface RunStats {
  /** Frames whose time came. */
  due: number;
  shown: number;
  dropped: number;
}

export interface RunHooks {
  /** Draw now: the picture is borrowed. Called once for every frame shown. */
  show(picture: CanvasImageSource, frame: number): void;
  /** A loop began its next round. */
  lap?(): void;
  signal: AbortSignal;
}

/**
 * Frames by number. Frame i is entry i of the frame table, whatever made the picture.
 * Pictures are borrowed: draw them in the same task, or copy them.
 */
export interface Pictures {
  readonly count: number;
  readonly width: number;
  readonly height: number;
  /** The picture of frame i, when it is ready now. */
  peek(i: number): CanvasImageSource | undefined;
  /** The picture of frame i. Rejects with an AbortError when cancelled, else with a PlaybackError. */
  frame(i: number, signal?: AbortSignal): Promise<CanvasImageSource>;
  /** Tells where the eye is; what is decoded ahead and what is let go follow it. */
  aim(i: number, direction?: Direction): void;
  close(): void;
}
