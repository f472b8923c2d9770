import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { CarriedConcern, Footage, Note } from '$lib/api';
import { countingOf, secondsWords, shownSpan, type Counting } from './counting';
import {
  columnsFor,
  fittedRow,
  following,
  HEAD,
  MAX_ROW,
  MIN_ROW,
  numberStep,
  rowAt,
  rowTop,
  rules,
  zoomed,
} from './layout';
import { laneOf, sheetModel } from './model';
import { neighbour } from './walk';

const footage = (over: Partial<Footage> = {}) =>
  ({ frames: 100, fps: { num: 24, den: 1 }, variable: false, frame_table: null, ...over }) as Footage;
const film: Counting = countingOf(footage(), 1001);

describe('counting', () => {
  it('counts from the first frame of the shot', () => {
    expect(shownSpan(film, { start: 0, end: 4 })).toBe('1001–1005');
    expect(shownSpan(film, { start: 4, end: 4 })).toBe('1005');
  });

  it('counts 23.976 as 24 to the second', () => {
    const counting = countingOf(footage({ fps: { num: 24000, den: 1001 } }), 1);
    expect(secondsWords(counting, 60)).toBe('2 s 12');
  });

  it('begins a second where the table says on a variable rate', () => {
    const frame_table = {
      time_base: { num: 1, den: 1000 },
      pts: [100, 500, 1099, 1100, 1300, 3150],
      last_duration: 10,
    };
    const counting = countingOf(footage({ variable: true, frames: 6, frame_table }), 1);
    expect(counting.seconds).toEqual([0, 3, 5]);
    expect(secondsWords(counting, 4)).toBe('1 s 01');
  });
});

describe('layout', () => {
  const extents = fc.record({ height: fc.integer({ min: 200, max: 2000 }), frames: fc.integer({ min: 1, max: 3600 }) });

  it('finds the row it has drawn', () => {
    fc.assert(
      fc.property(extents, fc.double({ min: 3, max: 24, noNaN: true }), fc.nat(3599), (extent, rowPx, row) => {
        const i = Math.min(row, extent.frames - 1);
        const scroll = following({ rowPx, offsetPx: 0 }, extent, i);
        expect(rowAt(scroll, extent.frames, rowTop(scroll, i) + rowPx / 2)).toBe(i);
      }),
    );
  });

  it('keeps the row now shown in sight', () => {
    fc.assert(
      fc.property(
        extents,
        fc.double({ min: 3, max: 24, noNaN: true }),
        fc.nat(3599),
        fc.nat(90000),
        (extent, rowPx, row, offsetPx) => {
          const i = Math.min(row, extent.frames - 1);
          const top = rowTop(following({ rowPx, offsetPx }, extent, i), i);
          expect(top).toBeGreaterThanOrEqual(HEAD - 1e-6);
          expect(top + rowPx).toBeLessThanOrEqual(extent.height + 1e-6);
        },
      ),
    );
  });

  it('shows a whole short shot, and never more than is legible', () => {
    expect(fittedRow({ height: 856, frames: 96 })).toBeCloseTo(800 / 96);
    expect(fittedRow({ height: 856, frames: 3600 })).toBe(MIN_ROW);
    expect(fittedRow({ height: 856, frames: 3 })).toBe(MAX_ROW);
  });

  it('zooms about the pointer', () => {
    const extent = { height: 800, frames: 2000 };
    const scroll = { rowPx: 6, offsetPx: 3000 };
    const next = zoomed(scroll, extent, 400, 2);
    expect(rowAt(next, 2000, 400)).toBe(rowAt(scroll, 2000, 400));
    expect(next.rowPx).toBe(12);
  });

  it('rules each frame, each eighth and each second', () => {
    const weights = new Map(rules(film, 8, 0, 30));
    expect([weights.get(0), weights.get(1), weights.get(8), weights.get(24)]).toEqual([
      'second',
      'frame',
      'eight',
      'second',
    ]);
    expect(rules(film, 3, 0, 30).every(([, weight]) => weight !== 'frame')).toBe(true);
  });

  it('writes no number over another', () => {
    for (const rowPx of [3, 5, 8.4, 12, 24]) expect(numberStep(rowPx) * rowPx).toBeGreaterThanOrEqual(13);
  });

  it('fits the columns of many revisions beside the lanes', () => {
    for (const earlier of [0, 1, 3, 8, 12]) {
      const columns = columnsFor(earlier, 400);
      const all = [...columns.earlier, ...columns.lanes];
      all
        .slice(1)
        .forEach((column, k) => expect(column.left).toBeGreaterThanOrEqual(all[k].left + all[k].width - 1e-9));
    }
    for (const width of [216, 280, 356]) expect(columnsFor(3, width).right).toBeLessThanOrEqual(width);
  });
});

