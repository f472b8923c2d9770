import type { Run } from './types';
import { endOf, frameAt, type FrameTimes } from './times';

/** What is due at one moment of a run. */
export interface Due {
  frame: number;
  /** How many whole rounds are behind us. */
  lap: number;
  /** Running number of the frame over all rounds: grows by one a frame. */
  ordinal: number;
}

/** A run laid over the frame table: elapsed time in, frame out. Pure. */
export class Course {
  readonly frames: number;
  /** Length of one round in table time. */
  readonly spanMs: number;
  readonly #offsetMs: number;

  constructor(
    readonly run: Run,
    readonly times: FrameTimes,
  ) {
    const { first, last, direction } = run;
    this.frames = last - first + 1;
    this.spanMs = endOf(times, last) - times.starts[first];
    const from = Math.min(last, Math.max(first, run.from ?? (direction > 0 ? first : last)));
    this.#offsetMs = direction > 0 ? times.starts[from] - times.starts[first] : endOf(times, last) - endOf(times, from);
  }

  /** What is due `elapsedMs` of real time after the start; null when the run is over. */
  due(elapsedMs: number): Due | null {
    const ms = Math.max(0, elapsedMs) * this.run.rate + this.#offsetMs;
    const lap = this.spanMs > 0 ? Math.floor(ms / this.spanMs) : 1;
    if (lap > 0 && !this.run.loop) return null;
    return this.#within(ms - lap * this.spanMs, lap);
  }

  #within(ms: number, lap: number): Due {
    const { first, last, direction } = this.run;
    const start = this.times.starts[first];
    // Backwards, a moment belongs to the frame that ends there, not to the one that starts there.
    const at = direction > 0 ? start + ms : start + this.spanMs - ms - 1e-6;
    const frame = Math.min(last, Math.max(first, frameAt(this.times, at)));
    const passed = direction > 0 ? frame - first : last - frame;
    return { frame, lap, ordinal: lap * this.frames + passed };
  }

  /** Real time until the run is over; endless when it loops. */
  get lengthMs(): number {
    return this.run.loop ? Infinity : (this.spanMs - this.#offsetMs) / this.run.rate;
  }
}
