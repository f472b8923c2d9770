import { SvelteSet } from 'svelte/reactivity';
import type { Note, ShownSuggestion, SuggestedConcern, Suggestions, TypedNote } from '$lib/api';
import type { Draft } from './draft.svelte';
import { keptOf, offersOf, reversalIn, shownReversal, typedOf, type Offer } from './offers';

/** Typing rests this long before the server is asked. */
const REST_MS = 150;

/** Asks the server about a note as far as it is typed. */
export type AskAbout = (typed: TypedNote, signal: AbortSignal) => Promise<Suggestions>;

interface Answered {
  noteId: string;
  suggestions: Suggestions;
}

/** What the server suggests for the note that is being written. Without an answer there is nothing to see. */
export class Suggesting {
  #answered = $state.raw<Answered>();
  /** Reversals the person wants to stand, and fields they set by hand: a note's id with what it is. */
  readonly #decided = new SvelteSet<string>();
  /** Everything that stood before the person, by note; sent whole, as the server keeps each once. */
  readonly #shown: Record<string, Record<string, ShownSuggestion>> = {};
  #asked = '';
  #writing = '';
  #timer?: ReturnType<typeof setTimeout>;
  #request?: AbortController;

  constructor(
    private readonly draft: Draft,
    private readonly current: () => Note | undefined,
    private readonly askAbout: AskAbout,
  ) {}

  readonly offers = $derived.by((): Offer[] => {
    const note = this.current();
    const suggestions = note && this.#for(note);
    return suggestions ? offersOf(suggestions, note, this.draft.isTied(note.id) ? note.concern_id : null) : [];
  });

  readonly reversal = $derived.by((): SuggestedConcern | undefined => {
    const note = this.current();
    const suggestions = note && this.#for(note);
    if (!suggestions) return undefined;
    return reversalIn(suggestions, this.draft.carried, (id) => this.#decided.has(`${note.id} ${id}`));
  });

  #for(note: Note): Suggestions | undefined {
    return this.#answered?.noteId === note.id && note.words.trim() ? this.#answered.suggestions : undefined;
  }

  /** The person sets this field by hand; it is theirs. */
  set(noteId: string, field: 'kind' | 'urgency'): void {
    this.#decided.add(`${noteId} ${field}`);
  }

  /** The person is writing in this note: from now on its changes are looked at. */
  write(noteId: string): void {
    this.#writing = noteId;
  }

  /** Looks at the note as it is now, once typing rests. */
  watch(note: Note): void {
    if (note.id !== this.#writing) return;
    const touched = { kind: this.#isSet(note, 'kind', 'fix'), urgency: this.#isSet(note, 'urgency', 'should') };
    const body = typedOf(note, touched);
    const asked = note.id + JSON.stringify(body);
    if (asked === this.#asked) return;
    this.#asked = asked;
    clearTimeout(this.#timer);
    this.#request?.abort();
    if (!note.words.trim()) return;
    const request = (this.#request = new AbortController());
    this.#timer = setTimeout(() => void this.#ask(note.id, body, request), REST_MS);
  }

  #isSet(note: Note, field: 'kind' | 'urgency', first: string): boolean {
    return this.#decided.has(`${note.id} ${field}`) || note[field] !== first;
  }

  /** Only the answer to the newest question counts. No answer is no failure. */
  async #ask(noteId: string, body: TypedNote, { signal }: AbortController): Promise<void> {
    const suggestions = await this.askAbout(body, signal).catch(() => undefined);
    if (!signal.aborted) this.#answered = suggestions && { noteId, suggestions };
  }

  /** Takes everything; false if there is nothing to take. */
  takeAll(): boolean {
    const note = this.current();
    if (!note || !this.offers.length) return false;
    this.#remember(note.id);
    // Each offer is made anew after the one before: a patch holds the whole list it adds to.
    for (const { key } of [...this.offers]) {
      const offer = this.offers.find((o) => o.key === key);
      if (offer) this.#apply(note.id, offer);
    }
    this.#report(note.id);
    return true;
  }

  take(offer: Offer): void {
    const note = this.current();
    if (!note) return;
    this.#note(note.id, offer.key, offer.shown);
    this.#apply(note.id, offer);
    this.#report(note.id);
  }

  #apply(noteId: string, { patch, concern }: Offer): void {
    this.draft.editNote(noteId, patch);
    // Praise tied to a concern without a verdict would name it once more.
    const cleared = concern?.relation === 'cleared';
    if (cleared && !this.draft.concern(concern.concern_id)?.verdict) this.draft.judge(concern.concern_id, 'cleared');
  }

  /** The earlier ask no longer holds. */
  setAside(reversal: SuggestedConcern): void {
    this.#decide(reversal);
    this.draft.judge(reversal.concern_id, 'set-aside');
  }

  /** Both asks hold, as they are written. */
  keepBoth(reversal: SuggestedConcern): void {
    this.#decide(reversal);
  }

  #decide(reversal: SuggestedConcern): void {
    const note = this.current();
    if (!note) return;
    this.#note(note.id, `reversal ${reversal.concern_id}`, shownReversal(reversal));
    this.#report(note.id);
    this.#decided.add(`${note.id} ${reversal.concern_id}`);
  }

  /** The person leaves the note they wrote in: what still stands there was not taken. */
  leave(): void {
    const note = this.draft.note(this.#writing || null);
    if (!note || this.#answered?.noteId !== note.id) return;
    this.#remember(note.id);
    this.#report(note.id);
  }

  /** All that stands there now. */
  #remember(noteId: string): void {
    const note = this.draft.note(noteId);
    const suggestions = note && this.#for(note);
    if (!suggestions) return;
    const tied = this.draft.isTied(noteId) ? note.concern_id : null;
    for (const offer of offersOf(suggestions, note, tied)) this.#note(noteId, offer.key, offer.shown);
    const reversal = reversalIn(suggestions, this.draft.carried, (id) => this.#decided.has(`${noteId} ${id}`));
    if (reversal) this.#note(noteId, `reversal ${reversal.concern_id}`, shownReversal(reversal));
  }

  #note(noteId: string, key: string, shown: ShownSuggestion): void {
    const all = (this.#shown[noteId] ??= {});
    all[key] ??= shown;
  }

  #report(noteId: string): void {
    const all = Object.values(this.#shown[noteId] ?? {});
    if (this.#answered && all.length) this.draft.keepShown(noteId, keptOf(this.#answered.suggestions, all));
  }

  close(): void {
    clearTimeout(this.#timer);
    this.#request?.abort();
  }
}
