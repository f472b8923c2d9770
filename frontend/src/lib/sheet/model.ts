import type {
  CarriedConcern,
  Concern,
  CritiquePage,
  EarlierNote,
  EarlierRevision,
  Note,
  Principle,
  Span,
  Standing,
} from '$lib/api';
import { markStandings, standingWords, type MarkSpec, type MarkStanding } from '$lib/marks';
import { shownSpan, type Counting } from './counting';
import { LANES, type Lane } from './layout';

/** One mark on the sheet. */
export interface SheetMark {
  id: string;
  /** Index of the earlier revision; -1 for today. */
  column: number;
  lane: Lane;
  /** Rows of today. */
  span: Span;
  spec: MarkSpec;
  /** Cleared before today: carried along, but quieter. */
  dimmed: boolean;
  concernId: string;
  noteId: string | null;
  /** Marks that would lie on each other are moved aside by this many steps. */
  aside: number;
  /** What a screen reader says. */
  words: string;
}

/** The line of one concern across the columns. */
export interface SheetLine {
  concernId: string;
  frame: number;
  from: { column: number; lane: Lane };
  to: { column: number; lane: Lane };
  unsure: boolean;
  dimmed: boolean;
}

export interface SheetModel {
  counting: Counting;
  /** Heads of the columns of earlier revisions, oldest first; then of the lanes. */
  earlier: string[];
  today: string;
  marks: SheetMark[];
  lines: SheetLine[];
}

export function laneOf(principles: readonly Principle[]): Lane {
  const own = principles.find((p) => (LANES as readonly string[]).includes(p));
  return (own as Lane | undefined) ?? 'other';
}

export const middle = (span: Span): number => Math.floor((span.start + span.end) / 2);

/** What of a critique the sheet is made of. */
export interface SheetSource {
  revisions: readonly EarlierRevision[];
  revision: CritiquePage['revision'];
  carried: readonly CarriedConcern[];
  notes: readonly Note[];
  state: CritiquePage['state'];
}

/** Everything the sheet shows, from the critique as it stands. */
export function sheetModel(page: SheetSource, counting: Counting): SheetModel {
  const marks = [...earlierMarks(page, counting), ...todayMarks(page, counting)];
  setAside(marks);
  return {
    counting,
    earlier: page.revisions.map((r) => `r${r.number}`),
    today: page.state === 'draft' ? `r${page.revision.number} today` : `r${page.revision.number}`,
    marks: marks.sort((a, b) => a.span.start - b.span.start || a.column - b.column),
    lines: lines(page.carried, marks),
  };
}

function specOf(
  of: Pick<Concern, 'kind' | 'urgency'>,
  standing: MarkStanding,
  unsure: boolean,
  today: boolean,
): MarkSpec {
  return { kind: of.kind, standing, unsure, ...(today ? { urgency: of.urgency } : {}) };
}

function earlierMarks(page: SheetSource, counting: Counting): SheetMark[] {
  const carried = new Map(page.carried.map((c) => [c.concern.id, c]));
  const notes = page.revisions.flatMap((revision, column) =>
    revision.notes.map((note) => noteMark(revision, column, note, carried.get(note.concern_id), counting)),
  );
  const noted = new Set(notes.map((m) => `${m.concernId} ${m.column}`));
  const silent = page.carried.flatMap((c) => silentMarks(page.revisions, c, counting, noted));
  return [...notes, ...silent];
}

/** The mark of each revision of a concern, by revision number. */
function standingsOf(concern: Concern): Map<number, MarkStanding | null> {
  const history = [...concern.history].sort((a, b) => a.revision - b.revision);
  const shown = markStandings(history.map((h) => h.standing));
  return new Map(history.map((h, k) => [h.revision, shown[k]]));
}

function noteMark(
  revision: EarlierRevision,
  column: number,
  note: EarlierNote,
  carried: CarriedConcern | undefined,
  counting: Counting,
): SheetMark {
  const standing = (carried && standingsOf(carried.concern).get(revision.number)) ?? note.standing;
  const words = `r${revision.number}, ${shownSpan(counting, note.mapped)}: ${note.kind}, ${standingWords(standing, note.kind)}. ${note.words}`;
  return {
    id: `${note.id}`,
    column,
    lane: laneOf(note.principles),
    span: note.mapped,
    spec: specOf(note, standing, note.unsure, false),
    dimmed: carried?.standing_before === 'cleared' && !carried.verdict,
    concernId: note.concern_id,
    noteId: note.id,
    aside: 0,
    words: note.unsure ? `${words} The frames are not sure.` : words,
  };
}