const note = (over: Partial<Note> = {}): Note => ({
  id: 'n1',
  critique_id: 'c',
  concern_id: 'k1',
  revision: 3,
  kind: 'fix',
  urgency: 'must',
  principles: ['spacing'],
  parts: [],
  span: { start: 10, end: 14 },
  region: null,
  words: 'The hand jumps.',
  ask: null,
  version: 1,
  updated_at: '',
  answer: null,
  ...over,
});

const carried = (over: Partial<CarriedConcern> = {}): CarriedConcern => ({
  concern: {
    id: 'k1',
    title: 'left wrist jumps',
    kind: 'fix',
    urgency: 'should',
    principles: ['spacing'],
    parts: [],
    history: [
      { revision: 1, standing: 'noted', note_id: 'e1', span: { start: 9, end: 12 } },
      { revision: 2, standing: 'cleared', note_id: null, span: null },
    ],
  },
  mapped: { start: 11, end: 15 },
  unsure: true,
  verdict: null,
  standing: 'cleared',
  standing_before: 'cleared',
  ...over,
});

describe('sheetModel', () => {
  const earlier = (number: number, notes: object[]) => ({ number, notes }) as never;
  const page = (over: object = {}) => ({
    revision: { id: 'r', number: 3, stage: 'spline' as const },
    state: 'draft' as const,
    revisions: [
      earlier(1, [
        { ...note({ id: 'e1', revision: 1 }), mapped: { start: 11, end: 15 }, unsure: true, standing: 'noted' },
      ]),
      earlier(2, []),
    ],
    carried: [carried()],
    notes: [] as Note[],
    ...over,
  });

  it('puts an earlier note on the rows of today, and a verdict without a note beside it', () => {
    const { marks } = sheetModel(page(), film);
    expect(marks.map((m) => [m.column, m.spec.standing, m.span.start])).toEqual([
      [0, 'noted', 11],
      [1, 'cleared', 11],
    ]);
    expect(marks[0].spec.unsure).toBe(true);
    expect(marks.every((m) => m.dimmed)).toBe(true);
  });

  it('draws a concern across the columns, as unsure as its frames', () => {
    const { lines } = sheetModel(page(), film);
    expect(lines).toMatchObject([{ frame: 13, unsure: true, from: { column: 0 }, to: { column: 1 } }]);
  });

  it('shows a cleared concern that is still there as back', () => {
    const judged = carried({ verdict: { verdict: 'still', version: 1 }, standing: 'back' });
    const { marks, lines } = sheetModel(page({ carried: [judged] }), film);
    expect(marks.find((m) => m.column < 0)?.spec).toMatchObject({ standing: 'back', urgency: 'should' });
    expect(lines[0].to.column).toBe(-1);
  });

  it('shows what was passed over only once the critique is released', () => {
    const silent = carried({ standing: 'unmentioned', standing_before: 'noted' });
    const marksOf = (state: 'draft' | 'released') => sheetModel(page({ carried: [silent], state }), film).marks;
    expect(marksOf('draft').some((m) => m.column < 0)).toBe(false);
    expect(marksOf('released').find((m) => m.column < 0)?.spec.standing).toBe('unmentioned');
  });

  it('shows a note of today that is tied to a concern once', () => {
    const judged = carried({ verdict: { verdict: 'still', version: 1 }, standing: 'back' });
    const { marks } = sheetModel(page({ carried: [judged], notes: [note()] }), film);
    const today = marks.filter((m) => m.column < 0);
    expect(today.map((m) => [m.id, m.spec.standing])).toEqual([['n1', 'back']]);
  });

  it('moves marks aside that would lie on each other', () => {
    const notes = [note({ id: 'a', concern_id: 'x' }), note({ id: 'b', concern_id: 'y' })];
    const { marks } = sheetModel(page({ carried: [], revisions: [], notes }), film);
    expect(new Set(marks.map((m) => m.aside)).size).toBe(2);
  });

  it('knows the lanes', () => {
    expect(laneOf(['timing', 'arcs'])).toBe('arcs');
    expect(laneOf(['timing'])).toBe('other');
    expect(laneOf([])).toBe('other');
  });

  it('walks over all marks once, downwards and back', () => {
    const notes = [30, 5, 17].map((start, k) =>
      note({ id: `w${k}`, concern_id: `w${k}`, span: { start, end: start + 2 } }),
    );
    const { marks } = sheetModel(page({ carried: [], revisions: [], notes }), film);
    const walk: string[] = [];
    for (let m = neighbour(marks, null, 0, 1); m; m = neighbour(marks, m.id, 0, 1)) walk.push(m.id);
    expect(walk).toEqual(['w1', 'w2', 'w0']);
    expect(neighbour(marks, 'w2', 0, -1)?.id).toBe('w1');
    expect(neighbour(marks, null, 99, -1)?.id).toBe('w0');
  });
});
