import type { CarriedConcern, CritiquePage, EarlierNote, EarlierRevision, Note, Span, Verdict } from '$lib/api';
import type { Command as Key } from '$lib/keys';
import type { MarkStanding } from '$lib/marks';
import type { Arrangement } from '$lib/scene';
import { countingOf, neighbour, sheetModel, type Counting, type SheetMark } from '$lib/sheet';
import { Companion } from './companion.svelte';
import { deliver, suggestFor } from './deliver';
import { Draft } from './draft.svelte';
import { Drawing } from './drawing.svelte';
import { BrowserKeep } from './keep';
import { Suggesting } from './suggesting.svelte';
import { Viewer } from './viewer.svelte';

/** What lies on the slip. */
export type Selection =
  | { sort: 'opening' }
  | { sort: 'overview' }
  | { sort: 'note'; id: string }
  | { sort: 'concern'; id: string }
  | { sort: 'earlier'; revision: string; id: string };

const VERDICT_KEYS: Partial<Record<Key, Verdict>> = {
  still: 'still',
  eased: 'eased',
  cleared: 'cleared',
  aside: 'set-aside',
};

/** The work on one critique: what is selected, which tool is in hand, and what each key does. */
export class Bench {
  readonly counting: Counting;
  readonly draft: Draft;
  readonly viewer: Viewer;
  readonly drawing: Drawing;
  readonly suggesting: Suggesting;
  selection = $state.raw<Selection>({ sort: 'overview' });
  /** The mark selected on the sheet. */
  marked = $state<string | null>(null);
  arrangement = $state<Arrangement | null>(null);
  wipe = $state(0.5);
  companion = $state.raw<Companion | null>(null);
  /** The note removed last, until it is brought back or another is made. */
  removed = $state.raw<Note | null>(null);
  /** Grows when the words of the note on the slip should take the keyboard. */
  writing = $state(0);
  readonly model = $derived.by(() => {
    const { revisions, revision } = this.draft.page;
    const { carried, notes, state } = this.draft;
    return sheetModel({ revisions, revision, carried, notes, state }, this.counting);
  });

  readonly judged = $derived.by(() => this.draft.carried.filter((c) => c.verdict !== null).length);

  constructor(
    readonly page: CritiquePage,
    personId: string,
  ) {
    this.draft = new Draft(page, new BrowserKeep(personId, page.id), deliver(page.id));
    this.viewer = new Viewer(page.footage);
    this.counting = countingOf(page.footage, page.shot.first_frame);
    this.drawing = new Drawing(this.draft, this.viewer, () => this.note);
    this.suggesting = new Suggesting(this.draft, () => this.note, suggestFor(page.id));
    void this.viewer.open();
    this.accompany(page.revisions.findLast((r) => r.footage.state === 'ready'));
  }

  /** The note of today on the slip. */
  get note(): Note | undefined {
    return this.selection.sort === 'note' ? this.draft.note(this.selection.id) : undefined;
  }

  /** The concern the slip is about, if it is carried. */
  get concern(): CarriedConcern | undefined {
    if (this.selection.sort === 'concern') return this.draft.concern(this.selection.id);
    return this.draft.concern(this.note?.concern_id ?? null);
  }

  /** A note of an earlier revision on the slip whose concern is no longer carried. */
  get earlier(): { revision: EarlierRevision; note: EarlierNote } | undefined {
    const { selection } = this;
    if (selection.sort !== 'earlier') return undefined;
    const revision = this.page.revisions.find((r) => r.id === selection.revision);
    const note = revision?.notes.find((n) => n.id === selection.id);
    return revision && note && { revision, note };
  }

  /** How a note of today stands: named again, it is still there, or back when it had been cleared. */
  standingOf(note: Note): MarkStanding {
    const carried = this.draft.concern(note.concern_id);
    if (!carried) return 'noted';
    return carried.standing_before === 'cleared' ? 'back' : 'still';
  }

  select(selection: Selection, span?: Span): void {
    this.selection = selection;
    const { viewer } = this;
    if (!span) return;
    viewer.setSpan(span);
    if (viewer.frame < span.start || viewer.frame > span.end) viewer.show(span.start);
  }

  selectMark(mark: SheetMark): void {
    this.marked = mark.id;
    if (mark.column < 0 && mark.noteId) this.select({ sort: 'note', id: mark.noteId }, mark.span);
    else if (this.draft.concern(mark.concernId)) this.select({ sort: 'concern', id: mark.concernId }, mark.span);
    else this.#selectEarlier(mark);
    if (mark.column >= 0) this.accompany(this.page.revisions[mark.column]);
    else this.#accompanyNote();
  }

