declare const space: unique symbol;

/** A place on the picture: x in picture widths, y in picture heights, both 0..1 inside it. */
export interface ScenePoint {
  readonly x: number;
  readonly y: number;
  readonly [space]?: 'scene';
}

/** A place on the canvas, in CSS pixels from its top left corner. */
export interface ScreenPoint {
  readonly x: number;
  readonly y: number;
  readonly [space]?: 'screen';
}

export const scenePoint = (x: number, y: number): ScenePoint => ({ x, y }) as ScenePoint;
export const screenPoint = (x: number, y: number): ScreenPoint => ({ x, y }) as ScreenPoint;

/** A rectangle on the picture, in the units of `ScenePoint`. */
export interface SceneRect {
  x: number;
  y: number;
  w: number;
  h: number;
}

const unit = (v: number): number => Math.min(1, Math.max(0, v));

/** The point, moved onto the picture if it lies outside. */
export const inside = (p: ScenePoint): ScenePoint => scenePoint(unit(p.x), unit(p.y));

/** The rectangle between two corners, cut to the picture. */
export function rectBetween(a: ScenePoint, b: ScenePoint): SceneRect {
  const [p, q] = [inside(a), inside(b)];
  return { x: Math.min(p.x, q.x), y: Math.min(p.y, q.y), w: Math.abs(p.x - q.x), h: Math.abs(p.y - q.y) };
}
