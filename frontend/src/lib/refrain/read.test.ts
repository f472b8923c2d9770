import { describe, expect, it } from 'vitest';
import type { RefrainRow, RefrainShot, Standing } from '$lib/api';
import { cellHref, cellWords, glance, gridCells, latestMark } from './read';

function row(title: string, standings: (Standing | null)[], extra: Partial<RefrainRow> = {}): RefrainRow {
  return {
    concern: { id: title, title, kind: 'fix', urgency: 'must', principles: ['spacing'], parts: [], history: [] },
    cells: standings.flatMap((standing, i) =>
      standing === null
        ? []
        : [
            {
              revision: i + 1,
              standing,
              span: { start: 57, end: 62 },
              note_id: 'n',
              words: 'It jumps.',
              critique_id: 'c',
            },
          ],
    ),
    came_back_after: null,
    cleared_in: null,
    ...extra,
  };
}

const jump = row('jump', ['noted', 'noted', 'cleared', 'back'], { came_back_after: 1 });
const slide = row('slide', [null, 'noted', 'cleared', 'cleared'], { cleared_in: 3 });
const step = row('step', [null, 'noted', 'unmentioned', 'noted']);
const landing = { ...row('landing', ['noted', 'noted', 'noted', 'noted']) };
landing.concern = { ...landing.concern, kind: 'keep' };

const shot: RefrainShot = {
  shot: { id: 's', name: 'Lantern jump' },
  first_frame: 1,
  quota: { granted: 16, sent: 4, returned: 0, left: 12, waiting: 0, pegs: [] },
  revisions: [1, 2, 3, 4].map((number) => ({
    id: `r${number}`,
    number,
    sent_at: '2026-11-01T10:00:00Z',
    critique_id: 'c',
    footage_id: 'f',
    released: true,
  })),
  groups: [
    { principle: 'spacing', keep: false, rows: [jump, slide, step] },
    { principle: null, keep: true, rows: [landing] },
  ],
};

describe('refrain grid', () => {
  it('lays a cell under every revision', () => {
    expect(gridCells(slide, shot.revisions).map((cell) => cell.mark)).toEqual([null, 'noted', 'cleared', 'cleared']);
    expect(gridCells(jump, shot.revisions).map((cell) => cell.mark)).toEqual(['noted', 'still', 'cleared', 'back']);
  });

  it('takes the latest mark, over a revision that has no critique yet', () => {
    expect(latestMark(slide, { ...shot, revisions: [...shot.revisions, { ...shot.revisions[3], number: 5 }] })).toBe(
      'cleared',
    );
  });

  it('tells what came back, what stays and what was cleared, praise apart', () => {
    const told = glance(shot);
    expect(told.still).toBe(1);
    expect(told.back).toEqual([{ row: jump, words: 'in r4, after 1 revision without it' }]);
    expect(told.cleared).toEqual([{ row: slide, words: 'in r3' }]);
  });

  it('leads from a mark to its note, or to the frames last named', () => {
    const judged = row('judged', ['noted', 'cleared']);
    judged.cells[1] = { ...judged.cells[1], span: null, note_id: null, critique_id: 'd' };
    const cells = gridCells(judged, shot.revisions);
    expect(cellHref(cells, 0, '/read')).toBe('/read/c?note=n');
    expect(cellHref(cells, 1, '/read')).toBe('/read/d?frame=57');
    expect(cellHref(cells, 2, '/read')).toBeNull();
  });

  it('puts a cell into words', () => {
    const cells = gridCells(jump, shot.revisions);
    expect(cellWords(jump, cells[1], 1)).toBe('r2: still there, frames 58–63: It jumps.');
    expect(cellWords(slide, gridCells(slide, shot.revisions)[0], 1)).toBe('r1: not yet noted');
  });
});
