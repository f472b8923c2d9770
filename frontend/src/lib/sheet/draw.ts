import { markParts, type Box, type MarkPart, type Paint } from '$lib/marks';
import { principleGlyphs } from '$lib/glyphs';
import type { Palette } from '$lib/style/palette';
import type { Span } from '$lib/api';
import { secondsAndFrames, shownFrame } from './counting';
import { HEAD, LANES, numberStep, rowAt, rowTop, rules, type Columns, type RuleWeight, type Scroll } from './layout';
import type { SheetLine, SheetMark, SheetModel } from './model';

export interface SheetState {
  width: number;
  height: number;
  scroll: Scroll;
  frame: number;
  selected: string | null;
  /** A mark of the list beside the sheet that has the keyboard. */
  focused: string | null;
  /** The span being chosen, or looped. */
  span: Span | null;
  hidden: boolean;
}

type Ctx = CanvasRenderingContext2D;

const FIGURES = '9px "IBM Plex Mono", monospace';
const FIGURES_NOW = '12px "IBM Plex Mono", monospace';
const HEADS = '11px "IBM Plex Sans", sans-serif';
const RULES: Record<RuleWeight, number> = { frame: 0.07, eight: 0.2, second: 0.5 };
const ASIDE_PX = 6;
const LEAST_MARK_PX = 9;
const DIMMED = 0.6;

/** Draws the whole visible sheet. Cost follows what is visible, not the length of the shot. */
export function drawSheet(ctx: Ctx, model: SheetModel, columns: Columns, state: SheetState, palette: Palette): void {
  ctx.clearRect(0, 0, state.width, state.height);
  const { frames } = model.counting;
  const first = rowAt(state.scroll, frames, HEAD);
  const last = rowAt(state.scroll, frames, state.height);
  ctx.save();
  ctx.beginPath();
  ctx.rect(0, HEAD - 6, state.width, state.height);
  ctx.clip();
  drawRules(ctx, model, columns, state, palette, first, last);
  if (state.span) drawSpan(ctx, columns, state, palette, state.span);
  if (!state.hidden) {
    for (const line of model.lines) drawLine(ctx, line, columns, state, palette);
    for (const mark of model.marks) drawMark(ctx, mark, columns, state, palette);
  }
  ctx.restore();
  drawHeads(ctx, model, columns, palette);
  drawNow(ctx, model, columns, state, palette);
}

function drawRules(
  ctx: Ctx,
  model: SheetModel,
  columns: Columns,
  { scroll, height }: SheetState,
  palette: Palette,
  first: number,
  last: number,
): void {
  const { counting } = model;
  ctx.lineWidth = 1;
  ctx.strokeStyle = palette.ink;
  for (const [row, weight] of rules(counting, scroll.rowPx, first, last)) {
    ctx.globalAlpha = RULES[weight];
    horizontal(ctx, columns.left, columns.right, rowTop(scroll, row));
  }
  ctx.globalAlpha = 0.14;
  const bottom = Math.min(height, rowTop(scroll, counting.frames));
  for (const { left, width } of [...columns.earlier, ...columns.lanes]) vertical(ctx, left + width, HEAD, bottom);
  ctx.globalAlpha = 0.45;
  vertical(ctx, columns.lanes[0].left, HEAD, bottom);
  ctx.globalAlpha = 1;
  drawNumbers(ctx, model, columns, scroll, palette, first, last);
}

function drawNumbers(
  ctx: Ctx,
  { counting }: SheetModel,
  columns: Columns,
  scroll: Scroll,
  palette: Palette,
  first: number,
  last: number,
): void {
  const step = numberStep(scroll.rowPx);
  ctx.font = FIGURES;
  ctx.textAlign = 'right';
  ctx.textBaseline = 'top';
  ctx.fillStyle = palette.dim;
  for (let i = Math.ceil(first / step) * step; i <= last; i += step) {
    const y = rowTop(scroll, i) + 1;
    ctx.fillText(String(shownFrame(counting, i)), columns.numbers, y);
    const { seconds, frames } = secondsAndFrames(counting, i);
    ctx.fillText(`${seconds}+${String(frames).padStart(2, '0')}`, columns.seconds, y);
  }
}

