import { ProblemError } from '$lib/api';

/** Words with the stop of a sentence. */
export function ended(words: string): string {
  return /[.!?]$/.test(words) ? words : `${words}.`;
}

/** Reason and remedy, each a sentence of its own. */
export function sentences(field: { reason: string; remedy?: string | null }): string {
  const { reason, remedy } = field;
  if (!remedy) return reason;
  return `${ended(reason)} ${remedy}`;
}

/** What a refusal says about one field, reason and remedy; nothing when it says nothing. */
export function reasonFor(failure: unknown, field: string): string | undefined {
  if (!(failure instanceof ProblemError)) return undefined;
  const found = failure.fields.find((f) => f.field === field || f.field.endsWith(`.${field}`));
  return found && sentences(found);
}
