import type { Stroke, Trace } from '$lib/api';
import { shownSize, toScreen, scenePoint, type SceneRect, type View } from '../geometry';
import { inPicture, inScreen, type Context } from './canvas';
import { strokePath, strokesAt } from './stroke';
import { inOrder, ticks } from './spacing';

/** What lies over the picture at one frame. */
export interface Scene {
  frame: number;
  /** Width of the picture over its height. */
  aspect: number;
  strokes: readonly Stroke[];
  traces: readonly Trace[];
  /** The place a note is about. */
  region: SceneRect | null;
  /** Drawings of neighbouring frames are shown as outlines, this many frames either way. */
  ghostReach: number;
  ghostColours: { earlier: string; later: string };
}

/** A stroke or region still being made. */
export interface Preview {
  stroke?: Stroke;
  region?: SceneRect;
}

const INK = '#ffffff';
const CASING = 'rgb(0 0 0 / 0.55)';
/** Half length of a spacing tick, in CSS pixels. */
const TICK_PX = 6;

export function drawScene(ctx: Context, scene: Scene, view: View, preview: Preview = {}): void {
  ctx.setTransform(1, 0, 0, 1, 0, 0);
  ctx.clearRect(0, 0, ctx.canvas.width, ctx.canvas.height);
  drawGhostStrokes(ctx, scene, view);
  for (const stroke of strokesAt(scene.strokes, scene.frame)) drawStroke(ctx, stroke, scene.aspect, view, true);
  if (preview.stroke) drawStroke(ctx, preview.stroke, scene.aspect, view, false);
  for (const trace of scene.traces) drawTrace(ctx, trace, scene, view);
  const region = preview.region ?? scene.region;
  if (region) drawRegion(ctx, region, view);
}

/** Lays units of picture heights over the picture. */
function inHeights(ctx: Context, aspect: number, view: View, draw: () => void): void {
  inPicture(ctx, view, () => {
    ctx.scale(1 / aspect, 1);
    draw();
  });
}

function drawStroke(ctx: Context, stroke: Stroke, aspect: number, view: View, finished: boolean): void {
  inHeights(ctx, aspect, view, () => {
    ctx.fillStyle = stroke.color;
    ctx.fill(strokePath(stroke, aspect, finished));
  });
}

function drawGhostStrokes(ctx: Context, scene: Scene, view: View): void {
  const { frame, ghostReach, aspect } = scene;
  if (!ghostReach) return;
  const heightPx = shownSize(view).height;
  const near = scene.strokes.filter((s) => s.hold_to < frame || s.frame > frame);
  for (const stroke of near) {
    const earlier = stroke.hold_to < frame;
    const distance = earlier ? frame - stroke.hold_to : stroke.frame - frame;
    if (distance > ghostReach) continue;
    inHeights(ctx, aspect, view, () => {
      ctx.strokeStyle = earlier ? scene.ghostColours.earlier : scene.ghostColours.later;
      ctx.lineWidth = 1.5 / heightPx;
      ctx.setLineDash((earlier ? [7, 4] : [1.5, 3]).map((px) => px / heightPx));
      ctx.stroke(strokePath(stroke, aspect));
    });
  }
}

function drawTrace(ctx: Context, trace: Trace, scene: Scene, view: View): void {
  const place = (x: number, y: number) => toScreen(view, scenePoint(x, y));
  const path = inOrder(trace.dots).map((dot) => place(dot.x, dot.y));
  inScreen(ctx, view, () => {
    for (const [width, colour] of [
      [3.2, CASING],
      [1.4, trace.color],
    ] as const) {
      ctx.lineWidth = width;
      ctx.strokeStyle = colour;
      ctx.beginPath();
      path.forEach(({ x, y }, k) => (k ? ctx.lineTo(x, y) : ctx.moveTo(x, y)));
      ctx.stroke();
      for (const tick of ticks(trace.dots, scene.aspect)) drawTick(ctx, tick, scene, view, width);
    }
  });
}

function drawTick(ctx: Context, tick: ReturnType<typeof ticks>[number], scene: Scene, view: View, width: number): void {
  const at = toScreen(view, scenePoint(tick.x / scene.aspect, tick.y));
  const acrossX = view.mirrored ? -tick.acrossX : tick.acrossX;
  const current = tick.frame === scene.frame;
  const reach = current ? TICK_PX * 1.6 : TICK_PX;
  ctx.lineWidth = current ? width * 2 : width;
  ctx.beginPath();
  ctx.moveTo(at.x - acrossX * reach, at.y - tick.acrossY * reach);
  ctx.lineTo(at.x + acrossX * reach, at.y + tick.acrossY * reach);
  ctx.stroke();
}

/** A region is four corners, not a box: the edges of a box would hide what it is about. */
function drawRegion(ctx: Context, region: SceneRect, view: View): void {
  const a = toScreen(view, scenePoint(region.x, region.y));
  const b = toScreen(view, scenePoint(region.x + region.w, region.y + region.h));
  const [left, right] = [Math.min(a.x, b.x), Math.max(a.x, b.x)];
  const arm = Math.min(14, (right - left) / 3, (b.y - a.y) / 3);
  inScreen(ctx, view, () => {
    for (const [width, colour] of [
      [4, CASING],
      [1.5, INK],
    ] as const) {
      ctx.lineWidth = width;
      ctx.strokeStyle = colour;
      ctx.beginPath();
      for (const [x, sx] of [
        [left, 1],
        [right, -1],
      ] as const)
        for (const [y, sy] of [
          [a.y, 1],
          [b.y, -1],
        ] as const) {
          ctx.moveTo(x + sx * arm, y);
          ctx.lineTo(x, y);
          ctx.lineTo(x, y + sy * arm);
        }
      ctx.stroke();
    }
  });
}
