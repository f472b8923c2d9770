import { describe, expect, it } from 'vitest';
import type { CarriedConcern, Concern, Standing } from '$lib/api';
import { judgedIn } from './last';

const span = { start: 1, end: 4 };

type ConcernStep = Concern['history'][number];

/** A concern noted in r1; then a standing a revision, with a note where it says so. */
function carried(title: string, ...then: (Standing | 'noted again')[]): CarriedConcern {
  const history: ConcernStep[] = [
    { revision: 1, note_id: 'n', span, standing: 'noted' },
    ...then.map((standing, k): ConcernStep =>
      standing === 'noted again'
        ? { revision: k + 2, note_id: 'm', span, standing: 'noted' }
        : { revision: k + 2, note_id: null, span: null, standing },
    ),
  ];
  return {
    concern: { id: title, title, kind: 'fix', urgency: 'should', principles: [], parts: [], history },
    mapped: span,
    unsure: false,
    standing: 'noted',
    standing_before: 'noted',
    verdict: null,
  };
}

describe('judgedIn', () => {
  it('tells what was judged by a key alone', () => {
    const all = [carried('heel', 'noted'), carried('wrist', 'cleared'), carried('hip', 'eased')];
    expect(judgedIn(all, 2).map(({ concern, standing }) => `${concern.title} ${standing}`)).toEqual([
      'heel still',
      'wrist cleared',
      'hip eased',
    ]);
  });

  it('leaves out what has a note of its own, was passed over, or had been cleared before', () => {
    const all = [
      carried('noted again', 'noted again'),
      carried('passed over', 'unmentioned'),
      carried('not yet there'),
    ];
    expect(judgedIn(all, 2)).toEqual([]);
    expect(judgedIn([carried('stays cleared', 'cleared', 'cleared')], 3)).toEqual([]);
    expect(judgedIn([carried('came back', 'cleared', 'back')], 3).map((j) => j.standing)).toEqual(['back']);
  });
});