function drawSpan(ctx: Ctx, columns: Columns, { scroll }: SheetState, palette: Palette, span: Span): void {
  const top = rowTop(scroll, span.start);
  const bottom = rowTop(scroll, span.end + 1);
  ctx.fillStyle = palette.ink;
  ctx.globalAlpha = 0.07;
  ctx.fillRect(columns.left, top, columns.right - columns.left, bottom - top);
  ctx.globalAlpha = 1;
  ctx.fillRect(columns.left - 3, top, 2, Math.max(2, bottom - top));
}

function columnOf(columns: Columns, place: { column: number; lane: SheetMark['lane'] }) {
  return place.column < 0 ? columns.lanes[LANES.indexOf(place.lane)] : columns.earlier[place.column];
}

function drawLine(
  ctx: Ctx,
  line: SheetLine,
  columns: Columns,
  { scroll, selected, height }: SheetState,
  palette: Palette,
): void {
  const y = rowTop(scroll, line.frame) + scroll.rowPx / 2;
  if (y < HEAD || y > height) return;
  const [from, to] = [columnOf(columns, line.from), columnOf(columns, line.to)];
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = line.concernId === selected ? 2 : 1;
  ctx.globalAlpha = line.concernId === selected ? 1 : line.dimmed ? 0.4 : 0.65;
  ctx.setLineDash(line.unsure ? [4, 3] : []);
  horizontal(ctx, from.left + from.width / 2, to.left + to.width / 2, y);
  ctx.setLineDash([]);
  ctx.globalAlpha = 1;
}

/** Where a mark lies on the canvas. */
export function markBox(mark: SheetMark, columns: Columns, scroll: Scroll): Box {
  const column = columnOf(columns, mark);
  const rowsTop = rowTop(scroll, mark.span.start);
  const rowsHeight = (mark.span.end - mark.span.start + 1) * scroll.rowPx;
  const h = Math.max(LEAST_MARK_PX, rowsHeight - 1);
  const room = mark.column < 0 ? 2 : 0;
  const width = Math.min(mark.column < 0 ? 22 : 18, column.width - 4);
  const x = column.left + (column.width - width) / 2 + room + mark.aside * ASIDE_PX;
  return { x, y: rowsTop + (rowsHeight - h) / 2, w: width, h };
}

interface DrawnPart extends MarkPart {
  path: Path2D;
}

const drawn = new Map<string, DrawnPart[]>();
const MOST_KEPT = 800;

/** The parts of a mark of this look and size, around the origin. */
function partsOf(mark: SheetMark, w: number, h: number): DrawnPart[] {
  const key = `${JSON.stringify(mark.spec)} ${w} ${h}`;
  const known = drawn.get(key);
  if (known) return known;
  const parts = markParts(mark.spec, { x: 0, y: 0, w, h }).map((part) => ({ ...part, path: new Path2D(part.d) }));
  if (drawn.size > MOST_KEPT) drawn.clear();
  drawn.set(key, parts);
  return parts;
}

function drawMark(ctx: Ctx, mark: SheetMark, columns: Columns, state: SheetState, palette: Palette): void {
  const { x, y, w, h } = markBox(mark, columns, state.scroll);
  if (y + h < 0 || y > state.height) return;
  const colour = (paint: Paint) => (paint === 'hot' ? palette.hot : palette.ink);
  ctx.save();
  ctx.translate(x, y);
  ctx.globalAlpha = mark.dimmed ? DIMMED : 1;
  for (const part of partsOf(mark, Math.round(w), Math.round(h * 2) / 2)) {
    ctx.setLineDash(part.dashed ? [3, 2] : []);
    if (part.fill !== 'none') {
      ctx.fillStyle = colour(part.fill);
      ctx.fill(part.path);
    }
    if (part.stroke !== 'none') {
      ctx.strokeStyle = colour(part.stroke);
      ctx.lineWidth = part.strokeWidth;
      ctx.stroke(part.path);
    }
  }
  ctx.restore();
  if (mark.id === state.selected || mark.id === state.focused)
    ring(ctx, { x, y, w, h }, mark.id === state.focused, palette);
}

