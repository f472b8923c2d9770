import { scenePoint, screenPoint, type ScenePoint, type ScreenPoint } from './points';

/** How a picture lies on a canvas. Zoom 1 fits it in; pan is what the centre is moved by, in CSS pixels. */
export interface View {
  /** Canvas size in CSS pixels. */
  readonly width: number;
  readonly height: number;
  /** Picture size in its own pixels; only the ratio matters. */
  readonly pictureWidth: number;
  readonly pictureHeight: number;
  readonly zoom: number;
  readonly panX: number;
  readonly panY: number;
  readonly mirrored: boolean;
}

export const MAX_ZOOM = 32;
/** When zoomed, the picture's edge may be moved inwards by this share of the canvas, so corners can be looked at. */
const SLACK = 0.3;

export function fitted(width: number, height: number, pictureWidth: number, pictureHeight: number): View {
  return { width, height, pictureWidth, pictureHeight, zoom: 1, panX: 0, panY: 0, mirrored: false };
}

/** Size of the picture on the canvas, in CSS pixels. */
export function shownSize(v: View): { width: number; height: number } {
  const scale = Math.min(v.width / v.pictureWidth, v.height / v.pictureHeight) * v.zoom;
  return { width: v.pictureWidth * scale, height: v.pictureHeight * scale };
}

export function toScreen(v: View, p: ScenePoint): ScreenPoint {
  const { width, height } = shownSize(v);
  const x = v.mirrored ? 1 - p.x : p.x;
  return screenPoint(v.width / 2 + v.panX + (x - 0.5) * width, v.height / 2 + v.panY + (p.y - 0.5) * height);
}

export function toScene(v: View, p: ScreenPoint): ScenePoint {
  const { width, height } = shownSize(v);
  const x = (p.x - v.width / 2 - v.panX) / width + 0.5;
  return scenePoint(v.mirrored ? 1 - x : x, (p.y - v.height / 2 - v.panY) / height + 0.5);
}

/** The canvas transform under which the picture fills the square (0,0)..(1,1). */
export function unitMatrix(v: View): [number, number, number, number, number, number] {
  const { width, height } = shownSize(v);
  const left = v.width / 2 + v.panX - width / 2;
  const top = v.height / 2 + v.panY - height / 2;
  return v.mirrored ? [-width, 0, 0, height, left + width, top] : [width, 0, 0, height, left, top];
}

const clamp = (value: number, limit: number): number => Math.min(limit, Math.max(-limit, value));

/** The view with its pan held so that the picture stays in sight; fitted, it stays centred. */
export function held(v: View): View {
  if (v.zoom <= 1) return { ...v, zoom: 1, panX: 0, panY: 0 };
  const { width, height } = shownSize(v);
  const limitX = Math.max(0, (width - v.width) / 2) + v.width * SLACK;
  const limitY = Math.max(0, (height - v.height) / 2) + v.height * SLACK;
  return { ...v, panX: clamp(v.panX, limitX), panY: clamp(v.panY, limitY) };
}

/** Zooms by a factor; the place under `at` stays there, as far as the picture stays in sight. */
export function zoomedAt(v: View, at: ScreenPoint, factor: number): View {
  const zoom = Math.min(MAX_ZOOM, Math.max(1, v.zoom * factor));
  const grown = zoom / v.zoom;
  const fromCentreX = at.x - v.width / 2;
  const fromCentreY = at.y - v.height / 2;
  const panX = fromCentreX - (fromCentreX - v.panX) * grown;
  const panY = fromCentreY - (fromCentreY - v.panY) * grown;
  return held({ ...v, zoom, panX, panY });
}

export const panned = (v: View, dx: number, dy: number): View => held({ ...v, panX: v.panX + dx, panY: v.panY + dy });

/** The same view on a canvas of another size. */
export function resized(v: View, width: number, height: number): View {
  if (v.width === 0 || v.height === 0) return { ...v, width, height };
  return held({ ...v, width, height, panX: (v.panX * width) / v.width, panY: (v.panY * height) / v.height });
}
