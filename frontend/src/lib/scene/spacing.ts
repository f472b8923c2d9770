import type { Trace } from '$lib/api';

export interface Dot {
  frame: number;
  x: number;
  y: number;
}

/** A tick across the path at one frame, as on a hand-drawn spacing chart; in picture heights. */
export interface Tick {
  frame: number;
  x: number;
  y: number;
  /** Unit vector across the path. */
  acrossX: number;
  acrossY: number;
}

/** Dots in the order of their frames, each frame once (the last one placed counts). */
export function inOrder(dots: readonly Dot[]): Dot[] {
  const byFrame = new Map(dots.map((dot) => [dot.frame, dot]));
  return [...byFrame.values()].sort((a, b) => a.frame - b.frame);
}

/** Ticks along a path of dots. At a dot the path runs from the dot before to the dot after. */
export function ticks(dots: readonly Dot[], aspect: number): Tick[] {
  const path = inOrder(dots).map((d) => ({ ...d, x: d.x * aspect }));
  return path.map((dot, k) => {
    const before = path[Math.max(0, k - 1)];
    const after = path[Math.min(path.length - 1, k + 1)];
    const [dx, dy] = [after.x - before.x, after.y - before.y];
    const length = Math.hypot(dx, dy);
    const [acrossX, acrossY] = length > 0 ? [-dy / length, dx / length] : [0, 1];
    return { frame: dot.frame, x: dot.x, y: dot.y, acrossX, acrossY };
  });
}

/**
 * How far along the path each dot lies, 0..1: the spacing strip. A path that goes nowhere has all its dots at 0.
 */
export function alongPath(dots: readonly Dot[], aspect: number): { frame: number; at: number }[] {
  const path = inOrder(dots);
  let length = 0;
  const distances = path.map((dot, k) => {
    const before = path[Math.max(0, k - 1)];
    length += Math.hypot((dot.x - before.x) * aspect, dot.y - before.y);
    return { frame: dot.frame, at: length };
  });
  return distances.map(({ frame, at }) => ({ frame, at: length > 0 ? at / length : 0 }));
}

/** The trace with a dot at a frame: placed, or moved when the frame had one. */
export function withDot(trace: Trace, dot: Dot): Trace {
  return { ...trace, dots: inOrder([...trace.dots, dot]) };
}