function ring(ctx: Ctx, { x, y, w, h }: Box, strong: boolean, palette: Palette): void {
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = strong ? 2 : 1;
  ctx.strokeRect(x - 4, y - 4, w + 8, h + 8);
}

function drawHeads(ctx: Ctx, model: SheetModel, columns: Columns, palette: Palette): void {
  ctx.font = HEADS;
  ctx.textBaseline = 'alphabetic';
  ctx.textAlign = 'center';
  ctx.fillStyle = palette.dim;
  model.earlier.forEach((head, k) => {
    const { left, width } = columns.earlier[k];
    ctx.fillText(head, left + width / 2, 30);
  });
  ctx.textAlign = 'left';
  ctx.fillStyle = palette.ink;
  ctx.fillText(model.today, columns.lanes[0].left, 12);
  columns.lanes.forEach((lane, k) => drawLaneHead(ctx, lane.left + (lane.width - 14) / 2, LANES[k], palette));
}

const OTHER_HEAD = 'M1.500 8h2M7 8h2M12.5 8h2';

function drawLaneHead(ctx: Ctx, x: number, lane: (typeof LANES)[number], palette: Palette): void {
  ctx.save();
  ctx.translate(x, 18);
  ctx.scale(14 / 16, 14 / 16);
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = lane === 'other' ? 2.2 : 1.5;
  ctx.stroke(new Path2D(lane === 'other' ? OTHER_HEAD : principleGlyphs[lane]));
  ctx.restore();
}

/** The row of the frame now on screen, and its number. */
function drawNow(
  ctx: Ctx,
  model: SheetModel,
  columns: Columns,
  { scroll, frame, width, height }: SheetState,
  palette: Palette,
): void {
  const top = rowTop(scroll, frame);
  if (top < HEAD - 1 || top > height) return;
  const y = top + scroll.rowPx / 2;
  ctx.fillStyle = palette.ink;
  ctx.globalAlpha = 0.16;
  ctx.fillRect(columns.left, top, columns.right - columns.left, scroll.rowPx);
  ctx.globalAlpha = 1;
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 1;
  horizontal(ctx, columns.left, width, y);
  drawNowTag(ctx, model, columns, frame, y, palette);
}

function drawNowTag(
  ctx: Ctx,
  { counting }: SheetModel,
  columns: Columns,
  frame: number,
  y: number,
  palette: Palette,
): void {
  const { seconds, frames } = secondsAndFrames(counting, frame);
  ctx.fillStyle = palette.ink;
  ctx.fillRect(0, y - 8, columns.seconds + 3, 16);
  ctx.fillStyle = palette.ground;
  ctx.textAlign = 'right';
  ctx.textBaseline = 'middle';
  ctx.font = FIGURES_NOW;
  ctx.fillText(String(shownFrame(counting, frame)), columns.numbers, y + 0.5);
  ctx.font = FIGURES;
  ctx.fillText(`${seconds}+${String(frames).padStart(2, '0')}`, columns.seconds, y + 0.5);
}

function horizontal(ctx: Ctx, x1: number, x2: number, y: number): void {
  const at = Math.round(y) + 0.5;
  ctx.beginPath();
  ctx.moveTo(x1, at);
  ctx.lineTo(x2, at);
  ctx.stroke();
}

function vertical(ctx: Ctx, x: number, y1: number, y2: number): void {
  const at = Math.round(x) + 0.5;
  ctx.beginPath();
  ctx.moveTo(at, y1);
  ctx.lineTo(at, y2);
  ctx.stroke();
}
