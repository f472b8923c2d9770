import { describe, expect, it } from 'vitest';
import type { Standing, Verdict } from '$lib/api';
import { BackMap } from './framemap';
import { standingAfter } from './standing';

describe('BackMap', () => {
  it('finds the earlier frame that came to be the one shown', () => {
    const to_new = [0, 2, 4, 6];
    const map = new BackMap({ old_frames: 4, new_frames: 8, to_new, confidence: [1, 1, 1, 1], method: 'proportional' });
    expect([0, 2, 4, 6].map((i) => map.toOld(i))).toEqual([0, 1, 2, 3]);
    expect(map.toOld(7)).toBe(3);
  });

  it('passes over frames that have no counterpart, and says where it guesses', () => {
    const map = new BackMap({
      old_frames: 4,
      new_frames: 4,
      to_new: [0, null, null, 3],
      confidence: [0.9, 0.1, 0.1, 0.9],
      method: 'x',
    });
    expect([0, 1, 2, 3].map((i) => map.toOld(i))).toEqual([0, 0, 3, 3]);
    expect(map.unsure({ start: 0, end: 0 })).toBe(false);
    expect(map.unsure({ start: 0, end: 3 })).toBe(true);
  });

  it('holds on a map of nothing', () => {
    expect(new BackMap({ old_frames: 0, new_frames: 3, to_new: [], confidence: [], method: 'x' }).toOld(2)).toBe(0);
  });
});

describe('standingAfter', () => {
  it('follows the table of standings', () => {
    const rows: [Standing, Verdict | null, Standing][] = [
      ['noted', 'still', 'noted'],
      ['eased', 'eased', 'eased'],
      ['back', 'cleared', 'cleared'],
      ['noted', null, 'unmentioned'],
      ['unmentioned', 'still', 'noted'],
      ['cleared', 'still', 'back'],
      ['cleared', 'eased', 'back'],
      ['cleared', null, 'cleared'],
      ['noted', 'set-aside', 'set-aside'],
      ['set-aside', 'still', 'set-aside'],
    ];
    for (const [before, verdict, after] of rows) expect(standingAfter(before, verdict)).toBe(after);
  });
});
