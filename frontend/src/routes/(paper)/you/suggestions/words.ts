import type { SuggestionField, TakenField } from '$lib/api';
import { count } from '$lib/text';

export const FIELD_WORDS: Record<SuggestionField, string> = {
  principle: 'Principles',
  part: 'Parts',
  kind: 'Kind',
  urgency: 'Urgency',
  ask: 'Measured asks',
  concern: 'The same as an earlier concern',
  reversal: 'The opposite of an earlier ask',
};

/** "12 shown: 9 taken, 1 changed, 2 not taken". */
export function countWords({ offered, taken, changed, refused }: TakenField): string {
  const parts = [
    [taken, 'taken'],
    [changed, 'changed'],
    [refused, 'not taken'],
  ] as const;
  const said = parts.filter(([n]) => n > 0).map(([n, words]) => `${n} ${words}`);
  return `${offered} shown: ${said.join(', ')}`;
}

const percent = (share: number): number => Math.round(share * 100);

/** "71 %, between 49 and 89 % nine times of ten"; of few, that they are few. */
export function shareWords({ share, few, offered }: TakenField): string {
  if (!share) return '';
  const range = `${percent(share.mean)} %, truly between ${percent(share.low)} and ${percent(share.high)} % nine times of ten`;
  return few ? `${range}; ${count(offered, 'suggestion')} ${offered === 1 ? 'is' : 'are'} too few to rely on` : range;
}
