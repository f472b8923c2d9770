import type { Elapsed } from './play';
import type { Run } from './types';

/** Sound is heard at natural speed forwards only; elsewhere it would be noise. */
export const canSound = (run: Run): boolean => run.direction > 0 && run.rate === 1;

/** The sound of a shot, kept beside the review copy. While it plays, it is the clock. */
export class Sound {
  readonly #audio: HTMLAudioElement;

  constructor(url: string) {
    this.#audio = new Audio();
    this.#audio.preload = 'auto';
    this.#audio.src = url;
  }

  set muted(muted: boolean) {
    this.#audio.muted = muted;
  }

  /**
   * Starts at `fromMs` of the shot and hands back the clock of the run. Where the sound stops, stalls or ends
   * before the picture does, the page's own clock carries on from there.
   */
  start(fromMs: number): SoundClock {
    this.#audio.currentTime = fromMs / 1000;
    void this.#audio.play().catch(() => undefined); // refused or missing sound: the picture plays on its own clock
    return new SoundClock(this.#audio, fromMs);
  }

  stop(): void {
    this.#audio.pause();
  }

  close(): void {
    this.#audio.pause();
    this.#audio.removeAttribute('src');
    this.#audio.load();
  }
}

/** Ahead or behind by more than this, the clock jumps to the sound instead of leaning towards it. */
const JUMP_MS = 120;
/** Share of the difference to the sound that is made good at each reading. */
const LEAN = 0.1;

/** Elapsed time that never runs backwards and leans on the sound while it is heard. */
export class SoundClock {
  #elapsedMs = 0;
  #readMs = performance.now();
  #lapMs = 0;

  constructor(
    private readonly audio: Pick<HTMLAudioElement, 'currentTime' | 'paused' | 'ended' | 'readyState' | 'play'>,
    private readonly fromMs: number,
  ) {}

  readonly elapsed: Elapsed = () => {
    const now = performance.now();
    const free = this.#elapsedMs + (now - this.#readMs);
    this.#readMs = now;
    const { audio } = this;
    const heard = !audio.paused && !audio.ended && audio.readyState >= 3;
    const sound = heard ? this.#lapMs + audio.currentTime * 1000 - this.fromMs : free;
    const error = sound - free;
    const next = Math.abs(error) > JUMP_MS ? sound : free + error * LEAN;
    this.#elapsedMs = Math.max(this.#elapsedMs, next);
    return this.#elapsedMs;
  };

  /** A new round begins at `startMs` of the shot, now. */
  lap(startMs: number): void {
    this.#lapMs = this.#elapsedMs + this.fromMs - startMs;
    this.audio.currentTime = startMs / 1000;
    if (this.audio.paused || this.audio.ended) void this.audio.play().catch(() => undefined);
  }
}