/** Revisions in which a concern has a standing without a note of its own: judged by a key, or passed over. */
function silentMarks(
  revisions: readonly EarlierRevision[],
  carried: CarriedConcern,
  counting: Counting,
  noted: ReadonlySet<string>,
): SheetMark[] {
  const { concern, mapped, unsure } = carried;
  const standings = standingsOf(concern);
  return revisions.flatMap((revision, column) => {
    const standing = standings.get(revision.number);
    if (!standing || noted.has(`${concern.id} ${column}`)) return [];
    const said = `r${revision.number}, ${shownSpan(counting, mapped)}: ${standingWords(standing, concern.kind)}. ${concern.title}`;
    return [
      {
        id: `${concern.id} r${revision.number}`,
        column,
        lane: laneOf(concern.principles),
        span: mapped,
        spec: specOf(concern, standing, unsure, false),
        dimmed: carried.standing_before === 'cleared' && !carried.verdict,
        concernId: concern.id,
        noteId: null,
        aside: 0,
        words: said,
      },
    ];
  });
}

/** What a concern looks like today: named again, it is still there, or back when it had been cleared. */
const againNow = (before: Standing): MarkStanding => (before === 'cleared' ? 'back' : 'still');

function todayMarks(page: SheetSource, counting: Counting): SheetMark[] {
  const carried = new Map(page.carried.map((c) => [c.concern.id, c]));
  const notes = page.notes.map((note) => todayNote(note, carried.get(note.concern_id), counting, page.revision.number));
  const named = new Set(page.notes.map((n) => n.concern_id));
  // In a draft, a concern without a verdict has no mark yet; once released, its standing is what was said.
  const judged = page.carried.filter((c) => (c.verdict || page.state !== 'draft') && !named.has(c.concern.id));
  return [...notes, ...judged.map((c) => todayVerdict(c, counting, page.revision.number))];
}

function todayNote(note: Note, carried: CarriedConcern | undefined, counting: Counting, revision: number): SheetMark {
  const standing = carried ? againNow(carried.standing_before) : 'noted';
  const again = carried ? `, ${standingWords(standing, note.kind)}` : '';
  return {
    id: note.id,
    column: -1,
    lane: laneOf(note.principles),
    span: note.span,
    spec: specOf(note, standing, false, true),
    dimmed: false,
    concernId: note.concern_id,
    noteId: note.id,
    aside: 0,
    words: `r${revision}, ${shownSpan(counting, note.span)}: ${note.kind}, ${note.urgency}${again}. ${note.words || 'No words yet.'}`,
  };
}

function todayVerdict(carried: CarriedConcern, counting: Counting, revision: number): SheetMark {
  const { concern, mapped, unsure, verdict } = carried;
  const standing: MarkStanding =
    verdict?.verdict === 'still' ? againNow(carried.standing_before) : (verdict?.verdict ?? carried.standing);
  return {
    id: `${concern.id} today`,
    column: -1,
    lane: laneOf(concern.principles),
    span: mapped,
    spec: specOf(concern, standing, unsure, true),
    dimmed: false,
    concernId: concern.id,
    noteId: null,
    aside: 0,
    words: `r${revision}, ${shownSpan(counting, mapped)}: ${standingWords(standing, concern.kind)}. ${concern.title}`,
  };
}

/** Moves marks aside that would lie on an earlier one of the same column. */
function setAside(marks: SheetMark[]): void {
  const columns = new Map<string, SheetMark[]>();
  for (const mark of [...marks].sort((a, b) => a.span.start - b.span.start)) {
    const place = mark.column < 0 ? `today ${mark.lane}` : String(mark.column);
    const there = columns.get(place) ?? [];
    const taken = new Set(there.filter((other) => other.span.end >= mark.span.start).map((other) => other.aside));
    while (taken.has(mark.aside)) mark.aside++;
    columns.set(place, [...there, mark]);
  }
}

function lines(carried: readonly CarriedConcern[], marks: readonly SheetMark[]): SheetLine[] {
  return carried.flatMap((c) => {
    const own = marks.filter((m) => m.concernId === c.concern.id);
    const earlier = own.filter((m) => m.column >= 0).sort((a, b) => a.column - b.column);
    const today = own.find((m) => m.column < 0);
    const from = earlier[0] ?? today;
    const to = today ?? earlier.at(-1);
    if (!from || !to || from === to) return [];
    const frame = middle(today && from === today ? today.span : c.mapped);
    const dimmed = own.every((m) => m.dimmed);
    return [{ concernId: c.concern.id, frame, from, to, unsure: c.unsure, dimmed }];
  });
}
