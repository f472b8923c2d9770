import type {
  Amendment,
  Answer,
  CarriedConcern,
  CritiquePage,
  Note,
  ShownSuggestions,
  Span,
  Stroke,
  Trace,
  Verdict,
} from '$lib/api';
import { SvelteSet } from 'svelte/reactivity';
import { client, ok } from '$lib/api';
import { randomId } from './id';
import {
  keyOf,
  Outbox,
  verdictOf,
  type Change,
  type Conflict,
  type Keep,
  type NoteContent,
  type Refusal,
  type Send,
} from './outbox';
import { standingAfter } from './standing';

/** How safe the last change is. */
export type Saving = 'saved' | 'saving' | 'waiting' | 'choice' | 'undurable';

/** What a person writes about a note; everything else of it is the server's. */
export const contentOf = (note: Note, tied: boolean): NoteContent => {
  const { kind, urgency, principles, parts, span, region, words, ask, concern_id } = note;
  return { kind, urgency, principles, parts, span, region, words, ask, concern_id: tied ? concern_id : null };
};

/** One critique, as this window sees it: the server's rows under the changes made here. */
export class Draft {
  readonly page: CritiquePage;
  notes = $state.raw<readonly Note[]>([]);
  carried = $state.raw<readonly CarriedConcern[]>([]);
  strokes = $state.raw<readonly Stroke[]>([]);
  traces = $state.raw<readonly Trace[]>([]);
  amendments = $state.raw<readonly Amendment[]>([]);
  summary = $state('');
  state = $state<CritiquePage['state']>('draft');
  releaseAt = $state<string | null>(null);
  releasedAt = $state<string | null>(null);
  saving = $state<Saving>('saved');
  waiting = $state(0);
  conflicts = $state.raw<readonly Conflict[]>([]);
  refusals = $state.raw<readonly Refusal[]>([]);
  /** Notes tied by the person to an earlier concern. */
  readonly #tied = new SvelteSet<string>();
  readonly #outbox: Outbox;

