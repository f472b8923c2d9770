import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { NetworkError, type CritiquePage, type Note, type Suggestions } from '$lib/api';
import { Draft } from './draft.svelte';
import type { Change, Keep } from './outbox';
import { Suggesting } from './suggesting.svelte';

const keep: Keep = { read: () => [], write: () => true, remove: () => {} };

const page = {
  id: 'c',
  state: 'draft',
  may_edit: true,
  version: 1,
  summary: '',
  revision: { id: 'r', number: 2, stage: 'spline' },
  carried: [],
  notes: [],
  strokes: [],
  traces: [],
  amendments: [],
} as unknown as CritiquePage;

const answer = (principle: 'spacing' | 'arcs'): Suggestions => ({
  lexicon: '2',
  weights: '3',
  principles: [{ principle, score: 0.9 }],
  parts: [],
  kind: null,
  urgency: 'must',
  ask: null,
  earlier: [],
});

describe('Suggesting', () => {
  let sent: Change[];
  let draft: Draft;
  let id: string;
  let suggesting: Suggesting;
  /** Requests in their order, each answered when the test says so. */
  let asked: { words: string; answer(suggestions: Suggestions): void; fail(): void }[];
  const note = (): Note => draft.note(id) as Note;

  const type = async (words: string, restMs = 150) => {
    draft.editNote(id, { words });
    suggesting.write(id);
    suggesting.watch(note());
    await vi.advanceTimersByTimeAsync(restMs);
  };

  beforeEach(() => {
    vi.useFakeTimers();
    sent = [];
    asked = [];
    draft = new Draft(page, keep, async (change) => {
      sent.push(change);
      return { version: 1, row: null };
    });
    id = draft.addNote({ start: 1, end: 4 }, null).id;
    suggesting = new Suggesting(
      draft,
      note,
      ({ words }) =>
        new Promise((answer, reject) => asked.push({ words, answer, fail: () => reject(new NetworkError('no line')) })),
    );
  });
  afterEach(() => {
    suggesting.close();
    draft.close();
    vi.useRealTimers();
  });

  const keys = () => suggesting.offers.map((offer) => offer.key);
  const reported = () => sent.flatMap((change) => (change.sort === 'shown' ? [change.body] : []));

  it('asks when typing rests, once, and for the newest words alone', async () => {
    await type('The wr', 100);
    await type('The wrist', 100);
    expect(asked).toEqual([]);
    await vi.advanceTimersByTimeAsync(60);
    expect(asked.map((a) => a.words)).toEqual(['The wrist']);
    suggesting.watch({ ...note() });
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toHaveLength(1);
  });

  it('drops an answer that comes after a newer question', async () => {
    await type('The wrist');
    await type('The wrist pops');
    asked[1].answer(answer('spacing'));
    await vi.advanceTimersByTimeAsync(1);
    asked[0].answer(answer('arcs'));
    await vi.advanceTimersByTimeAsync(1);
    expect(keys()).toContain('principle spacing');
    expect(keys()).not.toContain('principle arcs');
  });

  it('shows nothing where there is no answer, and nothing of a note only opened', async () => {
    await type('The wrist');
    asked[0].fail();
    await vi.advanceTimersByTimeAsync(1);
    expect(keys()).toEqual([]);
    const other = draft.addNote({ start: 1, end: 4 }, null);
    suggesting.watch({ ...other, words: 'The heel' });
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toHaveLength(1);
  });

  it('takes all at once, and tells what stood there however it was left', async () => {
    await type('The wrist pops');
    asked[0].answer(answer('spacing'));
    await vi.advanceTimersByTimeAsync(1);
    expect(keys()).toEqual(['urgency must', 'principle spacing']);
    suggesting.take(suggesting.offers[1]);
    expect(note().principles).toEqual(['spacing']);
    expect(keys()).toEqual(['urgency must']);
    await vi.advanceTimersByTimeAsync(600);
    suggesting.leave();
    await vi.advanceTimersByTimeAsync(600);
    const last = reported().at(-1);
    expect([last?.lexicon, last?.weights]).toEqual(['2', '3']);
    expect(last?.shown.map(({ what }) => [what.field, 'before' in what && what.before])).toEqual([
      ['principle', []],
      ['urgency', 'should'],
    ]);
    expect(note().urgency).toBe('should');
  });

  it('takes everything by one act', async () => {
    await type('The wrist pops');
    asked[0].answer(answer('spacing'));
    await vi.advanceTimersByTimeAsync(1);
    expect(suggesting.takeAll()).toBe(true);
    expect([note().urgency, note().principles]).toEqual(['must', ['spacing']]);
    expect(suggesting.takeAll()).toBe(false);
  });
});
