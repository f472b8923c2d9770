import { ProblemError } from '$lib/api';

/** What a refusal says about one field, reason and remedy; nothing when it says nothing. */
export function reasonFor(failure: unknown, field: string): string | undefined {
  if (!(failure instanceof ProblemError)) return undefined;
  const found = failure.fields.find((f) => f.field === field || f.field.endsWith(`.${field}`));
  return found && [found.reason, found.remedy].filter(Boolean).join(' ');
}
