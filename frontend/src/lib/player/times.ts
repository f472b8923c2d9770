/** When each frame of a shot is on screen, in milliseconds from the first frame. */
export interface FrameTimes {
  /** Start of frame i. Never decreasing; two frames may share a start when the source says so. */
  readonly starts: Float64Array;
  /** End of the last frame. */
  readonly endMs: number;
}

/** One unit of the source's clock is `num / den` seconds. */
export interface TimeBase {
  num: number;
  den: number;
}

/**
 * Times from the frame table's integers. The last frame has no successor: it lasts `lastDuration` units
 * if known, else as long as the median step.
 */
export function frameTimes(pts: ArrayLike<number>, base: TimeBase, lastDuration?: number): FrameTimes {
  const ms = (units: number): number => (units * 1000 * base.num) / base.den;
  const starts = Float64Array.from(pts, (p) => ms(p - pts[0]));
  const last = lastDuration && lastDuration > 0 ? ms(lastDuration) : medianStep(starts);
  return { starts, endMs: (starts.at(-1) ?? 0) + last };
}

const FILM_STEP_MS = 1000 / 24;

function medianStep(starts: Float64Array): number {
  const steps = Float64Array.from({ length: Math.max(0, starts.length - 1) }, (_, i) => starts[i + 1] - starts[i])
    .filter((step) => step > 0)
    .sort();
  return steps.length ? steps[steps.length >> 1] : FILM_STEP_MS;
}

/** Where frame i ends, which is where the next one starts. */
export const endOf = (times: FrameTimes, i: number): number =>
  i + 1 < times.starts.length ? times.starts[i + 1] : times.endMs;

/** The last frame that has started at `ms`; the first one before that. */
export function frameAt(times: FrameTimes, ms: number): number {
  let low = 0;
  let high = times.starts.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (times.starts[middle] <= ms) low = middle;
    else high = middle - 1;
  }
  return low;
}
