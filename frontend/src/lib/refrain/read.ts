import type { RefrainCell, RefrainRow, RefrainShot } from '$lib/api';
import { markStandings, standingWords, type MarkStanding } from '$lib/marks';
import { count, spanWords, withQuery } from '$lib/text';

/** One cell of the grid, ready to draw. */
export interface GridCell {
  revision: number;
  cell: RefrainCell | null;
  mark: MarkStanding | null;
}

/** The cells of a concern, one for every revision of the shot, with a gap where there is none. */
export function gridCells(row: RefrainRow, revisions: readonly { number: number }[]): GridCell[] {
  const byRevision = new Map(row.cells.map((cell) => [cell.revision, cell]));
  const cells = revisions.map(({ number }) => byRevision.get(number) ?? null);
  const marks = markStandings(cells.map((cell) => cell?.standing ?? null));
  return revisions.map(({ number }, i) => ({ revision: number, cell: cells[i], mark: marks[i] }));
}

/** Where a cell leads: to its note, or to the frames last named when the critique only judged it; null before that. */
export function cellHref(cells: readonly GridCell[], index: number, opens: string): string | null {
  const cell = cells[index].cell;
  if (!cell?.critique_id) return null;
  const named = cells.slice(0, index + 1).findLast((before) => before.cell?.span)?.cell?.span;
  const place = cell.note_id ? { note: cell.note_id } : { frame: named && String(named.start) };
  return withQuery(`${opens}/${cell.critique_id}`, place);
}

/** How a concern stands now: its latest mark. */
export function latestMark(row: RefrainRow, shot: RefrainShot): MarkStanding | null {
  return gridCells(row, shot.revisions).findLast((cell) => cell.mark !== null)?.mark ?? null;
}

/** A cell in words, for those who do not see the mark. */
export function cellWords(row: RefrainRow, { revision, cell, mark }: GridCell, firstFrame: number): string {
  if (mark === null) return `r${revision}: not yet noted`;
  const where = cell?.span
    ? `, ${cell.span.start === cell.span.end ? 'frame' : 'frames'} ${spanWords(cell.span, firstFrame)}`
    : '';
  const said = cell?.words ? `: ${cell.words}` : '';
  return `r${revision}: ${standingWords(mark, row.concern.kind)}${where}${said}`;
}

export interface Told {
  row: RefrainRow;
  words: string;
}

/** What a grid says at a glance; praise is left out, it has nothing to clear. */
export interface Glance {
  still: number;
  back: Told[];
  cleared: Told[];
}

/** What came back and after how long, what is still there, what was cleared. */
export function glance(shot: RefrainShot): Glance {
  const rows = shot.groups.filter((group) => !group.keep).flatMap((group) => group.rows);
  const found: Glance = { still: 0, back: [], cleared: [] };
  for (const row of rows) {
    const mark = latestMark(row, shot);
    if (mark === 'still') found.still += 1;
    if (mark === 'back') found.back.push({ row, words: backWords(row, shot) });
    if (mark === 'cleared' && row.cleared_in !== null) found.cleared.push({ row, words: `in r${row.cleared_in}` });
  }
  return found;
}

function backWords(row: RefrainRow, shot: RefrainShot): string {
  const back = gridCells(row, shot.revisions).findLast((cell) => cell.mark === 'back');
  const away = row.came_back_after;
  return `in r${back?.revision}${away === null ? '' : `, after ${count(away, 'revision')} without it`}`;
}
