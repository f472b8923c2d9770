import type { PartRef, Principle, Side, Vocabulary } from '$lib/api';
import { partWords } from '$lib/text';

/** Something that can be chosen by typing the beginning of its name. */
export interface Choice<T> {
  key: string;
  words: string;
  value: T;
}

const MOST = 8;
const SIDES: Record<string, Side> = { l: 'left', left: 'left', r: 'right', right: 'right', b: 'both', both: 'both' };

const clean = (text: string): string =>
  text
    .trim()
    .toLowerCase()
    .replaceAll(/[-_\s]+/g, ' ');

/** Names that begin with what is typed, then names with a word that does; in the order they were given. */
function ranked<T>(items: readonly T[], name: (item: T) => string, typed: string): T[] {
  const begins = items.filter((item) => name(item).startsWith(typed));
  const within = items.filter((item) => !name(item).startsWith(typed) && ` ${name(item)}`.includes(` ${typed}`));
  return [...begins, ...within];
}

export function choosePrinciple(vocabulary: Vocabulary, typed: string): Choice<Principle>[] {
  const names = vocabulary.principles.map((p) => p.name);
  return ranked(names, (n) => n, clean(typed)).map((name) => ({ key: name, words: name, value: name }));
}

/**
 * Parts by typing: "wr" offers the wrist and both its sides, "l wr" the left one. A side is offered only for
 * parts that have sides.
 */
export function choosePart(vocabulary: Vocabulary, typed: string): Choice<PartRef>[] {
  const words = clean(typed).split(' ').filter(Boolean);
  const side = words.length ? SIDES[words[0]] : undefined;
  const rest = words.slice(side ? 1 : 0).join(' ');
  if (!words.length) return [];
  const both = choicesFor(vocabulary, rest, side);
  // "b" alone may be the beginning of "back" as well as of "both".
  const plain = side && words.length === 1 ? choicesFor(vocabulary, words[0], undefined) : [];
  const choices = new Map([...plain, ...both].map((choice) => [choice.key, choice]));
  return [...choices.values()].slice(0, MOST);
}

function choicesFor({ parts }: Vocabulary, typed: string, side: Side | undefined): Choice<PartRef>[] {
  const fitting = ranked(parts, (p) => clean(p.name), typed).filter((p) => !side || p.sided);
  return fitting.flatMap((p) => sidesOf(p.sided, side).map((s) => partChoice({ part: p.name, side: s })));
}

function sidesOf(sided: boolean, side: Side | undefined): (Side | null)[] {
  if (side) return [side];
  return sided ? [null, 'left', 'right', 'both'] : [null];
}

export const partChoice = (value: PartRef): Choice<PartRef> => ({
  key: `${value.side ?? ''} ${value.part}`,
  words: partWords(value),
  value,
});
