/**
 * Marks as plain path data, so that SVG and canvas draw the same. Shape says the kind, fill the standing, the bar along
 * the left edge the urgency; a dashed outline says only that the frame map is unsure here.
 */
import type { Kind, Urgency } from '$lib/api';
import type { MarkStanding } from './standing';

/** Where a mark is drawn, in the units of the caller's drawing. */
export interface Box {
  x: number;
  y: number;
  w: number;
  h: number;
}

export type Paint = 'none' | 'ink' | 'hot';

/** One path of a mark; parts are painted in order. */
export interface MarkPart {
  d: string;
  fill: Paint;
  stroke: Paint;
  strokeWidth: number;
  dashed: boolean;
}

export interface MarkSpec {
  kind: Kind;
  standing: MarkStanding;
  /** Left out where urgency is of no account: the mark then has the whole box. */
  urgency?: Urgency;
  /** The frame map is unsure at this place. */
  unsure?: boolean;
}

/** The size of a mark standing alone. */
export const MARK_WIDTH = 22;
export const MARK_HEIGHT = 16;
/** Room a return stroke needs above and beside its box. */
export const MARK_MARGIN = 8;

const OUTLINE_WIDTH = 1.5;
const DASH_GAP = 2.5;
const EDGE_WIDTH: Record<Urgency, number> = { must: 4, should: 2, 'if-time': 0 };
const EDGE_ROOM = 6;

const n = (value: number): string => String(Math.round(value * 100) / 100);

function slant(w: number): number {
  return Math.min(6, w * 0.28);
}

function ringRadii(w: number, h: number): { rx: number; ry: number } {
  return { rx: Math.min(w / 2 - 1, Math.max(h / 2, 4)), ry: h / 2 };
}

/** The outline of a mark of this kind, filling the box: block, lozenge, ring or (open) half ring. */
export function markPath(kind: Kind, x: number, y: number, w: number, h: number): string {
  const right = x + w;
  const bottom = y + h;
  const mx = x + w / 2;
  const my = y + h / 2;
  if (kind === 'fix') {
    const s = slant(w);
    return `M${n(x + s)} ${n(y)}H${n(right)}L${n(right - s)} ${n(bottom)}H${n(x)}Z`;
  }
  if (kind === 'consider') return `M${n(mx)} ${n(y)}L${n(right)} ${n(my)}L${n(mx)} ${n(bottom)}L${n(x)} ${n(my)}Z`;
  const { rx, ry } = ringRadii(w, h);
  if (kind === 'keep')
    return `M${n(mx)} ${n(y)}A${n(rx)} ${n(ry)} 0 1 1 ${n(mx)} ${n(bottom)}A${n(rx)} ${n(ry)} 0 1 1 ${n(mx)} ${n(y)}Z`;
  const open = mx + rx / 2;
  return `M${n(open)} ${n(y)}A${n(rx)} ${n(ry)} 0 0 0 ${n(open)} ${n(bottom)}`;
}

/** The left half of a block or lozenge: what is filled when the concern has eased. */
export function halfPath(kind: 'fix' | 'consider', x: number, y: number, w: number, h: number): string {
  const mx = x + w / 2;
  if (kind === 'consider') return `M${n(mx)} ${n(y)}V${n(y + h)}L${n(x)} ${n(y + h / 2)}Z`;
  const s = slant(w);
  return `M${n(x + s)} ${n(y)}H${n(mx + s / 2)}L${n(mx - s / 2)} ${n(y + h)}H${n(x)}Z`;
}

/** A line along the left of the outline, to be stroked as thick as the note is urgent. */
export function edgePath(kind: Kind, x: number, y: number, w: number, h: number): string {
  const mx = x + w / 2;
  if (kind === 'fix') return `M${n(x + slant(w))} ${n(y)}L${n(x)} ${n(y + h)}`;
  if (kind === 'consider') return `M${n(mx)} ${n(y)}L${n(x)} ${n(y + h / 2)}L${n(mx)} ${n(y + h)}`;
  const { rx, ry } = ringRadii(w, h);
  const from = kind === 'keep' ? mx : mx + rx / 2;
  return `M${n(from)} ${n(y)}A${n(rx)} ${n(ry)} 0 0 0 ${n(from)} ${n(y + h)}`;
}

