import type { Footage as FootageRow, Span } from '$lib/api';
import { API_ROOT, type Telling } from '$lib/api';
import { fitted, panned, resized, zoomedAt, type ScreenPoint, type View } from '$lib/geometry';
import {
  canSound,
  Footage,
  frameTimes,
  isCancelled,
  Sound,
  type Direction,
  type FallbackReason,
  type FrameTimes,
  type Run,
} from '$lib/player';
import { pictureFailure } from './words';

/** Speeds that can be chosen, slowest first. */
export const RATES = [0.1, 0.25, 0.5, 0.75, 1, 1.5, 2] as const;
/** Most neighbouring frames ghosted either way. */
export const MAX_GHOSTS = 3;
/** Frames per second of every review copy; the real times are in the frame table. */
export const COPY_RATE = 24;

/** Told of every picture, in the task in which it may be drawn. */
export type PictureListener = (picture: CanvasImageSource, frame: number) => void;

export const timesOf = (row: FootageRow): FrameTimes => {
  if (!row.frame_table) throw new Error('the footage is not ready');
  const { pts, time_base, last_duration } = row.frame_table;
  return frameTimes(pts, time_base, last_duration);
};

const copyUrl = (row: FootageRow, large: boolean): string =>
  `${API_ROOT}/footage/${row.id}/copy${large ? '?size=large' : ''}`;

/** From this magnification on, a still is drawn from the larger copy where there is one. */
const FINE_FROM = 1.5;
/** Memory for frames of the larger copy: only stills are drawn from it. */
const FINE_BUDGET_BYTES = 48 << 20;

/** What is on the stage: one shot, the frame now shown, how it plays and how it is looked at. */
export class Viewer {
  frame = $state(0);
  /** The run being played. */
  running = $state.raw<Run | null>(null);
  rate = $state(1);
  loop = $state(false);
  span = $state.raw<Span | null>(null);
  /** First end of a span being chosen. */
  spanFrom = $state<number | null>(null);
  ready = $state(false);
  fallback = $state<FallbackReason | null>(null);
  failure = $state.raw<Telling | null>(null);
  view = $state.raw<View>(fitted(0, 0, 16, 9));
  bright = $state(false);
  hidden = $state(false);
  ghosts = $state(0);
  silent = $state(false);

  readonly count: number;
  readonly times: FrameTimes;
  readonly hasSound: boolean;
  #footage?: Footage;
  /** The larger copy, opened when somebody looks closely. */
  #fine?: Promise<Footage | null>;
  #sound?: Sound;
  #wanted?: AbortController;
  #stop?: AbortController;
  readonly #closing = new AbortController();
  #listeners: PictureListener[] = [];

  constructor(readonly row: FootageRow) {
    this.times = timesOf(row);
    this.count = row.frames;
    this.hasSound = row.sound;
    this.view = fitted(0, 0, row.width, row.height);
  }

