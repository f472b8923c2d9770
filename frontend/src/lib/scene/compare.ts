import { inPicture, deviceRatio, type Context } from './canvas';
import { resized, type View } from '../geometry';

/** How two revisions lie on the stage. */
export type Arrangement = 'beside' | 'stacked' | 'wipe';

/** One of the two pictures and the part of the canvas it has, in CSS pixels. */
export interface Pane {
  view: View;
  left: number;
  top: number;
}

const GAP_PX = 8;

/** The panes of the earlier and the present picture on a canvas of the size of `view`; both share zoom and pan. */
export function panes(view: View, arrangement: Arrangement): [earlier: Pane, present: Pane] {
  const { width, height } = view;
  if (arrangement === 'wipe')
    return [
      { view, left: 0, top: 0 },
      { view, left: 0, top: 0 },
    ];
  if (arrangement === 'beside') {
    const half = Math.max(1, (width - GAP_PX) / 2);
    const part = resized(view, half, height);
    return [
      { view: part, left: 0, top: 0 },
      { view: part, left: half + GAP_PX, top: 0 },
    ];
  }
  const half = Math.max(1, (height - GAP_PX) / 2);
  const part = resized(view, width, half);
  return [
    { view: part, left: 0, top: 0 },
    { view: part, left: 0, top: half + GAP_PX },
  ];
}

/**
 * Paints two pictures at once, so that the pair on the canvas always belongs together. In a wipe the earlier one
 * is seen left of `wipe` (0..1 of the canvas width), the present one right of it.
 */
export function paintPair(
  ctx: Context,
  earlier: CanvasImageSource,
  present: CanvasImageSource,
  view: View,
  arrangement: Arrangement,
  wipe: number,
): void {
  ctx.setTransform(1, 0, 0, 1, 0, 0);
  ctx.clearRect(0, 0, ctx.canvas.width, ctx.canvas.height);
  const ratio = deviceRatio(ctx, view);
  const split = ctx.canvas.width * wipe;
  const [first, second] = panes(view, arrangement);
  for (const [pane, picture, from, to] of [
    [first, earlier, 0, split],
    [second, present, split, ctx.canvas.width],
  ] as const) {
    ctx.save();
    ctx.beginPath();
    if (arrangement === 'wipe') ctx.rect(from, 0, to - from, ctx.canvas.height);
    else ctx.rect(pane.left * ratio, pane.top * ratio, pane.view.width * ratio, pane.view.height * ratio);
    ctx.clip();
    const draw = () => ctx.drawImage(picture, 0, 0, 1, 1);
    inPicture(ctx, pane.view, draw, { left: pane.left, top: pane.top, ratio });
    ctx.restore();
  }
  if (arrangement === 'wipe') {
    ctx.fillStyle = '#ffffff';
    ctx.fillRect(split - ratio / 2, 0, Math.max(1, ratio), ctx.canvas.height);
  }
}
