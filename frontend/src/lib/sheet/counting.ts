import type { Footage, Span } from '$lib/api';

/** How the frames of a shot are counted for people: from its own first frame, in seconds and frames beside. */
export interface Counting {
  firstFrame: number;
  frames: number;
  /** Frames in a second, as people count them: 24 for 23.976. */
  perSecond: number;
  /** The first frame of each second. */
  seconds: readonly number[];
}

export function countingOf(footage: Footage, firstFrame: number): Counting {
  const perSecond = Math.max(1, Math.round(footage.fps.num / footage.fps.den));
  const { frames } = footage;
  return { firstFrame, frames, perSecond, seconds: footage.variable ? bySeconds(footage) : every(perSecond, frames) };
}

function every(step: number, frames: number): number[] {
  return Array.from({ length: Math.ceil(frames / step) }, (_, k) => k * step);
}

/** On a variable rate a second begins with the first frame at or after it. */
function bySeconds({ frame_table, frames, fps }: Footage): number[] {
  if (!frame_table) return every(Math.max(1, Math.round(fps.num / fps.den)), frames);
  const { pts, time_base } = frame_table;
  const second = (i: number) => Math.floor(((pts[i] - pts[0]) * time_base.num) / time_base.den + 1e-9);
  return pts.flatMap((_, i) => (i === 0 || second(i) > second(i - 1) ? [i] : []));
}

/** The number a person sees on frame i. */
export const shownFrame = (c: Counting, i: number): number => i + c.firstFrame;

export const shownSpan = (c: Counting, span: Span): string =>
  span.start === span.end
    ? String(shownFrame(c, span.start))
    : `${shownFrame(c, span.start)}–${shownFrame(c, span.end)}`;

/** Whole seconds before frame i, and frames into the second. */
export function secondsAndFrames(c: Counting, i: number): { seconds: number; frames: number } {
  let low = 0;
  let high = c.seconds.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (c.seconds[middle] <= i) low = middle;
    else high = middle - 1;
  }
  return { seconds: low, frames: i - (c.seconds[low] ?? 0) };
}

export function secondsWords(c: Counting, i: number): string {
  const { seconds, frames } = secondsAndFrames(c, i);
  return `${seconds} s ${String(frames).padStart(2, '0')}`;
}
