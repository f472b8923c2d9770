import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { ProblemError, type CarriedConcern, type CritiquePage, type Note } from '$lib/api';
import { Draft } from './draft.svelte';
import { keyOf, type Change, type Entry, type Keep, type Send } from './outbox';

class MemoryKeep implements Keep {
  readonly entries = new Map<string, Entry>();
  read = () => [...this.entries.values()];
  write = (key: string, entry: Entry) => Boolean(this.entries.set(key, structuredClone(entry)));
  remove = (key: string) => void this.entries.delete(key);
}

const note = (over: Partial<Note> = {}): Note => ({
  id: 'n1',
  critique_id: 'c',
  concern_id: 'own',
  revision: 2,
  kind: 'fix',
  urgency: 'should',
  principles: ['spacing'],
  parts: [],
  span: { start: 3, end: 6 },
  region: null,
  words: 'The hand jumps.',
  ask: null,
  version: 4,
  updated_at: '',
  answer: null,
  ...over,
});

const carried: CarriedConcern = {
  concern: { id: 'k', title: 'jump', kind: 'fix', urgency: 'must', principles: ['arcs'], parts: [], history: [] },
  mapped: { start: 1, end: 2 },
  unsure: true,
  verdict: null,
  standing: 'cleared',
  standing_before: 'cleared',
};

const page = (over: Partial<CritiquePage> = {}): CritiquePage =>
  ({
    id: 'c',
    state: 'draft',
    may_edit: true,
    version: 1,
    summary: '',
    revision: { id: 'r', number: 2, stage: 'spline' },
    carried: [carried],
    notes: [note()],
    strokes: [],
    traces: [],
    amendments: [],
    ...over,
  }) as unknown as CritiquePage;

describe('Draft', () => {
  let sent: { change: Change; version: number }[];
  let keep: MemoryKeep;
  const echo: Send = async (change, version) => {
    sent.push({ change, version });
    const row =
      change.sort === 'note' &&
      change.body &&
      note({ ...change.body, id: change.id, version: version + 1, concern_id: change.body.concern_id ?? 'given' });
    return { version: version + 1, row };
  };
  const open = (send: Send = echo, over?: Partial<CritiquePage>) => new Draft(page(over), keep, send);
  const settle = () => vi.advanceTimersByTimeAsync(30_000);

  beforeEach(() => {
    vi.useFakeTimers();
    sent = [];
    keep = new MemoryKeep();
  });
  afterEach(() => void vi.useRealTimers());

  it('shows a verdict at once, as the table of standings has it', async () => {
    const draft = open();
    draft.judge('k', 'still');
    expect(draft.concern('k')).toMatchObject({ standing: 'back', verdict: { verdict: 'still' } });
    draft.judge('k', 'still');
    expect(draft.concern('k')).toMatchObject({ standing: 'cleared', verdict: null });
    await settle();
    expect(sent.at(-1)?.change).toMatchObject({ sort: 'verdict', id: 'k', body: null });
  });

  it('takes kind, urgency and place from the concern a new note is tied to', () => {
    const draft = open();
    const made = draft.addNote({ start: 1, end: 2 }, carried);
    expect(draft.note(made.id)).toMatchObject({ concern_id: 'k', urgency: 'must', principles: ['arcs'], words: '' });
    expect(draft.isTied(made.id)).toBe(true);
    draft.editNote(made.id, { concern_id: null });
    expect(draft.isTied(made.id)).toBe(false);
    expect(draft.note(made.id)?.concern_id).toBe(made.id);
  });

  it('sends an edit on top of the version it was made on', async () => {
    const draft = open();
    draft.editNote('n1', { words: 'The hand still jumps.' });
    await settle();
    expect(sent).toMatchObject([
      { version: 4, change: { body: { words: 'The hand still jumps.', concern_id: null } } },
    ]);
    expect(draft.note('n1')).toMatchObject({ version: 5, concern_id: 'given' });
    expect(draft.saving).toBe('saved');
  });

  it('shows after a reload what had not arrived', async () => {
    const never: Send = () => new Promise(() => undefined);
    open(never).editNote('n1', { words: 'Written before the reload.' });
    await settle();
    const again = open();
    expect(again.note('n1')?.words).toBe('Written before the reload.');
    await settle();
    expect(sent).toMatchObject([{ version: 4 }]);
    expect(keep.entries.size).toBe(0);
  });

  it('takes the other window’s words when told to, and goes on from there', async () => {
    const theirs = note({ words: 'Theirs.', version: 9 });
    const stale = new ProblemError({ type: '', title: '', status: 409, detail: '', code: 'stale', current: theirs });
    let refuse = true;
    const draft = open(async (change, version) => {
      if (refuse) throw stale;
      return echo(change, version);
    });
    draft.editNote('n1', { words: 'Mine.' });
    await settle();
    expect(draft.conflicts).toHaveLength(1);
    expect(draft.saving).toBe('choice');
    expect(draft.note('n1')?.words).toBe('Mine.');
    draft.takeTheirs(draft.conflicts[0]);
    expect(draft.note('n1')?.words).toBe('Theirs.');
    refuse = false;
    draft.editNote('n1', { words: 'On top.' });
    await settle();
    expect(sent.at(-1)?.version).toBe(9);
  });

  it('brings a removed note back under another id', async () => {
    const draft = open();
    const before = draft.note('n1')!;
    draft.removeNote('n1');
    expect(draft.notes).toHaveLength(0);
    const back = draft.addNoteLike(before);
    expect(back.id).not.toBe('n1');
    expect(draft.note(back.id)?.words).toBe('The hand jumps.');
    await settle();
    expect(sent.map((s) => [keyOf(s.change), s.version])).toEqual([
      ['note:n1', 4],
      [`note:${back.id}`, 0],
    ]);
  });

  it('changes nothing once the critique is released', async () => {
    const draft = open(echo, { state: 'released', may_edit: false });
    draft.editNote('n1', { words: 'Too late.' });
    draft.judge('k', 'eased');
    await settle();
    expect(sent).toEqual([]);
    expect(draft.note('n1')?.words).toBe('The hand jumps.');
  });
});
