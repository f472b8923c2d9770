import { describe, expect, it } from 'vitest';
import type { TakenField } from '$lib/api';
import { countWords, shareWords } from './words';

const field = (over: Partial<TakenField>): TakenField => ({
  field: 'kind',
  offered: 12,
  taken: 9,
  changed: 1,
  refused: 2,
  share: { mean: 0.714, low: 0.505, high: 0.887 },
  few: false,
  ...over,
});

describe('how often suggestions were taken', () => {
  it('says what there is, and nothing of what there is none', () => {
    expect(countWords(field({}))).toBe('12 shown: 9 taken, 1 changed, 2 not taken');
    expect(countWords(field({ offered: 2, taken: 2, changed: 0, refused: 0 }))).toBe('2 shown: 2 taken');
  });

  it('gives a share its range, and says of few that they are few', () => {
    expect(shareWords(field({}))).toBe('71 %, truly between 51 and 89 % nine times of ten');
    expect(shareWords(field({ offered: 1, few: true }))).toMatch(/1 suggestion is too few/);
    expect(shareWords(field({ share: null }))).toBe('');
  });
});
