import type { Kind, Principle } from '$lib/api';

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
