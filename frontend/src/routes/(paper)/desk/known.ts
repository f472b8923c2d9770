import type { DeskRow } from '$lib/api';
import { count, sinceLast, stageWords } from '$lib/text';

/** What a mentor should know before opening a submission, heaviest first. */
export function knownBefore(row: DeskRow): string[] {
  const known: string[] = [];
  if (row.drafted_notes > 0) known.push(`draft begun, ${count(row.drafted_notes, 'note')}`);
  else if (row.submission.state === 'opened') known.push('draft begun');
  if (row.is_new) known.push('new since you were here');
  if (row.stage_changed_from)
    known.push(`from ${stageWords(row.stage_changed_from)} to ${stageWords(row.submission.stage)}`);
  else known.push(stageWords(row.submission.stage));
  if (row.concerns_open > 0) known.push(`${count(row.concerns_open, 'concern')} open`);
  if (row.days_since_last === null) known.push('first you see of this shot');
  else known.push(sinceLast(row.days_since_last));
  return known;
}

/** One sentence over the whole desk. */
export function deskWords(rows: readonly DeskRow[]): string {
  const late = rows.filter((row) => row.late_days > 0).length;
  const due = rows.filter((row) => row.late_days === 0).length;
  const parts = [`${count(rows.length, 'submission')} ${rows.length === 1 ? 'waits' : 'wait'} for you`];
  if (late > 0) parts.push(`${late} ${late === 1 ? 'is' : 'are'} late`);
  if (due > 0) parts.push(`${due} ${due === 1 ? 'is' : 'are'} due today`);
  return `${parts.join(', ')}.`;
}
