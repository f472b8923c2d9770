import { unitMatrix, type View } from '../geometry';

export type Context = CanvasRenderingContext2D;

/** Gives the canvas as many pixels as it covers on the device. Resizing clears it: true when it did. */
export function matchDevice(canvas: HTMLCanvasElement, width: number, height: number, ratio: number): boolean {
  const w = Math.max(1, Math.round(width * ratio));
  const h = Math.max(1, Math.round(height * ratio));
  if (canvas.width === w && canvas.height === h) return false;
  canvas.width = w;
  canvas.height = h;
  return true;
}

/** Device pixels a CSS pixel of this canvas has. */
export const deviceRatio = (ctx: Context, view: View): number => (view.width ? ctx.canvas.width / view.width : 1);

/** Draws in CSS pixels of the canvas. */
export function inScreen(ctx: Context, view: View, draw: () => void): void {
  const ratio = deviceRatio(ctx, view);
  ctx.save();
  ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
  draw();
  ctx.restore();
}

/** A part of the canvas with a view of its own: its corner in CSS pixels, and the device pixels each of them has. */
export interface Place {
  left: number;
  top: number;
  ratio: number;
}

/** Draws where the picture fills the square (0,0)..(1,1); on the whole canvas unless told where. */
export function inPicture(ctx: Context, view: View, draw: () => void, place?: Place): void {
  const { left, top, ratio } = place ?? { left: 0, top: 0, ratio: deviceRatio(ctx, view) };
  const [a, b, c, d, e, f] = unitMatrix(view);
  ctx.save();
  ctx.setTransform(a * ratio, b * ratio, c * ratio, d * ratio, (e + left) * ratio, (f + top) * ratio);
  draw();
  ctx.restore();
}

/** Pictures are shown pixel by pixel from this magnification on: an animator looks for edges, not for smoothing. */
const SHARP_FROM = 3;

/** Paints one frame of the shot and nothing else. */
export function paintPicture(ctx: Context, picture: CanvasImageSource, view: View): void {
  ctx.setTransform(1, 0, 0, 1, 0, 0);
  ctx.clearRect(0, 0, ctx.canvas.width, ctx.canvas.height);
  inPicture(ctx, view, () => {
    ctx.imageSmoothingEnabled = unitMatrix(view)[3] < view.pictureHeight * SHARP_FROM;
    ctx.imageSmoothingQuality = 'high';
    ctx.drawImage(picture, 0, 0, 1, 1);
  });
}
