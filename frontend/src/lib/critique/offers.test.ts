import { describe, expect, it } from 'vitest';
import type { CarriedConcern, Note, SuggestedConcern, Suggestions } from '$lib/api';
import { offersOf, reversalIn, typedOf } from './offers';

const note = (over: Partial<Note> = {}): Note => ({
  id: 'n',
  critique_id: 'c',
  concern_id: 'n',
  revision: 2,
  kind: 'fix',
  urgency: 'should',
  principles: [],
  parts: [],
  span: { start: 1, end: 4 },
  region: null,
  words: 'The left wrist pops.',
  ask: null,
  version: 1,
  updated_at: '',
  answer: null,
  ...over,
});

const answer = (over: Partial<Suggestions> = {}): Suggestions => ({
  lexicon: '2',
  weights: '2',
  principles: [{ principle: 'spacing', score: 0.9 }],
  parts: [{ part: { part: 'wrist', side: 'left' }, score: 1 }],
  kind: { kind: 'fix', score: 0.9 },
  urgency: null,
  ask: null,
  earlier: [],
  ...over,
});

const earlier = (over: Partial<SuggestedConcern> = {}): SuggestedConcern => ({
  concern_id: 'k',
  note_id: 'm',
  revision: 1,
  span: { start: 1, end: 4 },
  mapped: { start: 1, end: 4 },
  unsure: false,
  words: 'The wrist jumps.',
  ask: null,
  relation: 'still',
  score: 0.9,
  reasons: [],
  opposed: null,
  ...over,
});

const keys = (a: Suggestions, n: Note, tied: string | null = null) => offersOf(a, n, tied).map((o) => o.key);

describe('offers', () => {
  it('are what the note does not say yet', () => {
    expect(keys(answer(), note())).toEqual(['principle spacing', 'part left wrist']);
    expect(keys(answer(), note({ principles: ['spacing'], parts: [{ part: 'wrist', side: 'left' }] }))).toEqual([]);
  });

  it('add to a list, and give a part that was named without its side the side', () => {
    const [, part] = offersOf(answer(), note({ parts: [{ part: 'wrist', side: null }] }), null);
    expect(part.patch).toEqual({ parts: [{ part: 'wrist', side: 'left' }] });
    const [principle] = offersOf(answer(), note({ principles: ['arcs'] }), null);
    expect(principle.patch).toEqual({ principles: ['arcs', 'spacing'] });
    const sideless = answer({ parts: [{ part: { part: 'wrist', side: null }, score: 1 }] });
    expect(keys(sideless, note({ parts: [{ part: 'wrist', side: 'left' }] }))).toEqual(['principle spacing']);
  });

  it('leave an ask and a tie that are there alone', () => {
    const said = answer({ ask: { what: 'hold', amount: 8 }, earlier: [earlier()], principles: [], parts: [] });
    expect(keys(said, note())).toEqual(['ask hold 8', 'concern k']);
    expect(keys(said, note({ ask: { what: 'hold', amount: 4 } }), 'other')).toEqual([]);
  });

  it('weigh nothing that wants nothing', () => {
    const praise = answer({ kind: { kind: 'keep', score: 0.9 }, urgency: 'must', principles: [], parts: [] });
    expect(keys(praise, note())).toEqual(['kind keep']);
  });

  it('tie to no concern that is reversed, and tell of it until that is decided', () => {
    const reversed = answer({ earlier: [earlier({ relation: 'reversal' })], principles: [], parts: [] });
    expect(keys(reversed, note())).toEqual([]);
    expect(reversalIn(reversed, [], () => false)?.concern_id).toBe('k');
    expect(reversalIn(reversed, [], () => true)).toBeUndefined();
    const aside = { concern: { id: 'k' }, verdict: { verdict: 'set-aside', version: 1 } } as unknown as CarriedConcern;
    expect(reversalIn(reversed, [aside], () => false)).toBeUndefined();
  });

  it('ask by what was set by hand alone', () => {
    const typed = typedOf(note({ kind: 'keep' }), { kind: false, urgency: true });
    expect([typed.kind, typed.urgency]).toEqual([null, 'should']);
  });
});
