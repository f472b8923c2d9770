import type { Quota } from '$lib/api';

/** "10 sent, 1 returned to you, 7 left", leaving out what is nought. */
export function quotaWords(quota: Quota, returnedTo = 'to you'): string {
  const parts = [`${quota.sent} sent`];
  if (quota.returned > 0) parts.push(`${quota.returned} returned${returnedTo ? ` ${returnedTo}` : ''}`);
  parts.push(`${quota.left} left`);
  return parts.join(', ');
}
