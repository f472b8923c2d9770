import type { LexiconTags, WordTable } from '$lib/api';
import { partWords } from '$lib/text';

/** What a word of a table does, for the choice and for the headings of the list. */
export const tableWords: Record<WordTable, { choice: string; heading: string }> = {
  traits: { choice: 'a fault', heading: 'Faults' },
  principle_words: { choice: 'a principle, named outright', heading: 'Principles' },
  directions: { choice: 'more or less of something', heading: 'More or less' },
  qualities: { choice: 'what a shot should have', heading: 'What a shot should have' },
  cues: { choice: 'a turn of phrase', heading: 'Turns of phrase' },
  parts: { choice: 'a part of the body, a prop', heading: 'Parts' },
};

const ways: Record<string, [more: string, less: string]> = {
  amount: ['bigger', 'smaller'],
  speed: ['faster', 'slower'],
  smooth: ['smoother', 'more broken up'],
  loose: ['looser', 'tighter'],
  offset: ['further apart in time', 'more together'],
  heavy: ['heavier', 'lighter'],
  antic: ['more anticipation', 'less anticipation'],
  alive: ['more alive', 'stiller'],
  arc: ['rounder', 'straighter'],
};

/** A meaning as people say it. */
export function meaningWords(table: WordTable, name: string): string {
  if (table === 'directions') {
    const [axis, way] = name.split(':');
    return ways[axis]?.[way === '+1' ? 0 : 1] ?? name;
  }
  return name.replaceAll('-', ' ');
}

/** What a sentence is taken to say, a line each. */
export function tagLines(tags: LexiconTags): [what: string, said: string][] {
  const list = (words: string[]): string => words.join(', ') || 'none';
  return [
    ['Kind', tags.urgency ? `${tags.kind}, ${tags.urgency.replace('-', ' ')}` : tags.kind],
    ['Principles', list(tags.principles)],
    ['Parts', list(tags.parts.map(partWords))],
    ['Faults', list(tags.traits.map((name) => meaningWords('traits', name)))],
    ['Asks', list(tags.asks.map((ask) => `${ask.what.replace('-', ' ')} ${ask.amount}`))],
  ];
}
