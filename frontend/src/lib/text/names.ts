import type { AnswerKind, Kind, Principle } from '$lib/api';

/** Every principle, in the order they are offered. */
export const principles: Principle[] = [
  'spacing',
  'timing',
  'arcs',
  'overlap',
  'contact',
  'weight',
  'posing',
  'anticipation',
  'staging',
  'acting',
  'facial',
  'polish',
];

/** Every kind of note, in the order they are offered. */
export const kinds: Kind[] = ['fix', 'consider', 'keep', 'question'];

/** What a student answers, as it stands before their own words. */
export const answerWords: Record<AnswerKind, string> = {
  'will-do': 'will do',
  done: 'done',
  leaving: 'leaving it, because',
};

/** Words as they begin a sentence. */
export function capital(words: string): string {
  return words.slice(0, 1).toUpperCase() + words.slice(1);
}
