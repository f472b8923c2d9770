import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Vocabulary } from '$lib/api';
import { choosePart, choosePrinciple } from './choose';

const vocabulary: Vocabulary = {
  principles: [
    { name: 'spacing', means: '' },
    { name: 'staging', means: '' },
    { name: 'posing', means: '' },
  ],
  parts: [
    { name: 'body', parent: null, sided: false },
    { name: 'back', parent: 'body', sided: false },
    { name: 'wrist', parent: 'arm', sided: true },
    { name: 'upper-arm', parent: 'arm', sided: true },
    { name: 'arm', parent: 'body', sided: true },
    { name: 'leg', parent: 'body', sided: true },
  ],
  stages: [],
};
const words = (typed: string) => choosePart(vocabulary, typed).map((c) => c.words);

describe('choosing by typing', () => {
  it('offers what begins with the letters', () => {
    expect(choosePrinciple(vocabulary, 'S').map((c) => c.value)).toEqual(['spacing', 'staging']);
    expect(choosePrinciple(vocabulary, '')).toHaveLength(3);
  });

  it('takes a side before the part', () => {
    expect(words('l wr')).toEqual(['left wrist']);
    expect(words('right upper arm')).toEqual(['right upper arm']);
    expect(words('wr')).toEqual(['wrist', 'left wrist', 'right wrist', 'both wrists']);
  });

  it('gives no side to what has none', () => {
    expect(words('bo')).toEqual(['body']);
    expect(words('left body')).toEqual([]);
  });

  it('reads a single letter as a side and as a beginning', () => {
    expect(words('b').slice(0, 3)).toEqual(['body', 'back', 'both wrists']);
  });

  it('finds words inside a name, after names that begin so', () => {
    expect(words('l arm')).toEqual(['left arm', 'left upper arm']);
  });

  it('offers nothing twice, whatever is typed', () => {
    const typed = fc.stringMatching(/^[lrba]? ?[a-z]{0,2}$/);
    fc.assert(
      fc.property(typed, (text) => {
        const keys = choosePart(vocabulary, text).map((c) => c.key);
        expect(new Set(keys).size).toBe(keys.length);
      }),
    );
  });

  it('offers nothing before anything is typed', () => {
    expect(words('  ')).toEqual([]);
  });
});