  #selectEarlier(mark: SheetMark): void {
    const revision = this.page.revisions[mark.column];
    if (revision && mark.noteId) this.select({ sort: 'earlier', revision: revision.id, id: mark.noteId }, mark.span);
  }

  selectNote(id: string): void {
    const note = this.draft.note(id);
    if (!note) return;
    this.marked = id;
    this.select({ sort: 'note', id }, note.span);
    this.#accompanyNote();
  }

  /** Beside a note of today lies the revision its concern was last spoken of in, else the one before. */
  #accompanyNote(): void {
    const { concern } = this;
    this.accompany(concern ? this.lastRevisionOf(concern) : this.page.revisions.at(-1));
  }

  selectConcern(id: string): void {
    const carried = this.draft.concern(id);
    if (!carried) return;
    this.marked = this.model.marks.findLast((m) => m.concernId === id)?.id ?? null;
    this.select({ sort: 'concern', id }, carried.mapped);
    this.accompany(this.lastRevisionOf(carried));
  }

  /** The latest earlier revision in which a concern was spoken of. */
  lastRevisionOf(carried: CarriedConcern): EarlierRevision | undefined {
    const numbers = carried.concern.history.filter((h) => h.standing !== 'unmentioned').map((h) => h.revision);
    const latest = Math.max(...numbers);
    return this.page.revisions.find((r) => r.number === latest) ?? this.page.revisions.at(-1);
  }

  /** Lays an earlier revision beside today's. */
  accompany(revision: EarlierRevision | undefined): void {
    if (!revision || this.companion?.revision === revision || revision.footage.state !== 'ready') return;
    this.companion?.close();
    this.companion = new Companion(revision);
  }

  toggleCompare(): void {
    if (this.arrangement) this.arrangement = null;
    else this.arrange('beside');
    this.viewer.repaint();
  }

  arrange(arrangement: Arrangement): void {
    if (!this.companion) this.accompany(this.page.revisions.findLast((r) => r.footage.state === 'ready'));
    if (this.companion) this.arrangement = arrangement;
  }

  /** A new note here. On the frames of the concern on the slip, it is tied to that concern. */
  newNote(): void {
    const { viewer, draft } = this;
    if (!draft.editable) return;
    viewer.stop();
    const chosen = viewer.spanFrom === null ? viewer.span : viewer.shownSpan;
    const here = { start: viewer.frame, end: viewer.frame };
    // The span of the note on the slip is that note's own.
    const free = chosen && chosen !== this.note?.span && covers(chosen, viewer.frame);
    const span = free ? chosen : here;
    const concern = this.selection.sort === 'concern' ? this.concern : undefined;
    const tied = concern && covers(concern.mapped, viewer.frame) ? concern : null;
    const note = draft.addNote(span, tied);
    this.selectNote(note.id);
    this.writing++;
  }

  removeNote(note: Note): void {
    this.draft.removeNote(note.id);
    this.removed = note;
    this.marked = null;
    this.selection = { sort: 'overview' };
  }

  /** Brings the note removed last back, as it was. */
  bringBack(): void {
    const { removed } = this;
    if (!removed) return;
    this.removed = null;
    this.selectNote(this.draft.addNoteLike(removed).id);
  }

  /** The span key: on a note of today it sets the note's own span. */
  markSpan(): void {
    this.viewer.markSpan();
    const { note, viewer } = this;
    if (note && this.draft.editable && viewer.spanFrom === null && viewer.span)
      this.draft.editNote(note.id, { span: viewer.span });
  }

  judge(verdict: Verdict): void {
    const { concern } = this;
    if (concern && this.draft.editable) this.draft.judge(concern.concern.id, verdict);
  }

  /** The next carried concern, open ones first; false after the last. */
  nextCarried(): boolean {
    const { carried } = this.draft;
    const at = carried.findIndex((c) => c.concern.id === this.concern?.concern.id);
    const next = carried[at + 1];
    if (!next) return false;
    this.selectConcern(next.concern.id);
    return true;
  }

  #walk(step: 1 | -1): void {
    const next = neighbour(this.model.marks, this.marked, this.viewer.frame, step);
    if (next) this.selectMark(next);
  }

  /** Does what a key stands for; false when it stands for nothing here. */
  act(key: Key): boolean {
    const verdict = VERDICT_KEYS[key];
    if (verdict) {
      this.judge(verdict);
      return Boolean(this.concern);
    }
    const deed = this.#deeds[key];
    if (!deed) return false;
    return deed() !== false;
  }

  readonly #deeds: Partial<Record<Key, () => boolean | void>> = {
    back: () => this.viewer.step(-1),
    on: () => this.viewer.step(1),
    above: () => this.#walk(-1),
    below: () => this.#walk(1),
    play: () => this.viewer.toggle(1),
    reverse: () => this.viewer.toggle(-1),
    slower: () => this.viewer.faster(-1),
    faster: () => this.viewer.faster(1),
    loop: () => this.viewer.toggleLoop(),
    span: () => this.markSpan(),
    note: () => this.newNote(),
    write: () => this.#write(),
    carried: () => this.nextCarried(),
    pen: () => this.drawing.take('pen'),
    dots: () => this.drawing.take('dots'),
    region: () => (this.note ? this.drawing.take('region') : false),
    take: () => (this.note ? this.suggesting.takeAll() : false),
    undo: () => this.drawing.undo(),
    compare: () => this.toggleCompare(),
    ghosts: () => this.viewer.cycleGhosts(),
    hide: () => void (this.viewer.hidden = !this.viewer.hidden),
    brighten: () => void (this.viewer.bright = !this.viewer.bright),
    mirror: () => this.viewer.mirror(),
    fit: () => this.viewer.fit(),
  };

  #write(): boolean {
    if (!this.note || !this.draft.editable) return false;
    this.writing++;
    return true;
  }

  close(): void {
    this.suggesting.close();
    this.viewer.close();
    this.companion?.close();
    this.draft.close();
  }
}

const covers = (span: Span, frame: number): boolean => span.start <= frame && frame <= span.end;
