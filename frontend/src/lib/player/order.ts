import type { Direction } from './types';

/** What the choice of the next frame to decode depends on. */
export interface Wants {
  /** Frames asked for, newest last. */
  demands: readonly number[];
  head: number;
  direction: Direction;
  count: number;
  capacity: number;
  /** The frame the window was last being filled towards; -1 for none. */
  filling: number;
  /** True while decoding ahead is held back, so that the next jump finds an idle decoder. */
  quiet: boolean;
  /** Neither kept nor in flight. */
  missing(i: number): boolean;
}

/** Frames ahead and behind that are filled before the rest of the window. */
const LEAD = 12;
/** Room left in the window for demands and for frames decoded on the way to them. */
const SPARE = 6;

/** What to decode next: the newest demand, then the fill under way, then the window around the head; -1: nothing. */
export function nextWanted(w: Wants): number {
  for (let n = w.demands.length - 1; n >= 0; n--) if (w.missing(w.demands[n])) return w.demands[n];
  if (w.quiet) return -1;
  if (w.filling >= 0 && w.missing(w.filling)) return w.filling;
  const half = Math.floor((w.capacity - SPARE) / 2);
  const bands: [side: number, from: number, to: number][] = [
    [w.direction, 1, LEAD],
    [-w.direction, 1, LEAD],
    [w.direction, LEAD + 1, half],
    [-w.direction, LEAD + 1, half],
  ];
  for (const [side, from, to] of bands)
    for (let d = from; d <= Math.min(to, half); d++) {
      const i = w.head + side * d;
      if (i < 0 || i >= w.count) break;
      if (w.missing(i)) return i;
    }
  return -1;
}
