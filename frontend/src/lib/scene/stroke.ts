import { getStroke } from 'perfect-freehand';
import type { Stroke } from '$lib/api';

/** Positions and pressures are kept to 1/65535: far finer than any pen, and the same on every screen. */
const GRAIN = 65535;

export const grained = (value: number): number => Math.round(Math.min(1, Math.max(0, value)) * GRAIN) / GRAIN;

/** Thinnest and thickest pencil, in picture heights. */
export const PENCIL_SIZES = [0.004, 0.008, 0.016] as const;

/** Strokes seen at a frame: those on it, and those held over a span that covers it. */
export const strokesAt = (strokes: readonly Stroke[], frame: number): Stroke[] =>
  strokes.filter((s) => s.frame <= frame && frame <= s.hold_to);

/** The outline of a stroke as a polygon, in picture heights, so that a pencil is as wide across as it is up. */
export function outline(stroke: Stroke, aspect: number, finished = true): [number, number][] {
  // The library works in whole pixels; on a picture a thousand high its rounding stays invisible.
  const scale = 1000;
  const scaled = stroke.points.map(([x, y, pressure]) => [x * aspect * scale, y * scale, pressure]);
  const polygon = getStroke(scaled, {
    size: stroke.size * scale,
    thinning: 0.6,
    smoothing: 0.5,
    streamline: 0.3,
    simulatePressure: !stroke.pen,
    last: finished,
  });
  return polygon.map(([x, y]) => [x / scale, y / scale]);
}

const finishedPaths = new WeakMap<Stroke, { aspect: number; path: Path2D }>();

/** The path to fill, in picture heights. A finished stroke is outlined once. */
export function strokePath(stroke: Stroke, aspect: number, finished = true): Path2D {
  const known = finished ? finishedPaths.get(stroke) : undefined;
  if (known?.aspect === aspect) return known.path;
  const path = new Path2D();
  outline(stroke, aspect, finished).forEach(([x, y], i) => (i ? path.lineTo(x, y) : path.moveTo(x, y)));
  path.closePath();
  if (finished) finishedPaths.set(stroke, { aspect, path });
  return path;
}