  constructor(page: CritiquePage, keep: Keep, send: Send) {
    this.page = page;
    this.#take(page);
    this.#outbox = new Outbox(keep, send, {
      arrived: (change, row, newer) => this.#arrived(change, row, newer),
      changed: () => this.#refresh(),
    });
    for (const note of page.notes) this.#outbox.know(`note:${note.id}`, note.version);
    for (const { concern, verdict } of page.carried) this.#outbox.know(`verdict:${concern.id}`, verdict?.version ?? 0);
    this.#outbox.know('summary:summary', page.version);
    for (const change of this.#outbox.adopt()) this.#apply(change);
    this.#refresh();
  }

  #take(page: CritiquePage): void {
    this.notes = page.notes;
    this.carried = page.carried;
    this.strokes = page.strokes;
    this.traces = page.traces;
    this.amendments = page.amendments;
    this.summary = page.summary;
    this.state = page.state;
    this.releaseAt = page.release_at;
    this.releasedAt = page.released_at;
    for (const { id, concern_id } of page.notes) if (this.concern(concern_id)) this.#tied.add(id);
  }

  get editable(): boolean {
    return this.page.may_edit && this.state === 'draft';
  }

  note(id: string | null): Note | undefined {
    return this.notes.find((n) => n.id === id);
  }

  concern(id: string | null): CarriedConcern | undefined {
    return this.carried.find((c) => c.concern.id === id);
  }

  /** A new note over a span; it is kept at once, words or not. */
  addNote(span: Span, tiedTo: CarriedConcern | null): Note {
    const concern = tiedTo?.concern;
    const note: Note = {
      id: randomId(),
      critique_id: this.page.id,
      concern_id: concern?.id ?? '',
      revision: this.page.revision.number,
      kind: concern?.kind ?? 'fix',
      urgency: concern?.urgency ?? 'should',
      principles: concern?.principles ?? [],
      parts: concern?.parts ?? [],
      span,
      region: null,
      words: '',
      ask: null,
      version: 0,
      updated_at: '',
      answer: null,
    };
    if (concern) this.#tied.add(note.id);
    this.#put({ sort: 'note', id: note.id, body: contentOf(note, Boolean(concern)) });
    return note;
  }

  /** A new note with the content of another. */
  addNoteLike(other: Note): Note {
    const note = { ...other, id: randomId(), version: 0 };
    const tied = this.concern(other.concern_id) !== undefined;
    if (tied) this.#tied.add(note.id);
    this.#put({ sort: 'note', id: note.id, body: contentOf(note, tied) });
    return note;
  }

  editNote(id: string, patch: Partial<NoteContent>): void {
    const note = this.note(id);
    if (!note) return;
    if ('concern_id' in patch) {
      if (patch.concern_id) this.#tied.add(id);
      else this.#tied.delete(id);
    }
    this.#put({ sort: 'note', id, body: { ...contentOf(note, this.isTied(id)), ...patch } });
  }

  isTied(id: string): boolean {
    return this.#tied.has(id);
  }

  removeNote(id: string): void {
    this.#put({ sort: 'note', id, body: null }, true);
  }

  /** Gives a verdict; the same one again takes it back. */
  judge(concernId: string, verdict: Verdict): void {
    const given = this.concern(concernId)?.verdict?.verdict ?? null;
    this.#put({ sort: 'verdict', id: concernId, body: given === verdict ? null : verdict }, true);
  }

  putStroke(stroke: Stroke): void {
    this.#put({ sort: 'stroke', id: stroke.id, body: stroke }, true);
  }

  removeStroke(id: string): void {
    this.#put({ sort: 'stroke', id, body: null }, true);
  }

  putTrace(trace: Trace): void {
    this.#put({ sort: 'trace', id: trace.id, body: trace });
  }

  removeTrace(id: string): void {
    this.#put({ sort: 'trace', id, body: null }, true);
  }

  setSummary(summary: string): void {
    this.#put({ sort: 'summary', id: 'summary', body: summary });
  }

  /** Keeps which suggestions stood before the mentor for a note. */
  keepShown(noteId: string, body: ShownSuggestions): void {
    this.#put({ sort: 'shown', id: noteId, body }, true);
  }

  #put(change: Change, now = false): void {
    if (!this.editable) return;
    this.#apply(change);
    this.#outbox.put(change, now);
  }

  /** Shows a change before the server has it. */
  #apply(change: Change): void {
    const { id } = change;
    if (change.sort === 'note') this.#applyNote(id, change.body);
    else if (change.sort === 'verdict') this.#applyVerdict(id, change.body);
    else if (change.sort === 'stroke') this.strokes = replaced(this.strokes, id, change.body);
    else if (change.sort === 'trace') this.traces = replaced(this.traces, id, change.body);
    else if (change.sort === 'summary') this.summary = change.body;
  }

  #applyNote(id: string, content: NoteContent | null): void {
    if (!content) {
      this.notes = this.notes.filter((n) => n.id !== id);
      return;
    }
    const { page } = this;
    const before = this.note(id);
    const base = { critique_id: page.id, revision: page.revision.number, version: 0, updated_at: '', answer: null };
    // Until the server has given a note its concern, it stands for itself.
    const concern_id = content.concern_id ?? (this.#isOwn(before) ? before.concern_id : id);
    this.notes = replaced(this.notes, id, { ...base, ...before, ...content, id, concern_id });
  }

  #isOwn(note: Note | undefined): note is Note {
    return note !== undefined && note.concern_id !== '' && !this.concern(note.concern_id);
  }

  #applyVerdict(concernId: string, verdict: Verdict | null): void {
    const before = this.concern(concernId);
    if (!before) return;
    const standing = standingAfter(before.standing_before, verdict);
    const given = verdict && { verdict, version: before.verdict?.version ?? 0 };
    this.carried = this.carried.map((c) => (c === before ? { ...c, verdict: given, standing } : c));
  }

  #arrived(change: Change, row: unknown, newer: boolean): void {
    if (newer || !row) return;
    if (change.sort === 'note') this.notes = replaced(this.notes, change.id, row as Note);
    if (change.sort === 'verdict') {
      const carried = row as CarriedConcern;
      this.carried = this.carried.map((c) => (c.concern.id === change.id ? carried : c));
    }
  }

  #refresh(): void {
    const outbox = this.#outbox;
    if (!outbox) return;
    this.waiting = outbox.waiting;
    this.conflicts = [...outbox.conflicts.values()];
    this.refusals = [...outbox.refusals.values()];
    if (!outbox.waiting) this.saving = 'saved';
    else if (outbox.waiting === this.conflicts.length + this.refusals.length) this.saving = 'choice';
    else if (!outbox.durable) this.saving = 'undurable';
    else this.saving = outbox.unreached ? 'waiting' : 'saving';
  }

  hurry(): void {
    this.#outbox.hurry();
  }

  keepMine(conflict: Conflict): void {
    this.#outbox.keepMine(conflict.key);
  }

  takeTheirs(conflict: Conflict): void {
    this.#outbox.takeTheirs(conflict.key);
    const { mine, theirs } = conflict;
    if (mine.sort === 'summary') this.summary = (theirs as { summary?: string })?.summary ?? this.summary;
    else if (mine.sort === 'verdict') this.#applyVerdict(mine.id, verdictOf(theirs));
    else if (theirs) this.#arrived(mine, theirs, false);
    else this.#apply({ ...mine, body: null } as Change);
  }

  letGo(refusal: Refusal): void {
    this.#outbox.letGo(keyOf(refusal.change));
  }

  /** Everything has arrived, or `withinMs` is over. */
  async delivered(withinMs: number): Promise<boolean> {
    this.hurry();
    const end = performance.now() + withinMs;
    while (this.#outbox.waiting && performance.now() < end) await new Promise((wake) => setTimeout(wake, 100));
    return !this.#outbox.waiting;
  }

  async release(): Promise<void> {
    this.#turned(await ok(client.POST('/critiques/{id}/release', { params: { path: { id: this.page.id } } })));
  }

  async takeBack(): Promise<void> {
    this.#turned(await ok(client.POST('/critiques/{id}/take-back', { params: { path: { id: this.page.id } } })));
  }

  /** Asks the server how the release stands. */
  async look(): Promise<void> {
    this.#turned(await ok(client.GET('/critiques/{id}', { params: { path: { id: this.page.id } } })));
  }

  #turned(page: CritiquePage): void {
    this.state = page.state;
    this.releaseAt = page.release_at;
    this.releasedAt = page.released_at;
  }

  async amend(noteId: string | null, words: string): Promise<void> {
    const call = client.POST('/critiques/{id}/amendments', {
      params: { path: { id: this.page.id } },
      body: { note_id: noteId, words },
    });
    this.amendments = [...this.amendments, await ok(call)];
  }

  async answer(noteId: string, kind: Answer['kind'], words: string): Promise<void> {
    const call = client.PUT('/notes/{id}/answer', { params: { path: { id: noteId } }, body: { kind, words } });
    const answer = await ok(call);
    this.notes = this.notes.map((n) => (n.id === noteId ? { ...n, answer } : n));
  }

  close(): void {
    this.#outbox.close();
  }
}

function replaced<T extends { id: string }>(rows: readonly T[], id: string, row: T | null): readonly T[] {
  const others = rows.filter((r) => r.id !== id);
  if (!row) return others;
  const at = rows.findIndex((r) => r.id === id);
  return at < 0 ? [...rows, row] : others.toSpliced(at, 0, row);
}
