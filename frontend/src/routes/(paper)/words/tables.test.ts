import { describe, expect, it } from 'vitest';
import { meaningWords, tagLines } from './tables';

describe('words of the school', () => {
  it('says meanings as people do', () => {
    expect(meaningWords('directions', 'amount:-1')).toBe('smaller');
    expect(meaningWords('directions', 'alive:+1')).toBe('more alive');
    expect(meaningWords('traits', 'foot-slide')).toBe('foot slide');
  });

  it('lists what a sentence says, and that it says nothing', () => {
    const nothing = { kind: 'fix' as const, urgency: null, principles: [], parts: [], traits: [], asks: [] };
    expect(tagLines(nothing).map(([, said]) => said)).toEqual(['fix', 'none', 'none', 'none', 'none']);
    const lines = tagLines({
      ...nothing,
      urgency: 'if-time',
      principles: ['contact', 'weight'],
      parts: [{ part: 'foot', side: 'left' }],
      traits: ['foot-slide'],
      asks: [{ what: 'add-frames', amount: 2 }],
    });
    expect(lines.map(([, said]) => said)).toEqual([
      'fix, if time',
      'contact, weight',
      'left foot',
      'foot slide',
      'add frames 2',
    ]);
  });
});
