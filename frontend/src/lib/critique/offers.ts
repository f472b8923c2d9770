import type {
  CarriedConcern,
  Kind,
  Note,
  PartRef,
  ShownSuggestion,
  ShownSuggestions,
  SuggestedConcern,
  Suggestions,
  TypedNote,
} from '$lib/api';
import { partWords } from '$lib/text';
import { askWords } from './ask';
import type { NoteContent } from './outbox';

/** One suggestion that a note does not say yet. */
export interface Offer {
  key: string;
  /** What it would set, as in "kind". */
  name: string;
  words: string;
  patch: Partial<NoteContent>;
  shown: ShownSuggestion;
  /** The earlier concern it ties the note to. */
  concern?: SuggestedConcern;
}

/** What the person has set by hand of what a new note begins with. */
export interface Touched {
  kind: boolean;
  urgency: boolean;
}

const MOST = 12;

/** The note as the server is asked about it. */
export const typedOf = (note: Note, touched: Touched): TypedNote => ({
  words: note.words,
  span: note.span,
  kind: touched.kind ? note.kind : null,
  urgency: touched.urgency ? note.urgency : null,
  principles: note.principles,
  parts: note.parts,
});

const wants = (kind: Kind): boolean => kind === 'fix' || kind === 'consider';
const samePart = (a: PartRef, b: PartRef): boolean => a.part === b.part && a.side === b.side;

/** What is suggested and not said yet, in the order of the form. */
export function offersOf(answer: Suggestions, note: Note, tiedTo: string | null): Offer[] {
  return [
    ...kindOffers(answer, note),
    ...urgencyOffers(answer, note),
    ...principleOffers(answer, note),
    ...partOffers(answer, note),
    ...askOffers(answer, note),
    ...concernOffers(answer, tiedTo),
  ];
}

function kindOffers({ kind }: Suggestions, note: Note): Offer[] {
  if (!kind || kind.kind === note.kind) return [];
  const what = { field: 'kind' as const, value: kind.kind, before: note.kind };
  return [
    {
      key: `kind ${kind.kind}`,
      name: 'kind',
      words: kind.kind,
      patch: { kind: kind.kind },
      shown: { what, score: kind.score },
    },
  ];
}

function urgencyOffers({ urgency, kind }: Suggestions, note: Note): Offer[] {
  if (!urgency || urgency === note.urgency || !wants(kind?.kind ?? note.kind)) return [];
  const what = { field: 'urgency' as const, value: urgency, before: note.urgency };
  const words = urgency === 'if-time' ? 'if time' : urgency;
  return [{ key: `urgency ${urgency}`, name: 'urgency', words, patch: { urgency }, shown: { what, score: null } }];
}

function principleOffers({ principles }: Suggestions, { principles: before }: Note): Offer[] {
  if (before.length >= MOST) return [];
  return principles
    .filter(({ principle }) => !before.includes(principle))
    .map(({ principle, score }) => ({
      key: `principle ${principle}`,
      name: 'principle',
      words: principle,
      patch: { principles: [...before, principle] },
      shown: { what: { field: 'principle' as const, value: principle, before }, score },
    }));
}

function partOffers({ parts }: Suggestions, { parts: before }: Note): Offer[] {
  if (before.length >= MOST) return [];
  return parts
    .filter(({ part }) => !before.some((b) => samePart(b, part) || (part.side === null && b.part === part.part)))
    .map(({ part, score }) => ({
      key: `part ${part.side ?? ''} ${part.part}`,
      name: 'part',
      words: partWords(part),
      // A side that is said goes to the part that was named without one.
      patch: { parts: [...before.filter((b) => b.side !== null || b.part !== part.part), part] },
      shown: { what: { field: 'part' as const, value: part, before }, score },
    }));
}

function askOffers({ ask }: Suggestions, note: Note): Offer[] {
  if (!ask || note.ask) return [];
  const what = { field: 'ask' as const, value: ask, before: null };
  const key = `ask ${ask.what} ${ask.amount}`;
  return [{ key, name: 'asks', words: askWords(ask), patch: { ask }, shown: { what, score: null } }];
}

/** The likeliest earlier concern, while the note is tied to none. */
function concernOffers({ earlier }: Suggestions, tiedTo: string | null): Offer[] {
  const concern = earlier.find((e) => e.relation !== 'reversal');
  if (!concern || tiedTo) return [];
  const what = { field: 'concern' as const, value: concern.concern_id, before: null };
  return [
    {
      key: `concern ${concern.concern_id}`,
      name: 'the same as',
      words: RELATION_WORDS[concern.relation],
      patch: { concern_id: concern.concern_id },
      shown: { what, score: concern.score },
      concern,
    },
  ];
}

export const RELATION_WORDS: Record<SuggestedConcern['relation'], string> = {
  still: 'still there',
  back: 'came back',
  cleared: 'cleared',
  reversal: 'the opposite',
};

/** The earlier ask that the note reverses, until the person has decided about it. */
export function reversalIn(
  answer: Suggestions,
  carried: readonly CarriedConcern[],
  decided: (concernId: string) => boolean,
): SuggestedConcern | undefined {
  return answer.earlier.find((earlier) => {
    if (earlier.relation !== 'reversal' || decided(earlier.concern_id)) return false;
    const verdict = carried.find((c) => c.concern.id === earlier.concern_id)?.verdict?.verdict;
    return verdict !== 'set-aside' && verdict !== 'cleared';
  });
}

/** The reversal as it is kept. */
export const shownReversal = ({ concern_id, score }: SuggestedConcern): ShownSuggestion => ({
  what: { field: 'reversal', value: concern_id },
  score,
});

/** Every suggestion once, by what it is about; the server keeps the first it is told. */
export function keptOf(answer: Suggestions, shown: readonly ShownSuggestion[]): ShownSuggestions {
  return { lexicon: answer.lexicon, weights: answer.weights, shown: [...shown] };
}
