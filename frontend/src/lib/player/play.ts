import { Course, type Due } from './course';
import type { FrameTimes } from './times';
import type { Pictures, Run, RunHooks, RunStats } from './types';

/** Milliseconds gone since a run began, measured by whatever is the clock: the page's, or the sound's. */
export type Elapsed = () => number;

/** A clock of the page, starting now. */
export function wallClock(): Elapsed {
  const start = performance.now();
  return () => performance.now() - start;
}

/**
 * Plays a run on animation frames. What is due follows the frame table; when a frame is late, the newest
 * one that is ready is shown, and only one is ever waited for. Resolves when the run ends or is aborted.
 */
export function play(
  pictures: Pictures,
  times: FrameTimes,
  run: Run,
  hooks: RunHooks,
  elapsed: Elapsed = wallClock(),
): Promise<RunStats> {
  return new Promise((resolve) => {
    const player = new RunPlayer(pictures, new Course(run, times), hooks);
    const tick = () => {
      if (player.step(elapsed())) requestAnimationFrame(tick);
      else resolve(player.end());
    };
    requestAnimationFrame(tick);
  });
}

class RunPlayer {
  #last?: number;
  #firstOrdinal = 0;
  #lap = 0;
  #shown = 0;
  #due = 0;
  #waiting?: { frame: number; control: AbortController };

  constructor(
    private readonly pictures: Pictures,
    private readonly course: Course,
    private readonly hooks: RunHooks,
  ) {}

  /** One animation frame; false when the run is over. */
  step(elapsedMs: number): boolean {
    if (this.hooks.signal.aborted) return false;
    const due = this.course.due(elapsedMs);
    if (!due) {
      this.#due = this.course.frames - this.#firstOrdinal;
      return false;
    }
    if (this.#last === undefined) this.#begin(due);
    if (due.lap > this.#lap) {
      this.#lap = due.lap;
      this.hooks.lap?.();
    }
    if (due.ordinal !== this.#last) this.#seek(due);
    return true;
  }

  end(): RunStats {
    this.#waiting?.control.abort();
    const due = Math.max(this.#due, (this.#last ?? -1) + 1 - this.#firstOrdinal);
    return { due, shown: this.#shown, dropped: due - this.#shown };
  }

  #begin(due: Due): void {
    this.#firstOrdinal = due.ordinal;
    this.#last = due.ordinal - 1;
  }

  #seek(due: Due): void {
    const { direction, first, last } = this.course.run;
    this.pictures.aim(due.frame, direction);
    if (!this.pictures.peek(due.frame)) this.#wait(due.frame);
    const passed = direction > 0 ? due.frame - first : last - due.frame;
    const late = Math.min(due.ordinal - (this.#last ?? 0) - 1, passed);
    for (let back = 0; back <= late; back++) {
      const frame = due.frame - back * direction;
      const picture = this.pictures.peek(frame);
      if (!picture) continue;
      this.#last = due.ordinal - back;
      this.#shown++;
      this.hooks.show(picture, frame);
      return;
    }
  }

  #wait(frame: number): void {
    if (this.#waiting?.frame === frame) return;
    this.#waiting?.control.abort();
    const control = new AbortController();
    this.#waiting = { frame, control };
    // A frame that fails here is simply not shown; whoever stands still on it is told.
    this.pictures.frame(frame, control.signal).catch(() => undefined);
  }
}