  async open(budgetBytes?: number): Promise<void> {
    try {
      this.#footage = await Footage.open({
        url: copyUrl(this.row, false),
        times: this.times,
        copyRate: COPY_RATE,
        budgetBytes,
        signal: this.#closing.signal,
        onFallback: (reason) => (this.fallback = reason),
      });
      if (this.hasSound) this.#sound = new Sound(`${API_ROOT}/footage/${this.row.id}/sound`);
      this.ready = true;
      this.show(this.frame);
    } catch (error) {
      if (!isCancelled(error)) this.failure = pictureFailure(error);
    }
  }

  /** Hears of every picture shown, beginning with the present one. */
  listen(listener: PictureListener): () => void {
    this.#listeners.push(listener);
    this.repaint();
    return () => void (this.#listeners = this.#listeners.filter((other) => other !== listener));
  }

  /** Stands still on frame i. */
  show(i: number): void {
    this.stop();
    this.#goTo(i);
  }

  step(by: number): void {
    this.show(this.frame + by);
  }

  /** Draws the present frame again: the view or the canvas has changed. */
  repaint(): void {
    const ready = this.#footage?.peek(this.frame);
    if (ready) this.#tell(ready, this.frame);
    if (this.ready && !this.running && (!ready || this.#closeUp)) this.#goTo(this.frame);
  }

  /** A frame beside the present one, if it is at hand; asked for if it is not. */
  beside(i: number): CanvasImageSource | undefined {
    if (!this.#footage || i < 0 || i >= this.count) return undefined;
    return this.#footage.peek(i);
  }

  /** Frame i as soon as it can be had. */
  async frameOf(i: number, signal: AbortSignal): Promise<CanvasImageSource | undefined> {
    return this.#footage?.frame(Math.min(this.count - 1, Math.max(0, i)), signal);
  }

  #goTo(i: number): void {
    const frame = Math.min(this.count - 1, Math.max(0, Math.round(i)));
    this.frame = frame;
    this.#wanted?.abort();
    const wanted = (this.#wanted = new AbortController());
    this.#footage?.frame(frame, wanted.signal).then(
      (picture) => {
        if (this.frame !== frame || wanted.signal.aborted) return;
        this.#tell(picture, frame);
        void this.#refine(frame, wanted.signal);
      },
      (error: unknown) => {
        if (!isCancelled(error)) this.failure = pictureFailure(error);
      },
    );
  }

  get #closeUp(): boolean {
    return this.row.large !== null && this.view.zoom >= FINE_FROM;
  }

  /** Looked at closely, the frame is drawn again from the larger copy. Without one, it stays as it is. */
  async #refine(frame: number, signal: AbortSignal): Promise<void> {
    if (!this.#closeUp) return;
    this.#fine ??= this.#openFine();
    const fine = await this.#fine;
    const picture = await fine?.frame(frame, signal).catch(() => undefined);
    if (picture && !signal.aborted && this.frame === frame && !this.running) this.#tell(picture, frame);
  }

  #openFine(): Promise<Footage | null> {
    const { times } = this;
    const options = { times, copyRate: COPY_RATE, budgetBytes: FINE_BUDGET_BYTES, signal: this.#closing.signal };
    return Footage.open({ ...options, url: copyUrl(this.row, true) }).catch(() => null);
  }

  #tell(picture: CanvasImageSource, frame: number): void {
    this.failure = null;
    for (const listener of this.#listeners) listener(picture, frame);
  }

  get playing(): boolean {
    return this.running !== null;
  }

  toggle(direction: Direction): void {
    if (this.running) this.stop();
    else void this.play(direction);
  }

  /** Plays from here to the end, or round the span. Resolves when it ends by itself (true) or is stopped. */
  async play(direction: Direction, whole = false): Promise<boolean> {
    if (!this.#footage) return false;
    this.stop();
    const run = this.#run(direction, whole);
    const stop = (this.#stop = new AbortController());
    this.running = run;
    const clock = this.#sound && !this.silent && canSound(run) ? this.#startSound(run) : undefined;
    const show = (picture: CanvasImageSource, frame: number) => {
      this.frame = frame;
      this.#tell(picture, frame);
    };
    const lap = () => clock?.lap(this.times.starts[run.first]);
    await this.#footage.run(run, { show, lap, signal: stop.signal }, clock?.elapsed);
    if (this.#stop !== stop) return false;
    this.stop();
    return true;
  }

  #startSound(run: Run) {
    return this.#sound?.start(this.times.starts[run.from ?? run.first]);
  }

  #run(direction: Direction, whole: boolean): Run {
    const { frame, rate } = this;
    const last = this.count - 1;
    if (whole) return { first: 0, last, direction, rate: 1, loop: false };
    if (this.loop && this.span) {
      const { start, end } = this.span;
      const from = frame >= start && frame <= end ? frame : undefined;
      return { first: start, last: end, from, direction, rate, loop: true };
    }
    const atEnd = direction > 0 ? frame >= last : frame <= 0;
    return { first: 0, last, from: atEnd ? undefined : frame, direction, rate, loop: this.loop };
  }

  stop(): void {
    this.#stop?.abort();
    this.#stop = undefined;
    this.#sound?.stop();
    this.running = null;
  }

  /** Begins again with what was changed, if it is playing. */
  #again(): void {
    if (this.running) void this.play(this.running.direction);
  }

  faster(by: 1 | -1): void {
    const at = RATES.findIndex((rate) => rate === this.rate);
    this.setRate(RATES[Math.min(RATES.length - 1, Math.max(0, at + by))]);
  }

  setRate(rate: number): void {
    this.rate = rate;
    this.#again();
  }

  /** Loops the span if there is one, else the whole shot. */
  toggleLoop(): void {
    this.loop = !this.loop;
    if (this.loop && !this.running) void this.play(1);
    else this.#again();
  }

  setSpan(span: Span | null): void {
    this.span = span;
    this.spanFrom = null;
  }

  /** Sets one end of a span, then the other; the third time begins anew. */
  markSpan(): void {
    if (this.spanFrom === null) {
      this.spanFrom = this.frame;
      this.span = { start: this.frame, end: this.frame };
      return;
    }
    const [a, b] = [this.spanFrom, this.frame];
    this.setSpan({ start: Math.min(a, b), end: Math.max(a, b) });
  }

  /** The span on the sheet: the one chosen, or the one being chosen. */
  get shownSpan(): Span | null {
    if (this.spanFrom === null) return this.span;
    return { start: Math.min(this.spanFrom, this.frame), end: Math.max(this.spanFrom, this.frame) };
  }

  cycleGhosts(): void {
    this.ghosts = (this.ghosts + 1) % (MAX_GHOSTS + 1);
  }

  resize(width: number, height: number): void {
    this.view = resized(this.view, width, height);
  }

  zoom(at: ScreenPoint, factor: number): void {
    this.view = zoomedAt(this.view, at, factor);
  }

  pan(dx: number, dy: number): void {
    this.view = panned(this.view, dx, dy);
  }

  fit(): void {
    const { width, height, mirrored } = this.view;
    this.view = { ...fitted(width, height, this.row.width, this.row.height), mirrored };
  }

  mirror(): void {
    this.view = { ...this.view, mirrored: !this.view.mirrored };
  }

  close(): void {
    this.stop();
    this.#closing.abort();
    this.#footage?.close();
    void this.#fine?.then((fine) => fine?.close());
    this.#sound?.close();
    this.#listeners = [];
  }
}
