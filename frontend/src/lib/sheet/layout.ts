import type { Counting } from './counting';

/** Least and most height of a row, in CSS pixels. */
export const MIN_ROW = 3;
export const MAX_ROW = 24;
/** Room above the first row for the heads of the columns. */
export const HEAD = 40;
const FOOT = 16;

/** How much of the sheet is seen: the height of a row, and how far it is scrolled, in CSS pixels. */
export interface Scroll {
  rowPx: number;
  offsetPx: number;
}

export interface Extent {
  height: number;
  frames: number;
}

/** A row as tall as lets the whole shot be seen, within what is legible. */
export const fittedRow = ({ height, frames }: Extent): number =>
  Math.min(MAX_ROW, Math.max(MIN_ROW, (height - HEAD - FOOT) / Math.max(1, frames)));

/** Top of row i on the canvas. */
export const rowTop = (scroll: Scroll, i: number): number => HEAD + i * scroll.rowPx - scroll.offsetPx;

/** The row under a height on the canvas, held to the shot. */
export function rowAt(scroll: Scroll, frames: number, y: number): number {
  const row = Math.floor((y - HEAD + scroll.offsetPx) / scroll.rowPx);
  return Math.min(frames - 1, Math.max(0, row));
}

function held(scroll: Scroll, { height, frames }: Extent): Scroll {
  const most = Math.max(0, frames * scroll.rowPx + HEAD + FOOT - height);
  return { ...scroll, offsetPx: Math.min(most, Math.max(0, scroll.offsetPx)) };
}

/** Scrolled no more than needed to keep row i clear of the edges. */
export function following(scroll: Scroll, extent: Extent, i: number): Scroll {
  const room = extent.height - HEAD;
  const margin = Math.min(room * 0.2, 80);
  const top = i * scroll.rowPx;
  let { offsetPx } = scroll;
  if (top - offsetPx < margin) offsetPx = top - margin;
  else if (top + scroll.rowPx - offsetPx > room - margin) offsetPx = top + scroll.rowPx - room + margin;
  return held({ ...scroll, offsetPx }, extent);
}

/** Zoomed by a factor; the row at height `y` stays there. */
export function zoomed(scroll: Scroll, extent: Extent, y: number, factor: number): Scroll {
  const rowPx = Math.min(MAX_ROW, Math.max(MIN_ROW, scroll.rowPx * factor));
  const row = (y - HEAD + scroll.offsetPx) / scroll.rowPx;
  return held({ rowPx, offsetPx: row * rowPx - (y - HEAD) }, extent);
}

export type RuleWeight = 'frame' | 'eight' | 'second';

/** Rules of the rows from `first` to `last`. Rules of single frames are left out where they would run together. */
export function rules(counting: Counting, rowPx: number, first: number, last: number): [row: number, RuleWeight][] {
  const seconds = new Set(counting.seconds);
  const lines: [number, RuleWeight][] = [];
  for (let i = first; i <= last; i++) {
    if (seconds.has(i)) lines.push([i, 'second']);
    else if (i % 8 === 0) lines.push([i, 'eight']);
    else if (rowPx >= 5) lines.push([i, 'frame']);
  }
  return lines;
}

const NUMBER_STEPS = [1, 2, 4, 8, 24, 48, 96, 240];
const NUMBER_ROOM_PX = 13;

/** Every how many rows a frame number is written. */
export const numberStep = (rowPx: number): number => NUMBER_STEPS.find((step) => step * rowPx >= NUMBER_ROOM_PX) ?? 480;

export type Lane = 'spacing' | 'arcs' | 'overlap' | 'contact' | 'other';
export const LANES: readonly Lane[] = ['spacing', 'arcs', 'overlap', 'contact', 'other'];

export interface Column {
  left: number;
  width: number;
}

export interface Columns {
  /** Right edge of the frame numbers, and of seconds and frames. */
  numbers: number;
  seconds: number;
  /** Where the rules begin and end. */
  left: number;
  right: number;
  earlier: Column[];
  lanes: Column[];
}

const NUMBERS = 34;
const SECONDS = 68;
const LANE = 28;
const LANE_LEAST = 17;
const EARLIER_MOST = 34;
const EARLIER_LEAST = 14;
const GAP = 8;

/** Columns of a sheet `width` wide: as many earlier revisions as there are, then the lanes of today. */
export function columnsFor(earlier: number, width: number): Columns {
  const left = SECONDS + 6;
  const lane = Math.min(LANE, Math.max(LANE_LEAST, (width - left - 2 * GAP - earlier * EARLIER_LEAST) / LANES.length));
  const lanes = LANES.length * lane;
  const room = width - left - lanes - 2 * GAP;
  const each = earlier ? Math.min(EARLIER_MOST, Math.max(EARLIER_LEAST, room / earlier)) : 0;
  const columns = Array.from({ length: earlier }, (_, k) => ({ left: left + k * each, width: each }));
  const today = left + earlier * each + (earlier ? GAP : 0);
  return {
    numbers: NUMBERS,
    seconds: SECONDS,
    left,
    right: today + lanes,
    earlier: columns,
    lanes: LANES.map((_, k) => ({ left: today + k * lane, width: lane })),
  };
}

/** The width at which nothing on the sheet is squeezed. */
export const naturalWidth = (earlier: number): number =>
  SECONDS + 6 + earlier * EARLIER_MOST + LANES.length * LANE + 2 * GAP + 4;