/** The stroke above a mark that came back: over the top and down again on the left, with an arrow head. */
export function returnPath(x: number, y: number, w: number): string {
  const left = x + w * 0.14;
  const right = x + w + 2;
  return (
    `M${n(right)} ${n(y - 1.5)}C${n(right - w * 0.2)} ${n(y - 9)} ${n(left + w * 0.25)} ${n(y - 9)} ${n(left)} ${n(y - 2.5)}` +
    `M${n(left - 1)} ${n(y - 7)}L${n(left)} ${n(y - 2.5)}L${n(left + 4.5)} ${n(y - 3)}`
  );
}

/** A circle around the middle of the box. */
function dotPath({ x, y, w, h }: Box, radius: number): string {
  const mx = x + w / 2;
  const my = y + h / 2;
  return `M${n(mx - radius)} ${n(my)}a${n(radius)} ${n(radius)} 0 1 0 ${n(2 * radius)} 0a${n(radius)} ${n(radius)} 0 1 0 ${n(-2 * radius)} 0Z`;
}

function filled(d: string, paint: Paint): MarkPart {
  return { d, fill: paint, stroke: 'none', strokeWidth: 0, dashed: false };
}

function stroked(d: string, paint: Paint, strokeWidth = OUTLINE_WIDTH, dashed = false): MarkPart {
  return { d, fill: 'none', stroke: paint, strokeWidth, dashed };
}

function fillOf(spec: MarkSpec, box: Box, paint: Paint): MarkPart[] {
  const { kind, standing } = spec;
  if (kind !== 'fix' && kind !== 'consider') return [];
  const gap = spec.unsure ? DASH_GAP : 0;
  const { x, y, w, h } = { x: box.x + gap, y: box.y + gap, w: box.w - 2 * gap, h: box.h - 2 * gap };
  if (h <= 0 || w <= 0) return [];
  if (standing === 'eased') return [filled(halfPath(kind, x, y, w, h), paint)];
  if (standing === 'cleared' || standing === 'set-aside') return [];
  return [filled(markPath(kind, x, y, w, h), paint)];
}

/** Everything to paint for one mark. Praise never turns vermilion: that it is still there is what was asked. */
export function markParts(spec: MarkSpec, box: Box): MarkPart[] {
  if (spec.standing === 'unmentioned') return [filled(dotPath(box, 2.4), 'ink')];
  if (spec.standing === 'late') return [stroked(dotPath(box, 4.5), 'ink')];

  const recurs = (spec.standing === 'still' || spec.standing === 'back') && spec.kind !== 'keep';
  const paint: Paint = recurs ? 'hot' : 'ink';
  const room = spec.urgency ? EDGE_ROOM : 0;
  const body: Box = { ...box, x: box.x + room, w: box.w - room };

  const parts = fillOf(spec, body, paint);
  parts.push(stroked(markPath(spec.kind, body.x, body.y, body.w, body.h), paint, OUTLINE_WIDTH, spec.unsure));
  const edge = spec.urgency ? EDGE_WIDTH[spec.urgency] : 0;
  if (edge > 0) parts.push(stroked(edgePath(spec.kind, body.x - 2 - edge / 2, body.y, body.w, body.h), paint, edge));
  if (spec.standing === 'back') parts.push(stroked(returnPath(body.x, body.y, body.w), 'ink'));
  if (spec.standing === 'set-aside')
    parts.push(stroked(`M${n(body.x - 1)} ${n(body.y + body.h)}L${n(body.x + body.w + 1)} ${n(body.y)}`, 'ink'));
  return parts;
}
